"""The ways notices go out: mail, webhook, desktop, and all that apprise knows."""

from curewindow_service.channels.message import Message, Outcome
from curewindow_service.channels.send import send, try_out
from curewindow_service.channels.way import Way, read_way, read_ways

__all__ = ["Message", "Outcome", "Way", "read_way", "read_ways", "send", "try_out"]
