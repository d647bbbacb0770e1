"""A whole copy of a boat folder in one file, and the folder brought back from it.

The file is a zip archive that any program opens. ``curewindow-backup.json`` in it lists what
it holds: each file with its length and SHA-256, so that what was cut short or changed on its
way is not put back. Databases are copied as SQLite itself copies them, whole though the
service writes meanwhile; their write-ahead logs are in the copy.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import shutil
import sqlite3
import stat
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath
from typing import Any, BinaryIO

from pydantic import Field, ValidationError

from curewindow import __version__
from curewindow.answers import Answer
from curewindow.boat.folder import BOAT_FILE
from curewindow.boat.lock import LOCK_FILE, only_one
from curewindow.errors import BackupError
from curewindow.files import replacing
from curewindow.transaction import copy_database

CONTENTS = "curewindow-backup.json"
_FORMAT = 1
_SQLITE = b"SQLite format 3\0"
# Of a database the copy has it all; a lock is of the process that holds it.
_PASSED_OVER = ("-wal", "-shm", "-journal")
_BLOCK = 1 << 20
_SECRET_KEYS = ("address_file", "login_file", "token_file")


class KeptFile(Answer):
    """One file of a backup."""

    path: str = Field(description="in the boat folder, with '/' between folders")
    size: int = Field(ge=0)
    sha256: str
    mode: int = Field(ge=0, le=0o7777, description="who may read and write it, as POSIX has it")
    modified: float = Field(description="seconds since 1970")


class Contents(Answer):
    """What a backup holds."""

    format: int
    version: str = Field(description="of the program that made it")
    made: datetime
    folder: str = Field(description="name of the boat folder it was made of")
    files: list[KeptFile]
    folders: list[str] = Field(description="those that are empty, too")


@dataclass(frozen=True, slots=True)
class MadeBackup:
    """What came of a backup.

    Attributes
    ----------
    contents : Contents
    size : int
        Of the archive, bytes.
    secrets : tuple of str
        Files in it that hold passwords.
    damaged : tuple of str
        Databases that are damaged; they are in it as they were found.
    left_out : tuple of str
        What is no file, or lies outside the folder.
    """

    contents: Contents
    size: int
    secrets: tuple[str, ...]
    damaged: tuple[str, ...]
    left_out: tuple[str, ...]


def make_backup(folder: Path, target: Path, now: datetime) -> MadeBackup:
    """Write a whole copy of a boat folder, or nothing.

    Parameters
    ----------
    folder : Path
        The boat folder; others may write to it meanwhile.
    target : Path
        The archive; what is there is replaced. Only its owner may read it.
    now : datetime
        Aware.

    Raises
    ------
    BackupError
        Something cannot be read, or the archive not be written.
    """
    found = _Found([], [], [], [])
    try:
        with (
            tempfile.TemporaryDirectory() as beside,
            replacing(target) as part,
            zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as archive,
        ):
            part.chmod(0o600)
            for path, name in _walk(folder, target.resolve(), found):
                _put(archive, path, name, Path(beside), found)
            contents = Contents(
                format=_FORMAT,
                version=__version__,
                made=now,
                folder=folder.name,
                files=found.files,
                folders=found.folders,
            )
            archive.writestr(CONTENTS, contents.model_dump_json(indent=1))
        size = target.stat().st_size
    except OSError as bad:
        # of which of the files, where the system says it
        where = Path(bad.filename) if bad.filename else target
        what = "cannot be read" if where.is_relative_to(folder) else "cannot be written"
        raise BackupError(f"{what}: {bad.strerror or bad}", file=where) from None
    held = [
        name for name in _secret_names(folder) if any(each.path == name for each in found.files)
    ]
    return MadeBackup(contents, size, tuple(held), tuple(found.damaged), tuple(found.left_out))


@dataclass(frozen=True, slots=True)
class _Found:
    files: list[KeptFile]
    folders: list[str]
    damaged: list[str]
    left_out: list[str]


def _walk(folder: Path, target: Path, found: _Found) -> Iterator[tuple[Path, str]]:
    """Each file with its name in the archive; folders and what is left out go to ``found``."""
    for at, below, names in os.walk(folder, onerror=_raised):
        for name in sorted(below):
            inside = _name_of(Path(at) / name, folder)
            linked = (Path(at) / name).is_symlink()
            if inside is None or linked:
                found.left_out.append(inside or ascii(name))
            else:
                found.folders.append(inside)
        below[:] = sorted(name for name in below if _name_of(Path(at) / name, folder) is not None)
        for name in sorted(names):
            path = Path(at) / name
            inside = _name_of(path, folder)
            if inside is None or not path.is_file():
                found.left_out.append(inside or ascii(name))
            elif not _passed_over(path, target):
                yield path, inside


def _raised(bad: OSError) -> None:
    raise bad


def _name_of(path: Path, folder: Path) -> str | None:
    """With '/' between folders; None where the name is no text."""
    name = path.relative_to(folder).as_posix()
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return None
    return name


def _passed_over(path: Path, target: Path) -> bool:
    """A lock, what a database's copy has already, a file just being written, another backup."""
    name = path.name
    if name == LOCK_FILE or (name.startswith(".") and name.endswith(".part")):
        return True
    if path.resolve() == target:
        return True
    for ending in _PASSED_OVER:
        if name.endswith(ending) and _is_database(path.with_name(name.removesuffix(ending))):
            return True
    if not zipfile.is_zipfile(path):
        return False
    try:
        with zipfile.ZipFile(path) as archive:
            return CONTENTS in archive.namelist()
    except (zipfile.BadZipFile, OSError, ValueError):
        return False


def _is_database(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(len(_SQLITE)) == _SQLITE
    except OSError:
        return False


def _put(archive: zipfile.ZipFile, path: Path, name: str, beside: Path, found: _Found) -> None:
    """Write one file into the archive, a database by way of a copy."""
    try:
        state = path.stat()
    except FileNotFoundError:
        return  # gone since the folder was listed
    source = path
    if _is_database(path):
        copy = beside / "copy.db"
        copy.unlink(missing_ok=True)
        if _copied(path, copy):
            source = copy
        else:
            found.damaged.append(name)
    info = zipfile.ZipInfo(name, _dos_time(state.st_mtime))
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = (stat.S_IFREG | stat.S_IMODE(state.st_mode)) << 16
    digest, size = hashlib.sha256(), 0
    with source.open("rb") as file, archive.open(info, "w", force_zip64=True) as into:
        while block := file.read(_BLOCK):
            digest.update(block)
            size += len(block)
            into.write(block)
    found.files.append(
        KeptFile(
            path=name,
            size=size,
            sha256=digest.hexdigest(),
            mode=stat.S_IMODE(state.st_mode),
            modified=state.st_mtime,
        )
    )


def _copied(path: Path, copy: Path) -> bool:
    """Copy a database; False where it is damaged."""
    try:
        copy_database(path, copy)
        with closing(sqlite3.connect(copy)) as written:
            # one file on its way: no log beside it
            written.execute("PRAGMA journal_mode = DELETE")
            return bool(written.execute("PRAGMA quick_check(1)").fetchone() == ("ok",))
    except sqlite3.DatabaseError as bad:
        if getattr(bad, "sqlite_errorcode", 0) & 0xFF in (
            sqlite3.SQLITE_CORRUPT,
            sqlite3.SQLITE_NOTADB,
        ):
            return False
        raise OSError(0, f"the database does not open ({bad})", str(path)) from None


def _dos_time(modified: float) -> tuple[int, int, int, int, int, int]:
    """As a zip archive has it: not before 1980, in UTC."""
    at = datetime.fromtimestamp(min(max(modified, 315532800.0), 4354819198.0), UTC)
    return (at.year, at.month, at.day, at.hour, at.minute, at.second)


def _secret_names(folder: Path) -> list[str]:
    """Files that boat.toml names as holding a password."""
    import tomllib

    try:
        written = tomllib.loads((folder / BOAT_FILE).read_text("utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return []
    names: list[str] = []

    def look(table: Any) -> None:
        if isinstance(table, dict):
            names.extend(
                Path(table[key]).as_posix()
                for key in _SECRET_KEYS
                if isinstance(table.get(key), str)
            )
            for each in table.values():
                look(each)
        elif isinstance(table, list):
            for each in table:
                look(each)

    look(written)
    return sorted(set(names))


# ---- bringing it back ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Restored:
    """What came back.

    Attributes
    ----------
    contents : Contents
    aside : Path or None
        Where the folder that was there lies now.
    """

    contents: Contents
    aside: Path | None


def restore(archive: Path, folder: Path, now: datetime, *, aside: bool = False) -> Restored:
    """Bring a boat folder back, whole or not at all.

    Parameters
    ----------
    archive : Path
        Made by :func:`make_backup`; looked through before anything is written.
    folder : Path
        Where it goes: not there yet, or empty.
    now : datetime
        Aware; for the name of what is moved aside.
    aside : bool
        A folder that holds something is moved aside, under a name of its own beside it.

    Raises
    ------
    BackupError
        It is no backup, is damaged or newer than this program; or the folder holds something,
        or cannot be written.
    RecordError
        The service runs for the boat in that folder.
    """
    there = folder.resolve()
    with _opened(archive) as (kept, contents):
        living = there.exists() and (not there.is_dir() or any(there.iterdir()))
        if living and not (aside and there.is_dir()):
            raise BackupError(
                "holds something already, and nothing in it was changed; name a folder that is "
                "empty or not there yet",
                by_command="--aside first moves that one to a name of its own beside it",
                file=folder,
            )
        part = there.with_name(f".{secrets.token_hex(8)}.part")
        moved = None
        try:
            there.parent.mkdir(parents=True, exist_ok=True)
            part.mkdir()
            for name in contents.folders:
                (part / name).mkdir(parents=True, exist_ok=True)
            for each in contents.files:
                _take(kept, each, part / each.path, archive)
            if living:
                moved = _moved_aside(there, now)
            elif there.exists():
                there.rmdir()
            os.replace(part, there)
        except OSError as bad:
            raise BackupError(f"cannot be written: {bad.strerror or bad}", file=folder) from None
        finally:
            if part.exists():
                shutil.rmtree(part, ignore_errors=True)
    return Restored(contents, moved)


def _moved_aside(there: Path, now: datetime) -> Path:
    name = f"{there.name}.before-{now.astimezone(UTC):%Y-%m-%dT%H%M%SZ}"
    to = there.with_name(name)
    with only_one(there):
        if to.exists():
            to = there.with_name(f"{name}-{secrets.token_hex(2)}")
        os.rename(there, to)
    return to


@contextmanager
def _opened(archive: Path) -> Iterator[tuple[zipfile.ZipFile, Contents]]:
    try:
        with zipfile.ZipFile(archive) as kept:
            yield kept, _contents(kept, archive)
    except FileNotFoundError as bad:
        if bad.filename is not None and Path(bad.filename) != archive:
            raise
        raise BackupError("there is no such file", file=archive) from None
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError):
        raise BackupError(_DAMAGED, file=archive) from None
    except OSError as bad:
        raise BackupError(f"cannot be read: {bad.strerror or bad}", file=archive) from None


_DAMAGED = "is damaged or no backup of curewindow; nothing was written"


def _contents(kept: zipfile.ZipFile, archive: Path) -> Contents:
    """What it holds, once all of it was read and found as it was written."""
    try:
        told = json.loads(kept.read(CONTENTS))
        if isinstance(told, dict) and isinstance(told.get("format"), int) and told["format"] > 1:
            raise BackupError(
                f"made by a newer curewindow ({str(told.get('version'))[:20]}); update this one",
                file=archive,
            )
        contents = Contents.model_validate(told)
    except (KeyError, ValueError, ValidationError, RecursionError):
        raise BackupError(_DAMAGED, file=archive) from None
    names = [*(each.path for each in contents.files), *contents.folders]
    if not all(_is_within(name) for name in names) or len(set(names)) < len(names):
        raise BackupError(
            "names files outside the boat folder, or one twice; nothing was written", file=archive
        )
    for each in contents.files:
        _read(kept, each, archive, None)
    return contents


def _is_within(name: str) -> bool:
    path = PurePosixPath(name)
    return bool(
        name
        and not path.is_absolute()
        and path.as_posix() == name
        and not {"..", "."} & set(path.parts)
        and "\0" not in name
        # there these lead out of the folder; elsewhere they are letters like any other
        and not (os.name == "nt" and set("\\:") & set(name))
    )


def _take(kept: zipfile.ZipFile, each: KeptFile, to: Path, archive: Path) -> None:
    to.parent.mkdir(parents=True, exist_ok=True)
    with open(to, "xb") as file:
        _read(kept, each, archive, file)
        file.flush()
        os.fsync(file.fileno())
    # never less for its owner than to read and write it
    to.chmod((each.mode & 0o777) | 0o600)
    os.utime(to, (each.modified, each.modified))


def _read(kept: zipfile.ZipFile, each: KeptFile, archive: Path, into: BinaryIO | None) -> None:
    """Read one file of the archive to its end, and hold it against what it should be."""
    digest, size = hashlib.sha256(), 0
    try:
        with kept.open(each.path) as file:
            while size <= each.size and (block := file.read(_BLOCK)):
                digest.update(block)
                size += len(block)
                if into is not None:
                    into.write(block)
    except KeyError:
        raise BackupError(_DAMAGED, file=archive) from None
    if (size, digest.hexdigest()) != (each.size, each.sha256):
        raise BackupError(f"{_DAMAGED} ('{each.path}' is not what was put in)", file=archive)
