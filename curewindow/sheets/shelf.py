"""Finding and loading sheets: the boat's own first, then the shelf that ships with the program.

A sheet's name is the stem of its file. Only the sheet that is asked for is read.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from curewindow.errors import NotFoundError, SheetError
from curewindow.handwritten import parse_file, problems, read_toml
from curewindow.nearest import did_you_mean
from curewindow.sheets.checks import CheckResult, check
from curewindow.sheets.schema import Sheet

SCHEMA_FILE = "sheet.schema.json"


@dataclass(frozen=True, slots=True)
class SheetEntry:
    """A sheet that is there, not yet read. ``own``: from the boat folder, not the shelf."""

    name: str
    path: Path
    own: bool


@dataclass(frozen=True, slots=True)
class LoadedSheet:
    """A sheet that was read and checked; it has no errors, its warnings are kept."""

    stem: str
    path: Path
    sheet: Sheet
    warnings: tuple[CheckResult, ...]
    own: bool


def find_products_dir() -> Path:
    """Find the folder of generic sheets.

    Returns
    -------
    Path
        ``_products`` inside the installed package, else ``products`` of the checkout.

    Raises
    ------
    NotFoundError
        Neither is there.
    """
    package = Path(__file__).resolve().parent.parent
    for place in (package / "_products", package.parent / "products"):
        if (place / SCHEMA_FILE).is_file():
            return place
    raise NotFoundError(
        f"the shelf of product sheets is not installed (looked in {package / '_products'}); "
        "install curewindow again"
    )


def names(own_dir: Path | None = None) -> list[SheetEntry]:
    """List the sheets there are without reading them.

    Parameters
    ----------
    own_dir : Path, optional
        The boat's own ``sheets`` folder; it need not exist.

    Returns
    -------
    list of SheetEntry
        By name; an own sheet hides the shelf's sheet of the same name.
    """
    entries = {
        path.stem: SheetEntry(path.stem, path, False) for path in _tomls(find_products_dir())
    }
    if own_dir is not None:
        entries |= {path.stem: SheetEntry(path.stem, path, True) for path in _tomls(own_dir)}
    return [entries[name] for name in sorted(entries)]


def load_sheet(path: Path) -> Sheet:
    """Read and check one sheet.

    Raises
    ------
    SheetError
        With the file, the key and what would be right, for the first problem.
    """
    sheet = parse_file(path, Sheet, SheetError)
    _raise_errors(path, check(sheet))
    return sheet


def get_sheet(name: str, own_dir: Path | None = None) -> LoadedSheet:
    """Read one sheet by its name, the boat's own before the shelf's.

    Parameters
    ----------
    name : str
        The file's stem, such as ``'oil-varnish'``.
    own_dir : Path, optional
        The boat's own ``sheets`` folder.

    Returns
    -------
    LoadedSheet

    Raises
    ------
    NotFoundError
        No sheet of that name; the nearest name is told.
    SheetError
        The sheet has errors.
    """
    entries = {entry.name: entry for entry in names(own_dir)}
    entry = entries.get(name)
    if entry is None:
        folded = name.strip().lower().removesuffix(".toml").replace(" ", "-").replace("_", "-")
        hint = did_you_mean(folded, entries)
        raise NotFoundError(
            f"there is no sheet '{name}'" + (f"; {hint}" if hint else ""),
            by_command="" if hint else "'curewindow sheets list' shows all",
            on_page="" if hint else "'Sheets' shows all",
        )
    sheet = parse_file(entry.path, Sheet, SheetError)
    findings = check(sheet, known=entries)
    _raise_errors(entry.path, findings)
    sheet._file_name = entry.name
    return LoadedSheet(entry.name, entry.path, sheet, tuple(findings), entry.own)


def inspect(path: Path, known: Collection[str] | None = None) -> list[CheckResult]:
    """Everything that is wrong or doubtful in one file, instead of the first error.

    Parameters
    ----------
    path : Path
        The file.
    known : collection of str, optional
        Names of the sheets there are; see :func:`curewindow.sheets.checks.check`.

    Returns
    -------
    list of CheckResult
        Errors first; empty for a sheet in order.
    """
    try:
        data = read_toml(path, SheetError)
    except SheetError as bad:
        return [CheckResult("error", bad.key or "", bad.problem)]
    try:
        sheet = Sheet.model_validate(data)
    except ValidationError as bad:
        return [CheckResult("error", each.key, each.text) for each in problems(bad, Sheet)]
    return check(sheet, known)


def _tomls(folder: Path) -> list[Path]:
    return [path for path in folder.glob("*.toml") if not path.name.startswith(".")]


def _raise_errors(path: Path, findings: list[CheckResult]) -> None:
    errors = [finding for finding in findings if finding.level == "error"]
    if errors:
        more = f" (and {len(errors) - 1} more)" if len(errors) > 1 else ""
        raise SheetError(errors[0].text + more, file=path, key=errors[0].key)
