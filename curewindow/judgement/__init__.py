"""For each step: every start, why, its margin and chance; where each coat stands."""
