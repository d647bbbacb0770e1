"""Work in a process of its own: asked as JSON on its standard input, answering on its output."""

from __future__ import annotations

import json
import logging
import subprocess
import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import Any, Final

from curewindow.errors import CurewindowError

REFUSED: Final = 3
"""Exit code where a file of the owner's, the weather or the record cannot be used."""


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
    OSError
        No process can be started.
    """
    return subprocess.run(
        [sys.executable, "-m", f"curewindow_service.{module}"],
        input=json.dumps(asked),
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=limit_s,
        check=False,
    )


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
