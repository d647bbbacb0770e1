"""How a run ends where the system refused: the line that says so, and the exit code."""

from __future__ import annotations

import contextlib
import errno
import os
import sys

from curewindow.errors import EXIT_INPUT, EXIT_OUTPUT, EXIT_UNREAD, EXIT_USAGE

_LONGEST = 120


def on_os_error(bad: OSError) -> tuple[str, int]:
    """The line and the exit code: a file that is named, or else the output.

    Parameters
    ----------
    bad : OSError

    Returns
    -------
    line : str
        What went wrong; '' where whoever read the answer has gone, and nothing is wrong.
    code : int
    """
    if bad.filename is not None:
        name = os.fsdecode(bad.filename) if isinstance(bad.filename, bytes) else bad.filename
        code = EXIT_USAGE if bad.errno == errno.ENAMETOOLONG else EXIT_INPUT
        return f"{brief(name)}: {bad.strerror}", code
    silence()
    if isinstance(bad, BrokenPipeError):
        return "", EXIT_UNREAD
    return f"the answer cannot be written: {bad.strerror or bad}", EXIT_OUTPUT


def silence() -> None:
    """What is still to be written would fail once more as the program ends."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def brief(text: object) -> str:
    """A name for a message, however long it is."""
    written = str(text)
    return written if len(written) <= _LONGEST else f"{written[:80]}...{written[-20:]}"
