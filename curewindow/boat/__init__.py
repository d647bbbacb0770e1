"""What the owner describes: the boat and the work."""
