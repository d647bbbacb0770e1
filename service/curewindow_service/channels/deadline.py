"""An end to a conversation with a peer that answers a byte at a time, or not at all."""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Callable, Iterator

STEP_S = 20.0
"""For each step of a conversation [s]."""
WHOLE_S = 60.0
"""For all of it [s]."""


@contextlib.contextmanager
def deadline(the_socket: Callable[[], socket.socket | None], whole_s: float) -> Iterator[None]:
    """Cut the connection after so many seconds: what waits on it then fails.

    A socket's own timeout starts anew with every byte.
    """

    def cut() -> None:
        found = the_socket()
        if found is not None:
            with contextlib.suppress(OSError):
                found.shutdown(socket.SHUT_RDWR)

    timer = threading.Timer(whole_s, cut)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
