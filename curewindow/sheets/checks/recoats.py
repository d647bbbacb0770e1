"""The recoat tables: from before until, names that are known, nothing said twice."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator
from typing import get_args

from curewindow.sheets.checks.result import CheckResult, error, warning
from curewindow.sheets.checks.tables import column, rising
from curewindow.sheets.hours import hours_at, shown
from curewindow.sheets.schema import ProductKind, Recoat, Sheet


def check_recoats(sheet: Sheet, known: Collection[str] | None) -> Iterator[CheckResult]:
    """Each [[recoat]] table by itself, and against [cure]."""
    seen: set[str] = set()
    for number, recoat in enumerate(sheet.recoat, start=1):
        key = f"recoat[{number}]"
        if recoat.next in seen:
            yield error(f"{key}.next", f"'{recoat.next}' has a table already; keep one")
        seen.add(recoat.next)
        yield from _name(f"{key}.next", recoat.next, known)
        yield from _times(key, recoat, sheet)


def _name(key: str, name: str, known: Collection[str] | None) -> Iterator[CheckResult]:
    kinds = get_args(ProductKind)
    if known is None or name == "self" or name in kinds or name in known:
        return
    close = difflib.get_close_matches(name, [*known, *kinds, "self"], n=1)
    hint = f"did you mean '{close[0]}'?" if close else "write 'self', a sheet's name or a kind"
    yield warning(key, f"'{name}' is neither a sheet nor a kind; {hint}")


def _times(key: str, recoat: Recoat, sheet: Sheet) -> Iterator[CheckResult]:
    temps = recoat.temps if recoat.temps is not None else sheet.cure.temps
    wrong = [
        *(rising(f"{key}.temps", temps) if recoat.temps is not None else ()),
        *column(f"{key}.from", temps, recoat.from_),
        *column(f"{key}.until", temps, recoat.until),
    ]
    yield from wrong
    if wrong:
        return
    if recoat.until is not None:
        # Both rows share one list of temperatures and both are interpolated the
        # same way, so in order at the rows is in order between them.
        for temp, first, last in zip(temps, recoat.from_, recoat.until, strict=True):
            if last < first:
                yield error(
                    f"{key}.until",
                    f"{shown(last)} at {temp:g} °C is before from ({shown(first)}): "
                    "the interval would close before it opens",
                )
                return
    yield from _against_cure(key, recoat, temps, sheet)


def _against_cure(
    key: str, recoat: Recoat, temps: list[float], sheet: Sheet
) -> Iterator[CheckResult]:
    """Opening after full cure is doubtful, closing before touch dry is an error."""
    cure = sheet.cure
    if sorted(set(cure.temps)) != cure.temps:
        return
    shared = [
        temp
        for temp in sorted({*temps, *cure.temps})
        if max(temps[0], cure.temps[0]) <= temp <= min(temps[-1], cure.temps[-1])
    ]
    for temp in shared:
        opens = hours_at(temps, recoat.from_, temp)
        if cure.full_cure is not None and len(cure.full_cure) == len(cure.temps):
            full = hours_at(cure.temps, cure.full_cure, temp)
            if opens > 1.001 * full:
                yield warning(
                    f"{key}.from",
                    f"{shown(opens)} at {temp:g} °C is after full cure ({shown(full)})",
                )
                return
        if recoat.until is None or cure.touch_dry is None:
            continue
        if len(cure.touch_dry) != len(cure.temps):
            continue
        closes = hours_at(temps, recoat.until, temp)
        dry = hours_at(cure.temps, cure.touch_dry, temp)
        if closes < 0.999 * dry:
            yield error(
                f"{key}.until",
                f"{shown(closes)} at {temp:g} °C is before touch dry ({shown(dry)})",
            )
            return
