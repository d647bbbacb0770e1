"""What may be done and what may not, each rule once."""
