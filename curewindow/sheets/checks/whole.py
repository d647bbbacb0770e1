"""All checks of one sheet, in the order of the file."""

from __future__ import annotations

from collections.abc import Collection

from curewindow.boat.addresses import passwords_in
from curewindow.handwritten import without_numbers
from curewindow.quantity import ranges
from curewindow.sheets.checks.hazards import check_hazards
from curewindow.sheets.checks.limits import check_limits
from curewindow.sheets.checks.needed import check_needed
from curewindow.sheets.checks.recoats import check_recoats
from curewindow.sheets.checks.result import CheckResult, error
from curewindow.sheets.checks.stands import check_stands
from curewindow.sheets.checks.tables import check_tables
from curewindow.sheets.schema import Sheet

_PASSWORD = "an address with a password does not belong here: sheets are shown, copied and shared"


def check(sheet: Sheet, known: Collection[str] | None = None) -> list[CheckResult]:
    """Check a sheet's fields against each other and against what its chemistry needs.

    Parameters
    ----------
    sheet : Sheet
        Read and valid field by field.
    known : collection of str, optional
        Names of the sheets there are, for ``recoat.next``; without it only
        'self' and the product kinds are held against it, and other names pass.

    Returns
    -------
    list of CheckResult
        Errors first; empty when nothing is wrong.
    """
    found = [
        *(error(key, _PASSWORD) for key in passwords_in(sheet)),
        *check_limits(sheet),
        *check_needed(sheet),
        *check_tables(sheet),
        *check_recoats(sheet, known),
        *check_stands(sheet, known),
        *check_hazards(sheet),
    ]
    # what a check of its own says better is not said twice
    said = {without_numbers(each.key) for each in found if each.level == "error"}
    found += [
        error(key, problem)
        for key, problem in ranges.implausible(sheet, ranges.SHEET)
        if without_numbers(key) not in said
    ]
    return sorted(found, key=lambda finding: finding.level != "error")
