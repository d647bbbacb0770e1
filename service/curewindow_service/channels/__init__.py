"""The ways notices go out: mail, webhook, desktop, and all that apprise knows."""

from curewindow_service.channels.destination import Destination, read_destination, read_destinations
from curewindow_service.channels.message import Message, Outcome
from curewindow_service.channels.send import send, try_out

__all__ = [
    "Destination",
    "Message",
    "Outcome",
    "read_destination",
    "read_destinations",
    "send",
    "try_out",
]
