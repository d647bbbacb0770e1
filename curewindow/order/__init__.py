"""The order of work: many jobs, one pair of hands, coats that harden in their own time."""
