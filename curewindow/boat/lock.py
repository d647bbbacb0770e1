"""One service a boat: the second is told so and goes."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from curewindow.errors import RecordError

LOCK_FILE = "service.lock"


@contextmanager
def only_one(folder: Path) -> Iterator[None]:
    """Hold the boat's lock. The system frees it when the process ends, however it ends.

    Raises
    ------
    RecordError
        Another service holds it.
    """
    if os.name == "posix":
        import fcntl

        # the folder itself: needs no file, and works where nothing may be written
        handle = os.open(folder, os.O_RDONLY)
        try:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                raise _taken(folder) from None
            except OSError as bad:
                raise RecordError(f"{folder}: cannot be locked: {bad.strerror}") from None
            yield
        finally:
            os.close(handle)
        return
    import msvcrt

    path = folder / LOCK_FILE
    try:
        handle = os.open(path, os.O_RDWR | os.O_CREAT)
    except OSError as bad:
        raise RecordError(f"{path}: cannot be written: {bad.strerror}") from None
    try:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        except OSError:
            raise _taken(folder) from None
        yield
    finally:
        os.close(handle)


def _taken(folder: Path) -> RecordError:
    return RecordError(
        f"{folder}: another curewindow-service already runs for this boat; stop that one first"
    )
