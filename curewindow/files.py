"""Writing a file so that there is always the old one or the new one, never a part of either."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TextIO


def write_whole(path: Path, content: str | bytes, *, lasting: bool = True) -> None:
    """Write a file whole or not at all, in the place of one that may be there.

    Parameters
    ----------
    path : Path
        A file or a link to one, whose mode is kept; what is no file (a pipe, a device) is
        written to as it is.
    content : str or bytes
        Text is written as UTF-8, its line ends as they are.
    lasting : bool
        It is on the disk when this returns, whatever then becomes of the machine. False for
        what can be made again: then at worst the file is found damaged after a power cut.

    Raises
    ------
    OSError
        It cannot be written; the old file stands, and nothing else is left behind.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    if path.exists() and not path.is_file() and not path.is_dir():
        with open(path, "wb") as there:
            there.write(data)
        return
    with replacing(path, lasting=lasting) as part, open(part, "wb") as file:
        file.write(data)


@contextmanager
def replacing(path: Path, *, lasting: bool = True) -> Iterator[Path]:
    """An empty file beside another, which takes its place when the block is left without error.

    Parameters
    ----------
    path : Path
        As for :func:`write_whole`, a file or nothing yet.
    lasting : bool
        As for :func:`write_whole`.

    Yields
    ------
    Path
        The new file, in the same folder, so that it can be moved in one step.

    Raises
    ------
    OSError
        As for :func:`write_whole`.
    """
    there = path.resolve()
    # Its name is its own, so that two writers never share one, and short, whatever the file's.
    part = there.with_name(f".{secrets.token_hex(8)}.part")
    os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
    try:
        with suppress(FileNotFoundError):
            os.chmod(part, there.stat().st_mode & 0o7777)
        yield part
        if lasting:
            _on_disk(part, os.O_RDWR)
        os.replace(part, there)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    if lasting:
        with suppress(OSError):  # not every system lets a folder be synced
            _on_disk(there.parent, os.O_RDONLY)


@contextmanager
def writing(path: Path) -> Iterator[TextIO]:
    """A text stream into a file that is written whole or not at all; a pipe is written to.

    Raises
    ------
    OSError
        As for :func:`write_whole`.
    """
    if path.exists() and not path.is_file() and not path.is_dir():
        with path.open("w", encoding="utf-8", newline="") as stream:
            yield stream
        return
    with replacing(path) as part, part.open("w", encoding="utf-8", newline="") as stream:
        yield stream


def write_new(path: Path, text: str) -> None:
    """Write a file that is not there yet.

    Raises
    ------
    FileExistsError
        It came to be meanwhile; it stands as it is.
    OSError
        It cannot be written; no part of it is left.
    """
    with open(path, "x", encoding="utf-8", newline="") as file:
        try:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        except BaseException:
            path.unlink(missing_ok=True)
            raise


def _on_disk(path: Path, flags: int) -> None:
    handle = os.open(path, flags)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
