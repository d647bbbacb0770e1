"""What goes on the page, in which size: the smallest letters and the folds that give one page.

Nothing is dropped: what is folded is counted and named. Letters are never smaller than a
cold hand's owner reads at arm's length; what does not fit then goes on a second sheet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Final

from curewindow.paper.models import Day, Paper
from curewindow.voice import paper as said
from curewindow.voice.cautions import care_lines, topics
from curewindow.wording import wording_of

WIDE_IN, HIGH_IN, EDGE_IN = 8.27, 11.69, 0.45  # A4
_LEADING = 1.24
_GAP_PT = 3.5  # between two lines of a day
_RULE_PT = 8.0  # a rule and the air about it


@dataclass(frozen=True, slots=True)
class PageForm:
    """Letters [pt], and of weeks and dangers how many are written out; None: all of them."""

    plain_pt: float
    small_pt: float
    weeks: int | None = None
    dangers: int | None = None

    @property
    def large_pt(self) -> float:
        """Letters of the title."""
        return 1.3 * self.plain_pt

    @property
    def day_in(self) -> float:
        """Width of a day's column: 'Wed 30 Dec'."""
        return width_pt("Wed 30 Dec ", self.plain_pt, bold=True) / 72.0

    @property
    def line_in(self) -> float:
        """Where the lines of a day begin, behind their boxes."""
        return self.day_in + 1.5 * self.plain_pt / 72.0

    @property
    def week_in(self) -> float:
        """Width of a week's column."""
        return width_pt("probably the week of 28 Dec  ", self.small_pt, bold=True) / 72.0


LARGE: Final = PageForm(13.0, 10.5)
_FORMS: Final = (
    LARGE,
    PageForm(12.0, 10.0),
    PageForm(11.0, 9.5),
    PageForm(10.5, 9.0),
    *(PageForm(10.5, 9.0, weeks=count) for count in (4, 2, 1, 0)),
    *(PageForm(10.5, 9.0, weeks=0, dangers=count) for count in (5, 3, 1)),
)
"""From the easiest to read on; the first that gives one page is taken."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of letters: how large, how far in, with what before it."""

    text: str
    size_pt: float
    indent_in: float
    bold: bool = False
    box: bool = False
    day: str = ""
    rule: bool = False
    gap: bool = False
    keep: int = 0  # so many rows after it belong on the same sheet

    @property
    def above_in(self) -> float:
        """What stays empty above it."""
        return ((_RULE_PT if self.rule else 0.0) + (_GAP_PT if self.gap else 0.0)) / 72.0

    @property
    def high_in(self) -> float:
        """Its height with that."""
        return _LEADING * self.size_pt / 72.0 + self.above_in


def days_together(days: list[Day]) -> Iterator[tuple[Day, str]]:
    """Days, and of those without work what is said; several in a row stand as one."""
    for empty, group in groupby(days, key=lambda day: not day.lines):
        own = list(group)
        if empty:
            yield own[0], said.nothing_text(own[-1].title if len(own) > 1 else "")
        else:
            yield from ((day, "") for day in own)


def care_of(paper: Paper, form: PageForm = LARGE) -> list[str]:
    """What to do about each danger, a line each; folded ones counted and named."""
    lines = care_lines(paper.cautions, wording_of(paper), form.dangers)
    if paper.later_cautions:
        lines.append(said.later_care_text(topics(paper.later_cautions)))
    return lines


def weeks_of(paper: Paper, form: PageForm = LARGE) -> list[tuple[str, list[str]]]:
    """Weeks beyond the forecast by name; those that do not fit are counted in the last line."""
    shown = paper.weeks if form.weeks is None else paper.weeks[: form.weeks]
    found = [(week.title, list(week.lines)) for week in shown]
    if folded := paper.weeks[len(shown) :]:
        count = sum(week.steps for week in folded)
        found.append((folded[0].title, [said.more_weeks_text(count, folded[-1].title)]))
    return found


def form_of(paper: Paper) -> PageForm:
    """The form that gives one page; where none does, the fewest sheets, with nothing folded."""
    count = {form: len(_on_sheets(_rows(paper, form))) for form in _FORMS}
    one = next((form for form in _FORMS if count[form] == 1), None)
    whole = [form for form in _FORMS if form.weeks is None and form.dangers is None]
    return one or min(whole, key=count.__getitem__)


def sheets_of(paper: Paper) -> list[list[Row]]:
    """The rows of each sheet."""
    return _on_sheets(_rows(paper, form_of(paper)))


# Widths of letters of DejaVu Sans [em], which comes with matplotlib and is among the widest
# a browser may take; its bold is a tenth wider. tests/paper holds them against the font.
_WIDTHS: Final = {
    **dict.fromkeys("ijlIJ',. ", 0.33),
    **dict.fromkeys("frt!()-/:;[\\]|³²", 0.41),
    **dict.fromkeys('csz"*_`°–', 0.55),
    **dict.fromkeys("mwDGHMNOQUW@%&+<=>#~≥", 1.0),
}
_OTHER_EM: Final = 0.66
_BOLD: Final = 1.12


def width_pt(text: str, size_pt: float, *, bold: bool = False) -> float:
    """How wide a line is at the most."""
    em = sum(_WIDTHS.get(letter, _OTHER_EM) for letter in text)
    return em * size_pt * (_BOLD if bold else 1.0)


def _wrapped(text: str, size_pt: float, indent_in: float, *, bold: bool = False) -> list[str]:
    room = (WIDE_IN - 2 * EDGE_IN - indent_in) * 72.0
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if line and width_pt(longer, size_pt, bold=bold) > room:
            lines.append(line)
            longer = word
        while width_pt(longer, size_pt, bold=bold) > room:  # a word longer than the page
            fits = next(
                count
                for count in range(len(longer) - 1, 0, -1)
                if count == 1 or width_pt(longer[:count], size_pt, bold=bold) <= room
            )
            lines.append(longer[:fits])
            longer = longer[fits:]
        line = longer
    return [*lines, line] if line or not lines else lines


def _together(rows: list[Row]) -> list[Row]:
    """Rows that stay on one sheet."""
    return [replace(row, keep=len(rows) - 1 - at) for at, row in enumerate(rows)]


def _rows(paper: Paper, form: PageForm) -> list[Row]:
    plain, small = form.plain_pt, form.small_pt
    large = form.large_pt
    rows = [
        Row(text, large, 0.0, bold=True) for text in _wrapped(paper.title, large, 0.0, bold=True)
    ]
    for warning in paper.warnings:
        texts = _wrapped(f"! {warning}", plain, 0.0, bold=True)
        rows += [Row(text, plain, 0.0, bold=True) for text in texts]
    for day, nothing in days_together(paper.days):
        rows += _day_rows(day, nothing, form)
    rows += _care_rows(care_of(paper, form), form)
    for at, (name, lines) in enumerate(weeks_of(paper, form)):
        if at == 0:
            rows += _together([Row(said.LATER, plain, 0.0, bold=True, rule=True)])
        rows += _together(
            [
                Row(
                    text,
                    small,
                    form.week_in,
                    day=name if number == part == 0 else "",
                    gap=number == part == 0,
                )
                for number, line in enumerate(lines)
                for part, text in enumerate(_wrapped(line, small, form.week_in))
            ]
        )
    notes = [each for note in paper.notes for each in _wrapped(note, small, 0.0)]
    return rows + _together([Row(text, small, 0.0, rule=at == 0) for at, text in enumerate(notes)])


def _day_rows(day: Day, nothing: str, form: PageForm) -> list[Row]:
    indent = form.line_in
    own: list[Row] = []
    for line in day.lines:
        bold = line.kind == "deadline"
        texts = _wrapped(f"{line.clock} {line.text}", form.plain_pt, indent, bold=bold)
        small = [each for text in line.under for each in _wrapped(text, form.small_pt, indent)]
        own += _together(
            [
                *(
                    Row(text, form.plain_pt, indent, bold, box=line.tick and at == 0, gap=at == 0)
                    for at, text in enumerate(texts)
                ),
                *(Row(text, form.small_pt, indent) for text in small),
            ]
        )
    own = own or [Row(nothing, form.plain_pt, indent)]
    own[0] = replace(own[0], day=day.title, rule=True, gap=False)
    return own


def _care_rows(lines: list[str], form: PageForm) -> list[Row]:
    if not lines:
        return []
    rows = [Row(said.TAKE_CARE, form.plain_pt, 0.0, bold=True, rule=True)]
    rows += [
        Row(text, form.small_pt, 0.0)
        for line in lines
        for text in _wrapped(line, form.small_pt, 0.0)
    ]
    return _together(rows)


def _on_sheets(rows: list[Row]) -> list[list[Row]]:
    """Rows on sheets; what belongs together stays together."""
    room = HIGH_IN - 2 * EDGE_IN
    sheets: list[list[Row]] = [[]]
    used = 0.0
    day = ""
    for at, row in enumerate(rows):
        together = sum(each.high_in for each in rows[at : at + row.keep + 1])
        if sheets[-1] and used + min(together, room) > room:
            sheets.append([])
            used = 0.0
            if row.indent_in and not row.day:  # a day goes on: say which
                row = replace(row, day=day)
        day = row.day or day
        sheets[-1].append(row)
        used += row.high_in
    return sheets
