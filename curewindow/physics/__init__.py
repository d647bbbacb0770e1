"""Pure functions on numpy arrays: no files, no clock, no product knows them."""
