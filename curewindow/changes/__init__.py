"""What of a plan a new forecast has moved, opened or closed."""

from curewindow.changes.compare import compare
from curewindow.changes.models import Change, StatedJob, StatedWindow

__all__ = ["Change", "StatedJob", "StatedWindow", "compare"]
