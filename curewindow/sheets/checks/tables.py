"""Tables of hours by temperature: shape, direction, and the order milestones can come in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from curewindow.sheets.checks.result import CheckResult, error
from curewindow.sheets.hours import shown
from curewindow.sheets.schema import MILESTONES, Milestone, Sheet

# Which milestone cannot come before which (each with its direct successors).
_THEN: dict[Milestone, tuple[Milestone, ...]] = {
    "touch dry": ("tack free", "immersion"),
    "tack free": ("sandable", "handling"),
    "sandable": ("light use",),
    "handling": ("light use",),
    "light use": ("closed up",),
    "closed up": ("full cure",),
    "immersion": ("full cure",),
    "full cure": (),
}


def check_tables(sheet: Sheet) -> Iterator[CheckResult]:
    """The tables of [working] and [cure]; that of [[recoat]] is in ``recoats``."""
    if sheet.working is not None:
        temps = sheet.working.temps
        yield from rising("working.temps", temps)
        for name in ("pot_life", "open_time", "induction", "clamp"):
            yield from column(f"working.{name}", temps, getattr(sheet.working, name))
    temps = sheet.cure.temps
    yield from rising("cure.temps", temps)
    rows = {milestone: sheet.cure.written(milestone) for milestone in MILESTONES}
    for milestone, hours in rows.items():
        yield from column(f"cure.{_key(milestone)}", temps, hours)
        if hours is not None and min(hours, default=1.0) <= 0.0:
            yield error(
                f"cure.{_key(milestone)}", "no film is there in 0 h; write the sheet's time"
            )
    if all(hours is None for hours in rows.values()):
        yield error("cure", "has no milestone; give at least one, such as touch_dry")
    for before in MILESTONES:
        for after in MILESTONES:
            first, second = rows[before], rows[after]
            if first is None or second is None or not _next_present(before, after, rows):
                continue
            for temp, early, late in zip(temps, first, second, strict=False):
                if early > late:
                    yield error(
                        f"cure.{_key(after)}",
                        f"{shown(late)} at {temp:g} °C is before '{before}' ({shown(early)}); "
                        f"'{after}' cannot come first",
                    )
                    break
    until = sheet.setting.until
    if rows[until] is None:
        have = ", ".join(f"'{name}'" for name, hours in rows.items() if hours is not None)
        yield error(
            "setting.until",
            f"'{until}' is not in the [cure] table; add it or use one of {have or 'its rows'}",
        )
    stop = sheet.cure.stops_below
    if stop is not None and stop > min(temps):
        yield error(
            "cure.stops_below",
            f"{stop:g} °C is above the table's {min(temps):g} °C, where it still gives times",
        )


def rising(key: str, temps: Sequence[float]) -> Iterator[CheckResult]:
    """A finding where temperatures do not increase from left to right."""
    if any(right <= left for left, right in pairwise(temps)):
        yield error(key, "temperatures must increase from left to right, each once")


def column(
    key: str, temps: Sequence[float], hours: Sequence[float] | None
) -> Iterator[CheckResult]:
    """Findings of one row of hours: one a temperature, never longer when warmer."""
    if hours is None:
        return
    if len(hours) != len(temps):
        yield error(key, f"has {len(hours)} times for {len(temps)} temperatures; give one for each")
        return
    for (cold, slow), (warm, fast) in pairwise(zip(temps, hours, strict=True)):
        if fast > slow:
            yield error(
                key,
                f"{shown(fast)} at {warm:g} °C is longer than {shown(slow)} at {cold:g} °C; "
                "times do not grow with warmth",
            )
            return


def _key(milestone: str) -> str:
    return milestone.replace(" ", "_")


def _follows(before: Milestone, after: Milestone) -> bool:
    """True where ``after`` can only come after ``before``."""
    return any(step == after or _follows(step, after) for step in _THEN[before])


def _next_present(
    before: Milestone, after: Milestone, rows: dict[Milestone, list[float] | None]
) -> bool:
    """True for neighbours among the rows a sheet has: each contradiction is told once."""
    if not _follows(before, after):
        return False
    return not any(
        _follows(before, between) and _follows(between, after)
        for between, hours in rows.items()
        if hours is not None
    )
