"""A product sheet laid out for a terminal, the way data sheets are printed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from curewindow.cli.text import heading, wrap
from curewindow.sheets.hours import shown
from curewindow.sheets.schema import MILESTONES, Limits, PercentRange, Recoat, Sheet, TempRange
from curewindow.sheets.shelf import LoadedSheet

Temp = Callable[[float], str]

TYPICAL = "Typical of the kind: check your tin."
_AFTER = {
    "sand": "After that: sand first.",
    "never": "After that: never.",
    "as is": "After that: still as it is.",
}


def sheet_page(loaded: LoadedSheet, *, fahrenheit: bool, width: int, colour: bool) -> str:
    """The whole sheet as text.

    Parameters
    ----------
    loaded : LoadedSheet
        The sheet.
    fahrenheit : bool
        Degrees Fahrenheit instead of Celsius.
    width : int
        Columns.
    colour : bool
        May escape codes be used?

    Returns
    -------
    str
    """
    sheet = loaded.sheet
    temp = _fahrenheit if fahrenheit else _celsius
    unit = "°F" if fahrenheit else "°C"
    lines = [heading(line, colour=colour) for line in wrap(sheet.name, width)]
    lines += wrap(
        f"{sheet.kind}, {sheet.chemistry}; {'own' if loaded.own else 'shelf'} sheet "
        f"'{loaded.stem}'; {sheet.basis}",
        width,
    )
    if sheet.typical:
        lines += wrap(TYPICAL, width)
    if sheet.note:
        lines += wrap(sheet.note, width)
    for finding in loaded.warnings:
        lines += wrap(f"warning: {finding.key}: {finding.text}", width, rest="  ")
    for title, body in _sections(sheet, temp, unit, fahrenheit, width):
        if body:
            lines += ["", *(heading(line, colour=colour) for line in wrap(title, width)), *body]
    lines += ["", heading("Cautions", colour=colour), *_cautions(sheet, width)]
    return "\n".join(lines)


def _sections(
    sheet: Sheet, temp: Temp, unit: str, fahrenheit: bool, width: int
) -> Iterator[tuple[str, list[str]]]:
    spread = _spread_f if fahrenheit else _spread_c
    yield "While applying", _pairs(_limits(sheet.applying, temp, unit, spread), width)
    until = f"From then until {sheet.setting.until}"
    yield until, _pairs(_limits(sheet.setting, temp, unit, spread), width)
    working = sheet.working
    if working is not None:
        rows = [
            ("pot life", working.pot_life),
            ("open time", working.open_time),
            ("wait after mixing", working.induction),
            ("clamp", working.clamp),
        ]
        lines = _table([temp(t) for t in working.temps], rows, unit, width)
        if working.pot_life_mass is not None:
            lines += wrap(f"Pot life of a batch of {working.pot_life_mass:g} kg.", width, "  ")
        yield "In the pot and in the hand", lines
    cure = sheet.cure
    rows = [(name, cure.hours(name)) for name in MILESTONES]
    measured = f" at {cure.humidity:g} % humidity" if cure.humidity is not None else ""
    body = _table([temp(t) for t in cure.temps], rows, unit, width)
    if cure.stops_below is not None:
        body += wrap(f"Stops below {temp(cure.stops_below)} {unit}.", width, "  ")
    if cure.stops_above_humidity is not None:
        body += wrap(f"Stops above {cure.stops_above_humidity:g} % humidity.", width, "  ")
    yield f"Hardening{measured}", body
    yield "Next coat", _recoats(sheet, temp, unit, width)
    depth = sheet.depth_cure
    if depth is not None:
        text = (
            f"{depth.depth * 1000:g} mm in the first {shown(depth.time)} at {temp(depth.temp)} "
            f"{unit} and {depth.humidity:g} % humidity, then slower with depth; "
            f"usual bead {depth.bead * 1000:g} mm."
        )
        yield "Curing inwards", wrap(text, width, "  ")
    yield "Amounts", _pairs(_amounts(sheet), width)
    yield "Storage", _pairs(_storage(sheet, temp, unit), width)


def _limits(
    limits: Limits, temp: Temp, unit: str, spread: Temp
) -> Iterator[tuple[str, str | None]]:
    for name in ("air", "surface", "product", "mixed"):
        span: TempRange = getattr(limits, name)
        yield name, _range(span, temp, unit)
    yield "humidity", _range(limits.humidity, _plain, "%")
    if limits.above_dew_point is not None:
        yield "above dew point", f"at least {spread(limits.above_dew_point)} {unit}"
    yield "wood moisture", _range(limits.wood_moisture, _plain, "%")
    outdoors = [
        None if limits.wind_max is None else f"wind up to {limits.wind_max:.3g} m/s",
        "rain allowed" if limits.rain else "no rain",
        None if limits.direct_sun else "no direct sun",
    ]
    yield "outdoors", ", ".join(part for part in outdoors if part)


def _recoats(sheet: Sheet, temp: Temp, unit: str, width: int) -> list[str]:
    lines: list[str] = []
    for recoat in sheet.recoat:
        temps = recoat.temps if recoat.temps is not None else sheet.cure.temps
        over = "itself" if recoat.next == "self" else recoat.next
        lines += wrap(f"over it: {over}", width, "  ")
        rows = [("from", recoat.from_), ("until", recoat.until)]
        lines += _table([temp(t) for t in temps], rows, unit, width)
        lines += wrap(_afterwards(recoat), width, "  ", "  ")
    return lines


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
    yield "kept at", _range(TempRange.model_construct(min=storage.min, max=storage.max), temp, unit)
    yield "frost", "spoils it" if storage.frost_spoils else None
    for name, hours in (("unopened", storage.shelf_life), ("opened", storage.shelf_life_opened)):
        if hours is not None:
            yield name, f"{hours / 730.5:.2g} months" if hours >= 730 else f"{hours / 24:.3g} days"


def _cautions(sheet: Sheet, width: int) -> list[str]:
    lines: list[str] = []
    if sheet.hazards:
        lines += wrap(f"Hazards: {', '.join(sheet.hazards)}.", width, "  ")
    if sheet.solvent is not None:
        lines += wrap(
            f"Vapour: {sheet.solvent.name}, lower explosive limit "
            f"{sheet.solvent.lower_explosive_limit:g} %.",
            width,
            "  ",
        )
    if sheet.typical:
        lines += wrap(TYPICAL, width, "  ")
    lines += wrap(
        "Your product's own data sheet and safety data sheet, and local rules, come first.",
        width,
        "  ",
    )
    for source in sheet.sources:
        lines += wrap(f"source: {source}", width, "  ", "    ")
    return lines


def _pairs(pairs: Iterator[tuple[str, str | None]], width: int) -> list[str]:
    """Name and value in two columns; the value goes on under itself."""
    kept = [(name, value) for name, value in pairs if value]
    if not kept:
        return []
    indent = min(max(len(name) for name, _ in kept) + 4, width // 2)
    lines = []
    for name, value in kept:
        lines += wrap(value, width, f"  {name}".ljust(indent), " " * indent)
    return lines


def _table(
    head: Sequence[str],
    rows: Sequence[tuple[str, Sequence[float] | None]],
    unit: str,
    width: int,
) -> list[str]:
    """Hours by temperature; where the screen is narrow, the columns go on below."""
    kept = [(name, [shown(value) for value in hours]) for name, hours in rows if hours]
    if not kept:
        return []
    label = max(len(name) for name, _ in kept) + 2
    head = [f"{text} {unit}" for text in head]
    cell = max(len(text) for text in (*head, *(t for _, texts in kept for t in texts))) + 2
    at_once = max(1, (width - label) // cell)
    lines = []
    for first in range(0, len(head), at_once):
        part = slice(first, first + at_once)
        if first:
            lines.append("")
        lines.append(" " * label + "".join(text.rjust(cell) for text in head[part]))
        for name, texts in kept:
            lines.append(f"  {name}".ljust(label) + "".join(t.rjust(cell) for t in texts[part]))
    return lines


def _range(span: TempRange | PercentRange, write: Temp, unit: str) -> str | None:
    if span.min is None and span.max is None:
        return None
    if span.max is None:
        return f"at least {write(span.min)} {unit}" if span.min is not None else None
    if span.min is None:
        return f"up to {write(span.max)} {unit}"
    return f"{write(span.min)} to {write(span.max)} {unit}"


def _celsius(temp_c: float) -> str:
    return _plain(temp_c)


def _fahrenheit(temp_c: float) -> str:
    return _plain(temp_c * 1.8 + 32.0)


def _spread_c(kelvin: float) -> str:
    return _plain(kelvin)


def _spread_f(kelvin: float) -> str:
    return _plain(kelvin * 1.8)


def _plain(value: float) -> str:
    return f"{round(value, 1) + 0.0:g}".replace("-", "−")
