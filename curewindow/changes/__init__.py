"""What of a plan a new forecast has moved, opened or closed."""

from curewindow.changes.compare import compare
from curewindow.changes.models import Change, Told, ToldWindow

__all__ = ["Change", "Told", "ToldWindow", "compare"]
