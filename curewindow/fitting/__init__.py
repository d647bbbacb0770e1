"""What readings tell of a space: its unknowns fitted to them, with their uncertainty."""

from curewindow.fitting.lesson import FittedValue, Lesson, Misses, learn
from curewindow.fitting.next_reading import NextReading
from curewindow.fitting.suspects import Suspect
from curewindow.fitting.unknowns import Unknown

__all__ = ["FittedValue", "Lesson", "Misses", "NextReading", "Suspect", "Unknown", "learn"]
