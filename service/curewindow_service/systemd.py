"""What systemd is told: ready, alive, stopping. Nothing where it does not listen."""

from __future__ import annotations

import os
import socket
from contextlib import suppress


def tell_systemd(state: str) -> None:
    """Send a line such as 'READY=1' or 'WATCHDOG=1' (sd_notify(3))."""
    address = os.environ.get("NOTIFY_SOCKET", "")
    if not address or not hasattr(socket, "AF_UNIX"):
        return
    with suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as line:
        # '@' stands for the zero byte of an abstract name
        line.sendto(state.encode(), f"\0{address[1:]}" if address[0] == "@" else address)
