"""Product sheets: what a product demands and how fast it hardens."""
