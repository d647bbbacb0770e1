"""Work in a process of its own: asked as JSON on its standard input, answering on its output."""

from __future__ import annotations

import json
import logging
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import Any, Final

from curewindow.errors import CurewindowError

REFUSED: Final = 3
"""Exit code where a file of the owner's, the weather or the record cannot be used."""

_lock = threading.Lock()
_at_work: set[subprocess.Popen[str]] = set()
_ended: set[subprocess.Popen[str]] = set()


class BrokenOffError(Exception):
    """Nobody waits for the work any more: the service stops."""


def run_apart(
    module: str, asked: Mapping[str, Any], limit_s: float
) -> subprocess.CompletedProcess[str]:
    """Run a module of the service with a question on its standard input.

    Parameters
    ----------
    module : str
        Of ``curewindow_service``; calls :func:`answer_apart` when run.
    asked : mapping
        As JSON.
    limit_s : float
        It is stopped after so long [s].

    Raises
    ------
    subprocess.TimeoutExpired
        It took longer.
    BrokenOffError
        :func:`end_all` ended it.
    OSError
        No process can be started.
    """
    process = subprocess.Popen(
        [sys.executable, "-m", f"curewindow_service.{module}"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        # Ctrl-C goes to all a terminal started: whoever asked decides what becomes of this
        start_new_session=True,
    )
    with _lock:
        _at_work.add(process)
    try:
        with process:
            try:
                said, complained = process.communicate(json.dumps(asked), timeout=limit_s)
            except BaseException:  # an interrupt, too, leaves nothing running
                process.kill()
                raise
        if process in _ended:
            raise BrokenOffError
    finally:
        with _lock:
            _at_work.discard(process)
            _ended.discard(process)
    return subprocess.CompletedProcess(process.args, process.returncode, said, complained)


def end_all() -> None:
    """End what is at work, in the middle of it: the next start does it again."""
    with _lock:
        for process in _at_work:
            _ended.add(process)
            process.kill()


def answer_apart(answer: Callable[[dict[str, Any]], str], niceness: int) -> int:
    """Answer what stands on standard input; what goes wrong is said on standard error.

    Parameters
    ----------
    answer : callable
        From what was asked to what is written; its :class:`CurewindowError` is written instead.
    niceness : int
        The page and the sending come first.

    Returns
    -------
    int
        Exit code.
    """
    import os

    with suppress(AttributeError, OSError):
        os.nice(niceness)
    logging.basicConfig(level=logging.WARNING, format="%(message)s")
    asked = json.load(sys.stdin)
    try:
        said, code = answer(asked), 0
    except CurewindowError as bad:
        said, code = str(bad), REFUSED
    sys.stdout.write(said)
    return code
