"""One notice one way, whichever way it is."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import datetime

from curewindow_service.channels.destination import Destination, one_line
from curewindow_service.channels.message import HandingOver, Message, Outcome


def send(way: Destination, message: Message, handing_over: HandingOver) -> Outcome:
    """Send a message; what is said about it holds no part of the address."""
    if way.kind == "mail":
        from curewindow_service.channels.mail import send_mail

        outcome = send_mail(way.address, message, handing_over)
    elif way.kind == "webhook":
        from curewindow_service.channels.webhook import send_webhook

        outcome = send_webhook(way.address, message, handing_over)
    else:
        from curewindow_service.channels.apprised import send_by_apprise, send_to_desktop

        if way.kind == "desktop":
            outcome = send_to_desktop(message, handing_over)
        else:
            outcome = send_by_apprise(way.address, message, handing_over)
    return replace(outcome, said=one_line(way.redact(outcome.said)))


def try_out(way: Destination, boat: str, at: datetime) -> Outcome:
    """Send a sample."""
    sample = Message(
        boat=boat,
        key=f"sample|{uuid.uuid4().hex}",
        kind="morning",
        level="normal",
        title=f"{boat}: a sample",
        body=f"Notices of curewindow reach you this way ('{way.name}').\nNothing is to be done.",
        due=at,
        at=at,
        message_id=uuid.uuid4().hex,
    )
    return send(way, sample, lambda: None)
