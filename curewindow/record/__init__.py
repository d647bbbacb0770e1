"""What happened: readings and coats, in the boat's own database."""
