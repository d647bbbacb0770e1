"""The planned days for paper, and the plan as a table."""

from curewindow.paper.models import Paper
from curewindow.paper.week import week_of

__all__ = ["Paper", "week_of"]
