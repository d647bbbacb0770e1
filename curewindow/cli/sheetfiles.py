"""Files of `curewindow sheets`: which are meant by a path, and a new one begun as a copy."""

from __future__ import annotations

import difflib
import re
from pathlib import Path

from curewindow.boat.folder import BOAT_FILE, WORK_FILE, own_sheets
from curewindow.boat.jsonschema import write_schemas
from curewindow.errors import NotFoundError, SheetError
from curewindow.files import write_new
from curewindow.sheets.shelf import get_sheet, names

_NAME = re.compile(r"^[a-z0-9][a-z0-9-]*$")


def find_files(paths: list[Path]) -> list[Path]:
    """The sheets meant by files and folders (a boat folder means its own sheets).

    Raises
    ------
    NotFoundError
        One of them is not there, or a folder holds no sheet.
    """
    files: list[Path] = []
    for path in paths:
        folder = own_sheets(path) if (path / BOAT_FILE).is_file() else path
        if path.is_file():
            files.append(path)
        elif folder.is_dir():
            found = sorted(
                file for file in folder.glob("*.toml") if file.name not in (BOAT_FILE, WORK_FILE)
            )
            if not found:
                raise NotFoundError(f"there is no sheet (*.toml) in {folder}")
            files += found
        else:
            raise NotFoundError(f"there is no file or folder {folder}")
    return files


def nearest_by_name(name: str, folder: Path) -> str:
    """The sheet that has most words of its name in common with a new one.

    Raises
    ------
    NotFoundError
        None has any.
    """
    stem = name.removesuffix(".toml").casefold()
    words = set(stem.split("-"))

    def alike(other: str) -> tuple[int, float]:
        ratio = difflib.SequenceMatcher(None, stem, other).ratio()
        return len(words & set(other.split("-"))), ratio

    known = [entry.name for entry in names(own_sheets(folder)) if entry.name != stem]
    best = max(known, key=alike, default="")
    if not words & set(best.split("-")):
        raise NotFoundError(
            f"which sheet is nearest to '{name}'?",
            by_command="write --from SHEET; 'curewindow sheets list' shows them",
        )
    return best


def start_sheet(name: str, pattern: str, folder: Path) -> Path:
    """Copy a sheet into the boat folder's own, led by the schema for the editor.

    Raises
    ------
    NotFoundError
        No sheet of the pattern's name.
    SheetError
        The name is no file name, or there is such a sheet already.
    """
    stem = name.removesuffix(".toml")
    if not _NAME.match(stem):
        raise SheetError(f"'{name}' is not a sheet name; write it like 'my-varnish' (a-z, 0-9, -)")
    own_dir = own_sheets(folder)
    text = get_sheet(pattern, own_dir).path.read_text(encoding="utf-8")
    head = f"# Started as a copy of '{pattern}': put in what your tin says, then change 'basis'."
    body = "\n".join(line for line in text.splitlines() if not line.startswith("#"))
    path = own_dir / f"{stem}.toml"
    try:
        own_dir.mkdir(parents=True, exist_ok=True)
        # a hand-written sheet is never overwritten
        write_new(path, f"#:schema ../schema/sheet.json\n{head}\n\n{body.strip()}\n")
        if not (folder / "schema" / "sheet.json").exists():
            write_schemas(folder)
    except FileExistsError:
        raise SheetError(
            "is there already; choose another name or edit that one", file=path
        ) from None
    except OSError as bad:
        raise SheetError(f"cannot be written: {bad.strerror}", file=path) from None
    return path
