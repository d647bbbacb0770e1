"""What `curewindow log` answers: the models its JSON is made of, and its lines of text."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import Field

from curewindow.answers import Answer
from curewindow.boat.schema import VENTS_WORD, Ventilation
from curewindow.findings import Finding
from curewindow.record import rows
from curewindow.record.entries import (
    Coat,
    Done,
    Entry,
    Found,
    Heat,
    Inspection,
    Item,
    Reading,
    Wiped,
)
from curewindow.record.importing import ImportResult
from curewindow.voice.heat import vents_text
from curewindow.wording import Wording

FOUND_SAID: dict[Found, str] = {
    "sound": "looked at: sound",
    "dull": "looked at: dull",
    "sanded": "sanded",
    "cleared": "rags and dust cleared away",
    "spoilt": "spoilt",
}
DULL_FOLLOWS = (
    "for bloom it is usual to wash the film with clean water, let it dry and abrade it evenly "
    "before the next coat; what stays soft or milky has to come off; the data sheet comes first"
)
"""Common practice, no source."""
SPOILT_FOLLOWS = (
    "it no longer counts, nor what lies on it: sand it back once it is hard enough, or scrape it "
    "off, log that with 'curewindow log sand', then put it on again"
)
UNDO = "`curewindow log undo` takes it back"


class ReadingLine(Answer):
    """A reading in the record."""

    id: int
    space: str
    at: datetime
    air_c: float | None
    rh_pct: float | None
    surface_c: float | None
    panel: str | None
    wood_moisture_pct: float | None
    source: str
    note: str


class CoatLine(Answer):
    """A coat in the record."""

    id: int
    job: str
    step: int
    coat: int
    start: datetime
    end: datetime
    sheet: str
    batch: str
    area_m2: float | None
    note: str
    spoilt: datetime | None = Field(None, description="found so then: it no longer counts")


class DoneLine(Answer):
    """A finished step in the record."""

    id: int
    job: str
    step: int
    at: datetime
    note: str


class HeatLine(Answer):
    """A heater that was lit or put out, in the record."""

    id: int
    space: str
    at: datetime
    until: datetime = Field(description="to be so until then; 'at' itself: back to its routine")
    setpoint_c: float | None = Field(description="None: off")
    ventilation: Ventilation
    note: str


class DryLine(Answer):
    """A surface that was wiped dry, in the record."""

    id: int
    at: datetime
    job: str | None = Field(description="the surface of this job alone")
    space: str | None
    panel: str | None = Field(description="None: every surface of the space")
    note: str


class InspectionLine(Answer):
    """A coat that was looked at or sanded, in the record."""

    id: int
    job: str
    step: int
    coat: int
    at: datetime
    found: Found
    note: str


class Logged(Answer):
    """`log reading`, `coat`, `done` and their like with `--json`: the row written."""

    reading: ReadingLine | None = None
    coat: CoatLine | None = None
    done: DoneLine | None = None
    heater: HeatLine | None = None
    dry: DryLine | None = None
    inspection: InspectionLine | None = None
    corrects: int | None = Field(None, description="id of the row this one corrects")
    said: str = Field(description="what was understood, in the boat's units and local time")
    notes: list[str] = Field(default_factory=list)
    cautions: list[Finding] = Field(
        default_factory=list, description="of a coat that is on or a heater that is lit"
    )
    doubts: list[Finding] = Field(
        default_factory=list, description="values that are kept and not used"
    )


class Withdrawn(Answer):
    """`log undo --json`: the entry that was taken back."""

    entry: int
    written: datetime
    kind: str
    size: int = Field(description="rows that no longer count")
    what: str
    said: str


class Shown(Answer):
    """`log show --json`: what stands in the record, oldest first."""

    readings: list[ReadingLine]
    coats: list[CoatLine]
    done: list[DoneLine]
    heater: list[HeatLine] = Field(default_factory=list)
    dry: list[DryLine] = Field(default_factory=list)
    inspections: list[InspectionLine] = Field(default_factory=list)


class BadLine(Answer):
    """A line of an imported file that cannot be used."""

    line: int
    reason: str


class Imported(Answer):
    """`log import --json`."""

    file: str
    what: str = Field(description="readings, coats, done, heat, wiped or inspections")
    read: int
    added: int
    duplicates: int
    bad: list[BadLine] = Field(description="the first of them")
    bad_count: int = Field(description="all of them")
    doubts: list[Finding] = Field(
        default_factory=list, description="readings that are kept and not used"
    )


class Exported(Answer):
    """`log export --json`."""

    file: str
    rows: int


# By kind of row: its line in JSON, and the letter it is named by.
_LINES: dict[type, tuple[type[Answer], str]] = {
    Reading: (ReadingLine, "r"),
    Coat: (CoatLine, "c"),
    Done: (DoneLine, "d"),
    Heat: (HeatLine, "h"),
    Wiped: (DryLine, "w"),
    Inspection: (InspectionLine, "i"),
}
ROW_SAID: dict[type[Item], str] = {
    Reading: "reading",
    Coat: "coat",
    Done: "finished step",
    Heat: "heater entry",
    Wiped: "surface",
    Inspection: "inspection",
}
"""What one row is called."""
LETTERS = {letter: cls for cls, (_, letter) in _LINES.items()}


def line(item: Item) -> Any:
    """A row as JSON has it."""
    return _LINES[type(item)][0].model_validate(item, from_attributes=True)


def logged(
    item: Item,
    said: str,
    notes: list[str],
    corrects: int | None = None,
    cautions: Sequence[Finding] = (),
    doubts: Sequence[Finding] = (),
) -> Logged:
    """The answer to a row that was written."""
    return Logged(
        reading=line(item) if isinstance(item, Reading) else None,
        coat=line(item) if isinstance(item, Coat) else None,
        done=line(item) if isinstance(item, Done) else None,
        heater=line(item) if isinstance(item, Heat) else None,
        dry=line(item) if isinstance(item, Wiped) else None,
        inspection=line(item) if isinstance(item, Inspection) else None,
        corrects=corrects,
        said=said,
        notes=notes,
        cautions=list(cautions),
        doubts=list(doubts),
    )


def shown(items: Sequence[Item]) -> Shown:
    """What stands in the record, as JSON has it."""
    return Shown(
        readings=[line(item) for item in items if isinstance(item, Reading)],
        coats=[line(item) for item in items if isinstance(item, Coat)],
        done=[line(item) for item in items if isinstance(item, Done)],
        heater=[line(item) for item in items if isinstance(item, Heat)],
        dry=[line(item) for item in items if isinstance(item, Wiped)],
        inspections=[line(item) for item in items if isinstance(item, Inspection)],
    )


def moment_of(item: Item) -> datetime:
    """When it happened: a coat, when it was on."""
    return item.end if isinstance(item, Coat) else item.at


def believe_hint(item: Item) -> str:
    """How a reading is used after all."""
    return f"`curewindow log believe {number(item)}` if you are sure"


_MANY = {"heater entry": "heater entries"}


def count(number: int, what: str) -> str:
    """'1 reading', '2 readings'; ``what`` is one of them."""
    return f"{number} {what if number == 1 else _MANY.get(what, f'{what}s')}"


def number(item: Item) -> str:
    """'r12', 'c3', 'w4': how a row is named in `log show`, `log correct` and `log undo`."""
    return f"{_LINES[type(item)][1]}{item.id}"


def say(item: Item, wording: Wording) -> str:
    """An entry in one line, in the boat's units and local time."""
    if isinstance(item, Reading):
        values = []
        if item.air_c is not None:
            values.append(f"air {wording.temp(item.air_c)}")
        if item.rh_pct is not None:
            values.append(f"humidity {item.rh_pct:.3g} %")
        if item.surface_c is not None:
            where = f"{item.panel} " if item.panel else ""
            values.append(f"{where}surface {wording.temp(item.surface_c)}")
        if item.wood_moisture_pct is not None:
            on = f" ({item.panel})" if item.panel and item.surface_c is None else ""
            values.append(f"wood {item.wood_moisture_pct:.3g} %{on}")
        text = f"{item.space}, {wording.when(item.at)}: {', '.join(values)}"
        if item.source != "by hand":
            text += f" [{item.source}]"
    elif isinstance(item, Coat):
        text = (
            f"{item.job}, step {item.step}, coat {item.coat} of {item.sheet}: "
            f"{wording.from_to(item.start, item.end)}"
        )
        if item.area_m2 is not None:
            text += f", {item.area_m2:g} m²"
        if item.batch:
            text += f", batch {item.batch}"
        if item.spoilt is not None:
            text += f", found spoilt {wording.when(item.spoilt)}"
    elif isinstance(item, Heat):
        doing = "off" if item.setpoint_c is None else f"held at {wording.temp(item.setpoint_c)}"
        vents = (
            "" if item.ventilation == "normal" else f", {vents_text(VENTS_WORD[item.ventilation])}"
        )
        end = f" until {wording.when(item.until)}"
        if item.until == item.at:
            end = "; its routine again"
        text = f"{item.space} heater, {wording.when(item.at)}: {doing}{end}{vents}"
    elif isinstance(item, Wiped):
        surface = item.job or f"{item.space}, {item.panel or 'every surface'}"
        text = f"{surface}, {wording.when(item.at)}: wiped dry"
    elif isinstance(item, Inspection):
        coat = f"{item.job}, step {item.step}, coat {item.coat}"
        text = f"{coat}, {wording.when(item.at)}: {FOUND_SAID[item.found]}"
    else:
        text = f"{item.job}, step {item.step} done: {wording.when(item.at)}"
    return f"{text}, note: {item.note}" if item.note else text


def follows(item: Item) -> tuple[str, ...]:
    """What usually follows from what was written down."""
    found = item.found if isinstance(item, Inspection) else ""
    return {"dull": (DULL_FOLLOWS,), "spoilt": (SPOILT_FOLLOWS,)}.get(found, ())


def say_entry(entry: Entry, wording: Wording) -> str:
    """An entry of the log in one line."""
    if entry.item is not None:
        return say(entry.item, wording)
    source = f" of {entry.what}" if entry.what else ""
    what = next(
        (ROW_SAID[cls] for cls, kept in rows.KEPT.items() if kept.kind == entry.kind), "row"
    )
    return f"{count(entry.size, what)}{source}, entered {wording.when(entry.written)}"


def withdrawn(entry: Entry, wording: Wording) -> Withdrawn:
    """The answer to an undo."""
    said = say_entry(entry, wording)
    if entry.supersedes is not None:
        said += "; what it had corrected counts again"
    return Withdrawn(
        entry=entry.id,
        written=entry.written,
        kind=entry.kind,
        size=entry.size,
        what=entry.what,
        said=said,
    )


def imported(path: Path, result: ImportResult, doubts: Sequence[Finding] = ()) -> Imported:
    """The answer to an import."""
    return Imported(
        file=str(path),
        what=rows.KEPT[result.kind].table,
        read=result.read,
        added=result.added,
        duplicates=result.duplicates,
        bad=[BadLine(line=line, reason=reason) for line, reason in result.bad],
        bad_count=result.bad_count,
        doubts=list(doubts),
    )
