"""What `curewindow sheets` answers: the models its JSON is made of, and how they are filled."""

from __future__ import annotations

import re
from collections.abc import Collection
from pathlib import Path
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer
from curewindow.boat.folder import BOAT_FILE, WORK_FILE, own_sheets
from curewindow.cli.firstfiles import write_schemas
from curewindow.errors import NotFoundError, SheetError
from curewindow.sheets.checks import Finding
from curewindow.sheets.schema import Sheet
from curewindow.sheets.shelf import (
    LoadedSheet,
    SheetEntry,
    get_sheet,
    inspect,
    load_sheet,
)

_NAME = re.compile(r"^[a-z0-9][a-z0-9-]*$")


class SheetLine(Answer):
    """One sheet in the list; ``problem`` is set where it cannot be used."""

    name: str
    file: str
    own: bool
    kind: str = ""
    chemistry: str = ""
    basis: str = ""
    typical: bool = False
    problem: str | None = None


class SheetList(Answer):
    """`sheets list --json`."""

    sheets: list[SheetLine]


class FindingLine(Answer):
    """One finding."""

    level: Literal["error", "warning"]
    key: str
    text: str


class SheetAnswer(Answer):
    """`sheets show --json`; ``sheet`` has the keys and the written quantities of the file."""

    name: str
    file: str
    own: bool
    typical: bool = Field(description="advice from it must say: check your tin")
    warnings: list[FindingLine]
    sheet: Sheet


class Checked(Answer):
    """What was found in one file."""

    file: str
    errors: list[FindingLine]
    warnings: list[FindingLine]


class CheckedSheets(Answer):
    """`sheets check --json`."""

    files: list[Checked]


def sheet_line(entry: SheetEntry) -> SheetLine:
    """Read one sheet for the list; one that is broken is listed with its problem."""
    name, file, own = entry.name, str(entry.path), entry.own
    try:
        sheet = load_sheet(entry.path)
    except SheetError as bad:
        where = f"{bad.key}: " if bad.key else ""
        return SheetLine(
            name=name, file=file, own=own, problem=f"cannot be used: {where}{bad.problem}"
        )
    return SheetLine(
        name=name,
        file=file,
        own=own,
        kind=sheet.kind,
        chemistry=sheet.chemistry,
        basis=sheet.basis,
        typical=sheet.typical,
    )


def sheet_answer(loaded: LoadedSheet) -> SheetAnswer:
    """A loaded sheet as an answer."""
    return SheetAnswer(
        name=loaded.stem,
        file=str(loaded.path),
        own=loaded.own,
        typical=loaded.sheet.typical,
        warnings=[_line(finding) for finding in loaded.warnings],
        sheet=loaded.sheet,
    )


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


def check_files(files: list[Path], known: Collection[str]) -> list[Checked]:
    """Check each file."""
    checked = []
    for file in files:
        lines = [_line(finding) for finding in inspect(file, known)]
        checked.append(
            Checked(
                file=str(file),
                errors=[line for line in lines if line.level == "error"],
                warnings=[line for line in lines if line.level == "warning"],
            )
        )
    return checked


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
    own_dir.mkdir(parents=True, exist_ok=True)
    path = own_dir / f"{stem}.toml"
    try:
        # 'x' fails where the file is there: a hand-written sheet is never overwritten.
        with path.open("x", encoding="utf-8") as out:
            out.write(f"#:schema ../schema/sheet.json\n{head}\n\n{body.strip()}\n")
    except FileExistsError:
        raise SheetError(
            "is there already; choose another name or edit that one", file=path
        ) from None
    if not (folder / "schema" / "sheet.json").exists():
        write_schemas(folder)
    return path


def _line(finding: Finding) -> FindingLine:
    return FindingLine(level=finding.level, key=finding.key, text=finding.text)
