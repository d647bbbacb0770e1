"""What to buy for the work that is left: amounts, mixing, batches, small things."""

from curewindow.supplies.gather import supplies_for
from curewindow.supplies.models import Supplies

__all__ = ["Supplies", "supplies_for"]
