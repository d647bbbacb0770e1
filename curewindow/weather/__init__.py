"""Weather from feeds and files as one Forecast."""
