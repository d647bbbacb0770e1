"""What came of forecasts and windows: how far to trust them, and what is learned from it."""
