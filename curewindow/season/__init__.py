"""The season: the work run through many past years, and the chance of making the date."""
