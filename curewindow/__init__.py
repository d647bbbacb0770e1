"""When a coat may go on: product sheets, weather and the cabin it dries in."""

__version__ = "0.1.0"
