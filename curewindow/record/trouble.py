"""What SQLite and the disk can say, in one clear line each."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from curewindow.errors import RecordError

# By primary result code, see https://sqlite.org/rescode.html
_WORDS: dict[int, str] = {
    sqlite3.SQLITE_BUSY: "another program is writing to it; wait a moment and try again",
    sqlite3.SQLITE_LOCKED: "another program is writing to it; wait a moment and try again",
    sqlite3.SQLITE_READONLY: "may not be written to; look at the permissions of file and folder",
    sqlite3.SQLITE_PERM: "may not be opened; look at the permissions of file and folder",
    sqlite3.SQLITE_AUTH: "may not be opened; look at the permissions of file and folder",
    sqlite3.SQLITE_CANTOPEN: (
        "cannot be opened; does its folder exist, and may you read and write there?"
    ),
    sqlite3.SQLITE_FULL: "the disk is full, nothing was written; make room and try again",
    sqlite3.SQLITE_IOERR: "the disk did not read or write; nothing was kept of this entry",
    sqlite3.SQLITE_CORRUPT: "is damaged; put back a copy (the file before the last update, if any)",
    sqlite3.SQLITE_NOTADB: "is not a database; move it away or put back a copy",
}


def damaged(what: str) -> sqlite3.DatabaseError:
    """What to raise within :func:`plain_words` where a cell holds what was never written."""
    bad = sqlite3.DatabaseError(f"{what} cannot be")
    bad.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
    return bad


@contextmanager
def plain_words(path: Path) -> Iterator[None]:
    """Turn what goes wrong with the file at ``path`` into a :class:`RecordError`."""
    try:
        yield
    except sqlite3.ProgrammingError as bad:
        if "thread" in str(bad):
            text = "was opened in another thread; open one Record in each"
        elif "closed" in str(bad):
            text = "has been closed"
        else:
            raise
        raise RecordError(text, file=path) from bad
    except sqlite3.Error as bad:
        code = getattr(bad, "sqlite_errorcode", None)
        words = None if code is None else _WORDS.get(code & 0xFF)
        raise RecordError(words or f"cannot be used ({bad})", file=path) from bad
    except UnicodeDecodeError as bad:  # of a damaged file, also what SQLite says of it
        raise RecordError(_WORDS[sqlite3.SQLITE_CORRUPT], file=path) from bad
    except OSError as bad:
        raise RecordError(str(bad.strerror or bad), file=path) from bad
