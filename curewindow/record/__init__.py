"""What happened: readings and coats, in the boat's own database."""

from curewindow.record.entries import Added, Coat, Done, Entry, Reading
from curewindow.record.store import Record

__all__ = ["Added", "Coat", "Done", "Entry", "Reading", "Record"]
