"""What a product may stand on: names that are known, answers that do not contradict themselves."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator

from curewindow.sheets.checks.result import CheckResult, error
from curewindow.sheets.families import ALONE, BINDERS, SUBSTRATES, How
from curewindow.sheets.schema import Sheet


def check_stands(sheet: Sheet, known: Collection[str] | None) -> Iterator[CheckResult]:
    """The [[stands_on]] rows, and what is done first by [[recoat]]."""
    seen: set[tuple[str, str | None]] = set()
    for number, row in enumerate(sheet.stands_on, start=1):
        key = f"stands_on[{number}]"
        if known is not None and row.what not in {"itself", *BINDERS, *SUBSTRATES, *known}:
            every = ["itself", *SUBSTRATES, *BINDERS, *known]
            close = difflib.get_close_matches(row.what, every, n=1)
            hint = (
                f"did you mean '{close[0]}'?" if close else f"write one of {', '.join(every[:9])}"
            )
            yield error(f"{key}.what", f"'{row.what}' is no substrate, family or sheet; {hint}")
        yield from _alone(f"{key}.how", row.how)
        if row.state is not None and row.what in SUBSTRATES:
            yield error(f"{key}.state", "only a film is fresh or cured; leave it out here")
        same = [each for each in seen if each[0] == row.what and each[1] in (None, row.state)]
        if same:
            yield error(f"{key}.what", f"'{row.what}' is answered already; keep one")
        seen.add((row.what, row.state))
    for number, recoat in enumerate(sheet.recoat, start=1):
        yield from _alone(f"recoat[{number}].first", recoat.first)
        if "never" in recoat.first:
            yield error(f"recoat[{number}].first", "'never' has no times; leave the table out")


def _alone(key: str, how: list[How]) -> Iterator[CheckResult]:
    for word in ALONE:
        if word in how and len(how) > 1:
            yield error(key, f"'{word}' stands alone: leave the rest out")
            return
