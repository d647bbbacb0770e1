"""The day sheet as text: short enough for a phone, readable without colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from curewindow import voice
from curewindow.answers import Clock, NextStep, SpaceNow
from curewindow.boat.checks import OUTDOORS
from curewindow.cli.text import columns, paint, wrap
from curewindow.daysheet.models import DayCaution, DaySheet
from curewindow.findings import Finding, finding
from curewindow.judgement.models import JobDay, Status
from curewindow.voice.cabin import dew_margin_parts
from curewindow.voice.cautions import DEFER, DEFER_SHORT, by_topic, standing_alone, topic
from curewindow.voice.day import (
    act_text,
    after_text,
    answer_text,
    daylight_text,
    dewfall_text,
    heater_text,
    obstacle_text,
    recoat_text,
    short_reason,
    step_text,
    waits_text,
    what_broke,
    window_details,
    window_text,
)
from curewindow.voice.plan import plan_lines, plan_note, plan_title
from curewindow.voice.speaking import in_full
from curewindow.wording import Wording, span, wording_of

_GROUPS: tuple[tuple[Status, str], ...] = (
    ("go", "go today"),
    ("refused", "not like this"),
    ("wait", "later"),
    ("blocked", "no window (forecast ends {until})"),
)
_IN = "  "
_CLOSER = "'curewindow heat' looks closer"


def day_lines(
    sheet: DaySheet, *, width: int = 80, full: bool = False, colour: bool = False
) -> list[str]:
    """Lines of the day sheet.

    Parameters
    ----------
    sheet : DaySheet
    width : int
        Columns there are; on few of them less is said.
    full : bool
        Say all of it, not only what is to be done.
    colour : bool
        Colour the headings; the words say the same without.
    """
    page = _Page(replace(wording_of(sheet), for_engineers=full), width, full, colour)
    lines = page.wrap(
        f"{sheet.boat}, {page.words.date(sheet.as_of)} {page.words.clock(sheet.as_of)}"
    )
    lines = [paint(line, "head", colour=colour) for line in lines]
    lines += _urgent(sheet, page)
    lines += _changed_lines(sheet, page)
    lines += _plan_lines(sheet, page)
    until = page.words.day(sheet.provenance.weather_until)
    for status, title in _GROUPS:
        group = [day for day in sheet.jobs if day.status == status]
        if group:
            lines += page.heading(title.format(until=until), status)
            for day in group:
                lines += _job_lines(day, page)
    done = [day.job for day in sheet.jobs if day.status == "done"]
    if done and not page.narrow:
        lines += [*page.gap(), *page.wrap(f"Done: {', '.join(done)}")]
    if not sheet.jobs:
        text = voice.full(finding("no jobs"), page.words)
        lines += ["", *page.wrap(f"{text[:1].upper()}{text[1:]}.")]
    lines += _now_lines(sheet, page)
    lines += _caution_lines(sheet.cautions, page)
    lines += _basis_lines(sheet, page)
    return lines


@dataclass(frozen=True, slots=True)
class _Page:
    """How the sheet is laid out."""

    words: Wording
    width: int
    full: bool
    colour: bool

    @property
    def narrow(self) -> bool:
        """A phone: say less."""
        return self.width < 60 and not self.full

    def wrap(self, text: str, first: str = "", rest: str = _IN) -> list[str]:
        return wrap(text, self.width, first, rest)

    def gap(self) -> list[str]:
        return [] if self.narrow else [""]

    def heading(self, text: str, style: str) -> list[str]:
        lines = wrap(text.upper(), self.width)
        return [*self.gap(), *(paint(line, style, colour=self.colour, bold=True) for line in lines)]


def _urgent(sheet: DaySheet, page: _Page) -> list[str]:
    """What must not be missed: recoat intervals that end, coats that had it bad."""
    lines: list[str] = []
    for clock in sheet.clocks:
        if clock.next_deadline is not None and clock.next_deadline > page.words.now:
            lines += page.wrap(f"{clock.job}: {recoat_text(clock, page.words)}", "! ")
    for clock in sheet.clocks:
        if clock.to_check:
            lines += page.wrap(
                f"{clock.job}: check the coat, {what_broke(clock, brief=page.narrow)}", "! "
            )
            if not page.narrow:
                lines += page.wrap(answer_text(clock.job), "  ")
        elif clock.state == "unknown":
            lines += page.wrap(f"{clock.job}: nobody can tell where its coat stands", "! ")
    return [paint(line, "wait", colour=page.colour) for line in lines]


def _changed_lines(sheet: DaySheet, page: _Page) -> list[str]:
    """What is no longer as it was told, the worse first; on a phone only what is worse."""
    news = [change for change in sheet.changes if change.worse or not page.narrow]
    if not news:
        return []
    since = min(change.told_at for change in news)
    lines = page.heading(f"changed since {page.words.when(since)}", "wait")
    for change in news:
        lines += page.wrap(f"{change.job}: {voice.full(change.said, page.words)}")
    return lines


def _plan_lines(sheet: DaySheet, page: _Page) -> list[str]:
    """Today's part of the order of work, if there is one; on a phone a line a step."""
    plan = sheet.plan
    if plan is None:
        return []
    found = plan_lines(plan, page.words)
    if not found:
        return []
    lines = page.heading(plan_title(plan), "head")
    if note := plan_note(plan, page.words):
        lines += page.wrap(note)
    for line in found:
        clock = page.words.clock(line.at) if page.narrow and line.clock != "late" else line.clock
        lines += page.wrap(f"{clock} {line.text}")
        more = line.more[:1] if page.narrow and not line.ok else () if page.narrow else line.more
        lines += [part for text in more for part in page.wrap(text, _IN)]
    return lines


def _job_lines(day: JobDay, page: _Page) -> list[str]:
    ahead, words = day.next, page.words
    assert ahead is not None  # only what is done has nothing ahead
    if page.narrow and day.status == "blocked":
        why = page.wrap(f"{day.job}: {_short_reason(day, words) or 'nobody aboard'}")
        return [*why, *_heat_lines(day, page)]
    if page.narrow and day.status == "wait":
        window = day.next_window or day.if_wiped
        start = "no date yet" if window is None else window_text(window, ahead.tail_h, words)
        if day.next_window is None and window is not None:
            start = f"once wiped dry {start}"
        return [
            *page.wrap(f"{day.job}: {start}"),
            *page.wrap(_short_reason(day, words) or step_text(ahead), _IN),
            *_heat_lines(day, page),
        ]
    if page.narrow and day.status == "go" and ahead.sheet is None:
        return page.wrap(f"{day.job}: {ahead.do}, {voice.short(day.verdict, words)}", "✓ ")
    step = act_text(ahead) if page.narrow else step_text(ahead)
    lines = page.wrap(f"{day.job}: {step}")
    lines += page.wrap(_verdict(day, page), _IN)
    if day.dewfall is not None:
        lines += page.wrap(dewfall_text(day.dewfall, words), _IN)
    if day.status == "go" and ahead.sheet is not None:
        after = after_text(day.windows_today[0], words, brief=page.narrow)
        if after:
            lines += page.wrap(after if page.narrow else f"then {after}", _IN)
    lines += _heat_lines(day, page)
    return [*lines, *_more_lines(day, ahead, page)] if page.full else lines


def _verdict(day: JobDay, page: _Page) -> str:
    """What is to be done about a job; where the heading says it, only why."""
    said = voice.short if page.narrow else voice.full
    if day.status == "blocked":
        return in_full(day.verdict.because, page.words) or "nobody aboard"
    mark = {"go": "✓ ", "refused": "✗ "}.get(day.status, "")
    return f"{mark}{said(day.verdict, page.words)}"


def _short_reason(day: JobDay, words: Wording) -> str:
    return short_reason(day.waits, day.obstacles, words)


def _heat_lines(day: JobDay, page: _Page) -> list[str]:
    """What heat would open, where nothing else does; on a phone only what works."""
    plan = day.heat
    if plan is None or (page.narrow and plan.status != "possible"):
        return []
    if page.narrow:
        return page.wrap(voice.short(plan.verdict, page.words), _IN, f"{_IN}{_IN}")
    text = f"with heat: {voice.full(plan.verdict, page.words)}"
    closer = f"; {_CLOSER}" if plan.status == "cannot" else ""
    return page.wrap(f"{text}{closer}", _IN, f"{_IN}{_IN}")


def _more_lines(day: JobDay, ahead: NextStep, page: _Page) -> list[str]:
    """All the rest there is to say about a job."""
    words = page.words
    more: list[str] = [f"where: {day.where}; hands on {span(ahead.hands_on_h)}"]
    if ahead.note:
        more.append(ahead.note)
    for window in [*day.windows_today, *([day.next_window] if day.next_window else [])]:
        more += window_details(window, ahead.tail_h, words)
    for obstacle in day.obstacles if day.status != "go" else []:
        ends = "no end in sight" if obstacle.ends is None else f"until {words.when(obstacle.ends)}"
        more.append(f"in the way: {obstacle_text(obstacle, words)}; {ends}")
    if day.waits:
        more.append(f"first: {waits_text(day.waits, words)}")
    if day.typical_sheet:
        more.append(f"sheet '{ahead.sheet}' is typical of the kind: check your tin")
    more += [voice.full(note, words) for note in day.notes]
    return [line for text in more for line in page.wrap(text, f"{_IN}- ", f"{_IN}  ")]


def _now_lines(sheet: DaySheet, page: _Page) -> list[str]:
    present = [*sheet.spaces, *([sheet.outdoors] if sheet.outdoors is not None else [])]
    lines = page.heading("now: coldest surface above dew point", "head")
    small = page.width < 60
    longest = 10 if small else 24
    heads = [_air_now(space, page.words, longest) for space in present]
    led = columns([(*head, "") for head in heads], " " if small else "  ")
    indent = max((len(line) for line in led), default=0) + (1 if small else 2)
    for line, space in zip(led, present, strict=True):
        state = _fitting(_state_now(space, page.words, small), page.width - indent)
        lines.append(f"{line:<{indent}}{state}".rstrip())
        if heater := heater_text(space, page.words):
            lines.append(f"  {heater}")
    if any(day.space == OUTDOORS and day.status != "done" for day in sheet.jobs):
        lines += page.wrap(daylight_text(sheet.daylight, page.words))
    for clock in sheet.clocks:
        if page.full:
            lines += _clock_lines(clock, page)
    return lines


def _air_now(space: SpaceNow, words: Wording, longest: int) -> tuple[str, ...]:
    """Where, temperature and humidity of the air."""
    about = "~" if not space.measured and space.where != OUTDOORS else ""
    air = "?" if space.air_c is None else about + words.temp(space.air_c)
    humidity = "?" if space.rh_pct is None else f"{space.rh_pct:.0f} %"
    return (space.where[:longest].rstrip(), air, humidity)


def _state_now(space: SpaceNow, words: Wording, small: bool) -> list[str]:
    """Its coldest surface, wind and rain, and where that is from, most needed first."""
    parts: list[str] = []
    if space.coldest_above_dew_k is not None:
        name = space.coldest or "skin"
        parts += dew_margin_parts(name, space.coldest_above_dew_k, words)
    elif space.dew_point_c is not None:
        parts.append(f"{'dew' if small else 'dew point'} {words.temp(space.dew_point_c)}")
    elif space.air_c is None and space.where != OUTDOORS:
        return ["log a reading"]
    if space.wind_ms is not None:
        rain = ", rain" if (space.rain_mm_h or 0.0) > 0.0 else ", dry"
        parts += [f", wind {space.wind_ms:.0f} m/s", rain]
    return parts[:1] if small else [*parts, f" ({_basis(space)})"]


def _fitting(parts: Sequence[str], room: int) -> str:
    """As many of the parts as there is room for; of the first at least its beginning."""
    text = ""
    for part in parts:
        if text and len(text) + len(part) > room:
            break
        text += part
    return text[: max(room, 1)]


def _basis(space: SpaceNow) -> str:
    if space.where == OUTDOORS:
        return "read" if space.measured else "forecast"
    if space.measured and space.reading_age_h is not None:
        return f"read {span(space.reading_age_h)} ago"
    return "worked out"


def _clock_lines(clock: Clock, page: _Page) -> list[str]:
    what = f"coat {clock.coat} of {clock.of_coats}" if clock.of_coats > 1 else "coat"
    lines = page.wrap(f"{clock.job}, {what}: {recoat_text(clock, page.words)}")
    for note in [clock.basis, *clock.notes]:
        lines += page.wrap(voice.full(note, page.words), f"{_IN}- ", f"{_IN}  ")
    return lines


def _caution_lines(cautions: Sequence[DayCaution], page: _Page) -> list[str]:
    if not cautions:
        return []
    lines = page.heading("take care", "refused")
    reminders: list[str] = []
    later: list[str] = []
    now: list[Finding] = []
    for each in cautions:
        name, danger = topic(each.danger), each.danger
        if page.full:
            jobs = f" ({', '.join(each.jobs)})" if each.jobs else ""
            lines += page.wrap(f"{name}{jobs}: {voice.full(danger, page.words)}.")
        elif each.later:
            later.append(standing_alone(danger))
        elif each.grade == "reminder":
            reminders.append(standing_alone(danger))
        else:
            now.append(danger)
    shorts = by_topic(now, page.words)
    for name, said in shorts.items():
        lines += page.wrap(f"{name}: {said}")
    also = [name for name in dict.fromkeys(reminders) if name not in shorts]
    if also:
        lines += page.wrap(f"also: {', '.join(also)}")
    ahead = [name for name in dict.fromkeys(later) if name not in {*shorts, *reminders}]
    if ahead:
        lines += page.wrap(f"with later work: {', '.join(ahead)}")
    lines += page.wrap(DEFER if page.full else f"{DEFER_SHORT}; --full says all")
    return lines


def _uncertain(sheet: DaySheet) -> list[str]:
    """What is marked with '~'."""
    jobs = [
        day.job
        for day in sheet.jobs
        if day.windows_today and day.windows_today[0].after.extrapolated
    ]
    guessed = [s.where for s in sheet.spaces if not s.measured and s.air_c is not None]
    return jobs + guessed


def _basis_lines(sheet: DaySheet, page: _Page) -> list[str]:
    basis, words = sheet.provenance, page.words
    lines = page.heading("goes by", "head")
    age = f", {span(basis.weather_age_h)} old" if basis.weather_age_h >= 0.1 else ""
    until = words.day(basis.weather_until)
    lines += page.wrap(f"weather: {basis.weather}{age}, known until {until}")
    if basis.attribution:
        lines += page.wrap(basis.attribution, _IN)
    if basis.last_reading is None:
        known = any(space.air_c is not None for space in sheet.spaces)
        rest = "cabin conditions are worked out, not measured" if known else "log what you measure"
        lines += page.wrap(f"no readings: {rest}")
    else:
        lines += page.wrap(f"last reading: {words.when(basis.last_reading)}")
    for note in basis.weather_notes:
        lines += page.wrap(voice.full(note, words), _IN)
    guessed = "~ worked out or outside the sheet" if _uncertain(sheet) else ""
    typical = "typical sheets: check your tin" if basis.typical_sheets else ""
    if page.narrow and guessed and typical:
        lines += page.wrap("~ worked out; typical sheet: check tin")
    else:
        lines += [line for text in (typical, guessed) if text for line in page.wrap(text)]
    for told in sheet.notes:
        lines += page.wrap((voice.short if page.narrow else voice.full)(told, words))
    assumed = [*([basis.spread] if basis.spread else []), *basis.notes]
    for note in assumed if page.full else []:
        lines += page.wrap(voice.full(note, words), f"{_IN}- ", f"{_IN}  ")
    return lines
