"""What a product sheet says, section by section, before it is laid out for a screen or a page."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from curewindow.rules.asked import Phase, Unless
from curewindow.rules.limits import KINDS, LimitKind
from curewindow.sheets.families import ALONE
from curewindow.sheets.hours import shown
from curewindow.sheets.schema import MILESTONES, Limits, Recoat, Sheet
from curewindow.wording import figure

Temp = Callable[[float], str]

TYPICAL = "Typical of the kind: check your tin."
FIRST = "Your product's own data sheet and safety data sheet, and local rules, come first."
_AFTER = {
    "sand": "After that: sand first.",
    "never": "After that: never.",
    "as is": "After that: still as it is.",
}


@dataclass(frozen=True, slots=True)
class Pairs:
    """Names and values."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Times by temperature: a head, and a name and as many texts in each row."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence; ``rest`` is how far its later lines stand in on a screen."""

    text: str
    rest: str = "  "


Item = Pairs | Table | Sentence


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what stands under it."""

    title: str
    items: tuple[Item, ...]


def sections_of(sheet: Sheet, *, fahrenheit: bool) -> list[Section]:
    """The sections of a sheet that say anything.

    Parameters
    ----------
    sheet : Sheet
    fahrenheit : bool
        Degrees Fahrenheit instead of Celsius.
    """
    temp = _fahrenheit if fahrenheit else _celsius
    unit = "°F" if fahrenheit else "°C"
    sections = [
        Section(title, tuple(items)) for title, items in _sections(sheet, temp, unit, fahrenheit)
    ]
    return [section for section in sections if section.items]


def cautions_of(sheet: Sheet) -> list[Sentence]:
    """Hazards, vapour, and what comes first."""
    lines: list[Sentence] = []
    if sheet.hazards:
        lines.append(Sentence(f"Hazards: {', '.join(sheet.hazards)}."))
    if sheet.solvent is not None:
        lines.append(
            Sentence(
                f"Vapour: {sheet.solvent.name}, lower explosive limit "
                f"{sheet.solvent.lower_explosive_limit:g} %."
            )
        )
    if sheet.typical:
        lines.append(Sentence(TYPICAL))
    lines.append(Sentence(FIRST))
    return [*lines, *(Sentence(f"source: {source}", "    ") for source in sheet.sources)]


def _sections(
    sheet: Sheet, temp: Temp, unit: str, fahrenheit: bool
) -> Iterator[tuple[str, list[Item]]]:
    spread = _spread_f if fahrenheit else _spread_c
    yield "While applying", _pairs(_limits(sheet.applying, "applying", temp, unit, spread))
    until = f"From then until {sheet.setting.until}"
    yield until, _pairs(_limits(sheet.setting, "setting", temp, unit, spread))
    working = sheet.working
    if working is not None:
        rows = [
            ("pot life", working.pot_life),
            ("open time", working.open_time),
            ("wait after mixing", working.induction),
            ("clamp", working.clamp),
        ]
        items = _table([temp(t) for t in working.temps], rows, unit)
        if working.pot_life_mass is not None:
            items.append(Sentence(f"Pot life of a batch of {working.pot_life_mass:g} kg."))
        yield "In the pot and in the hand", items
    cure = sheet.cure
    rows = [(name, cure.written(name)) for name in MILESTONES]
    if (taken := cure.sandable_taken()) is not None:
        rows.append(("sandable, as taken", taken))
    measured = f" at {cure.humidity:g} % humidity" if cure.humidity is not None else ""
    items = _table([temp(t) for t in cure.temps], rows, unit)
    if cure.stops_below is not None:
        items.append(Sentence(f"Stops below {temp(cure.stops_below)} {unit}."))
    if cure.stops_above_humidity is not None:
        items.append(Sentence(f"Stops above {cure.stops_above_humidity:g} % humidity."))
    yield f"Hardening{measured}", items
    yield "Next coat", _recoats(sheet, temp, unit)
    yield "Goes on", _pairs(_stands(sheet))
    depth = sheet.depth_cure
    if depth is not None:
        text = (
            f"{depth.depth * 1000:g} mm in the first {shown(depth.time)} at {temp(depth.temp)} "
            f"{unit} and {depth.humidity:g} % humidity, then slower with depth; "
            f"usual bead {depth.bead * 1000:g} mm."
        )
        yield "Curing inwards", [Sentence(text)]
    yield "Amounts", _pairs(_amounts(sheet))
    yield "Storage", _pairs(_storage(sheet, temp, unit))


def _stands(sheet: Sheet) -> Iterator[tuple[str, str | None]]:
    """What it goes on, and what is done to that first."""
    yield "film", sheet.binder
    for row in sheet.stands_on:
        state = "" if row.state is None else f", {row.state}"
        first = ", ".join(row.how) if row.how[0] in ALONE else f"first: {', '.join(row.how)}"
        yield f"{row.what}{state}", f"{first}; {row.note}" if row.note else first


def _limits(
    limits: Limits, phase: Phase, temp: Temp, unit: str, spread: Temp
) -> Iterator[tuple[str, str | None]]:
    """A row a limit; what only counts outdoors stands in one row."""
    outdoors: list[str] = []
    for kind in KINDS:
        if phase not in kind.phases or not kind.form.field:
            continue
        text = _asked(kind, limits, phase, temp, unit, spread)
        if kind.scope != "outdoors":
            yield kind.words.on_sheet, text
        elif text:
            outdoors.append(f"{kind.words.on_sheet} {text}".strip())
    yield "outdoors", ", ".join(outdoors)


def _asked(
    kind: LimitKind, limits: Limits, phase: Phase, temp: Temp, unit: str, spread: Temp
) -> str:
    """What a sheet asks for, '' where it says nothing."""
    asked = {ask.bound: ask.limit for ask in kind.form.asks(limits, phase) if not ask.strict}
    if isinstance(kind.form, Unless):
        return kind.words.kept if asked else kind.words.allowed
    if kind.unit == "°C":
        write, shown_unit = temp, unit
    elif kind.unit == "K":
        write, shown_unit = spread, unit
    else:
        write, shown_unit = _plain if kind.unit == "%" else _three_figures, kind.unit
    return _range(asked.get("min"), asked.get("max"), write, shown_unit) or ""


def _recoats(sheet: Sheet, temp: Temp, unit: str) -> list[Item]:
    items: list[Item] = []
    for recoat in sheet.recoat:
        temps = recoat.temps if recoat.temps is not None else sheet.cure.temps
        over = "itself" if recoat.next == "self" else recoat.next
        items.append(Sentence(f"over it: {over}"))
        rows = [("from", recoat.from_), ("until", recoat.until)]
        items += _table([temp(t) for t in temps], rows, unit)
        items.append(Sentence(_afterwards(recoat)))
    return items


def _afterwards(recoat: Recoat) -> str:
    text = "No upper limit." if recoat.until is None else _AFTER[recoat.after]
    return f"{text} ({recoat.note})" if recoat.note else text


def _amounts(sheet: Sheet) -> Iterator[tuple[str, str | None]]:
    amounts = sheet.amounts
    for name, value, unit in (
        ("coats", amounts.coats, ""),
        ("solids", amounts.volume_solids, " % by volume"),
        ("wet film", amounts.wet_film, " µm"),
        ("dry film", amounts.dry_film, " µm"),
        ("covers", amounts.spreading_rate, " m²/L"),
        ("loss", amounts.loss, " %"),
        ("thinning", amounts.thinning_max, " % at most"),
        ("density", amounts.density, " kg/L"),
        ("solvent", amounts.solvent, " g/L"),
        ("water", amounts.water, " g/L"),
    ):
        yield name, None if value is None else f"{value:.4g}{unit}"
    for name, parts in (("by volume", amounts.mix_by_volume), ("by mass", amounts.mix_by_mass)):
        if parts is not None:
            yield f"mix {name}", " : ".join(f"{part:g}" for part in parts)


def _storage(sheet: Sheet, temp: Temp, unit: str) -> Iterator[tuple[str, str | None]]:
    storage = sheet.storage
    yield "kept at", _range(storage.min, storage.max, temp, unit)
    yield "frost", "spoils it" if storage.frost_spoils else None
    for name, hours in (("unopened", storage.shelf_life), ("opened", storage.shelf_life_opened)):
        if hours is not None:
            yield name, f"{hours / 730.5:.2g} months" if hours >= 730 else f"{hours / 24:.3g} days"


def _pairs(pairs: Iterator[tuple[str, str | None]]) -> list[Item]:
    kept = tuple((name, value) for name, value in pairs if value)
    return [Pairs(kept)] if kept else []


def _table(
    head: Sequence[str], rows: Sequence[tuple[str, Sequence[float] | None]], unit: str
) -> list[Item]:
    """Hours by temperature, without the rows there are none of."""
    kept = tuple((name, tuple(shown(value) for value in hours)) for name, hours in rows if hours)
    return [Table(tuple(f"{text} {unit}" for text in head), kept)] if kept else []


def _range(low: float | None, high: float | None, write: Temp, unit: str) -> str | None:
    if low is None and high is None:
        return None
    if high is None:
        return f"at least {write(low)} {unit}" if low is not None else None
    if low is None:
        return f"up to {write(high)} {unit}"
    return f"{write(low)} to {write(high)} {unit}"


def _three_figures(value: float) -> str:
    return f"{value:.3g}"


def _celsius(temp_c: float) -> str:
    return _plain(temp_c)


def _fahrenheit(temp_c: float) -> str:
    return _plain(temp_c * 1.8 + 32.0)


def _spread_c(kelvin: float) -> str:
    return _plain(kelvin)


def _spread_f(kelvin: float) -> str:
    return _plain(kelvin * 1.8)


def _plain(value: float) -> str:
    return figure(value)
