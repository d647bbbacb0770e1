"""Sheets as they are answered: the models their JSON is made of, and how they are filled."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer
from curewindow.errors import SheetError
from curewindow.sheets.checks import CheckResult
from curewindow.sheets.schema import Sheet
from curewindow.sheets.shelf import (
    LoadedSheet,
    SheetEntry,
    inspect,
    load_sheet,
)


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


def _line(finding: CheckResult) -> FindingLine:
    return FindingLine(level=finding.level, key=finding.key, text=finding.text)
