"""Limits that contradict themselves or were written on the other scale; percentages and amounts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from curewindow.rules.asked import Always, AtLeast, AtMost, Bound, Phase, Unless
from curewindow.rules.limits import KINDS, LimitKind
from curewindow.sheets.checks.result import CheckResult, error, warning
from curewindow.sheets.schema import Amounts, Limits, Sheet

# Ranges no brush-applied product leaves; outside them the figure was most
# likely written on the other scale (50 for 50 °F). Common practice, no source.
_LOWEST_LIMIT_MAX_C = 30.0
_HIGHEST_LIMIT_MAX_C = 60.0
_LOWEST_LIMIT_MIN_C = -13.0
_HIGHEST_LIMIT_MIN_C = 12.0
# Wet film times solids against dry film: nominal figures are rounded.
_FILM_TOLERANCE = 0.3


def check_limits(sheet: Sheet) -> Iterator[CheckResult]:
    """Everything about limits, storage and amounts that one figure or one pair tells."""
    yield from _limits("applying", sheet.applying)
    yield from _limits("setting", sheet.setting)
    if sheet.storage.min is not None and sheet.storage.max is not None:
        yield from _order("storage", {"min": sheet.storage.min, "max": sheet.storage.max}, "°C")
    for temp in sheet.cure.temps:
        if temp > _HIGHEST_LIMIT_MAX_C:
            yield error(
                "cure.temps",
                f"{temp:g} °C is hotter than any cabin; did you mean '{temp:g} °F'?",
            )
    yield from _percent("cure.humidity", sheet.cure.humidity)
    yield from _percent("cure.stops_above_humidity", sheet.cure.stops_above_humidity)
    humid = sheet.cure.humidity
    if sheet.chemistry == "moisture curing" and humid == 0.0:
        yield error("cure.humidity", "0 % cures nothing by moisture; write the table's humidity")
    if sheet.chemistry == "waterborne" and humid == 100.0:
        yield error("cure.humidity", "nothing dries at 100 %; write the table's humidity")
    depth = sheet.depth_cure
    if depth is not None:
        yield from _percent("depth_cure.humidity", depth.humidity)
        for name in ("depth", "time", "bead", "humidity"):
            if not getattr(depth, name) > 0.0:
                yield error(f"depth_cure.{name}", "must be more than 0")
    if sheet.solvent is not None:
        yield from _percent("solvent.lower_explosive_limit", sheet.solvent.lower_explosive_limit)
    yield from _amounts(sheet.amounts)


def _limits(phase: Phase, limits: Limits) -> Iterator[CheckResult]:
    """Each limit by its unit; one that does not count in this phase is told."""
    for kind in KINDS:
        field = kind.form.field
        if not field:
            continue
        key = f"{phase}.{field}"
        bounds = _written(kind, limits, phase)
        if bounds and phase not in kind.phases:
            counts = " and ".join(kind.phases)
            yield warning(key, f"counts only while {counts}; leave it out here")
        yield from _order(key, bounds, kind.unit)
        for bound, value in bounds.items():
            yield from _figure(
                kind,
                bound,
                key if isinstance(kind.form, AtLeast | AtMost) else f"{key}.{bound}",
                value,
            )


def _written(kind: LimitKind, limits: Limits, phase: Phase) -> dict[Bound, float]:
    """The figures a sheet itself writes for a limit."""
    if isinstance(kind.form, Unless | Always):
        return {}
    return {ask.bound: ask.limit for ask in kind.form.asks(limits, phase) if not ask.strict}


def _figure(kind: LimitKind, bound: Bound, key: str, value: float) -> Iterator[CheckResult]:
    if kind.unit == "°C":
        yield from _scale(key, bound, value)
    elif kind.unit == "%":
        if 0.0 < value <= 1.0:
            yield error(key, f"{value:g} % is a share of one; did you mean '{value * 100.0:g} %'?")
        yield from _percent(key, value)
    sane = kind.sane
    written = f"{value:.3g} {kind.unit}"
    if sane is None:
        if kind.unit not in ("°C", "%") and value < 0.0:
            yield error(key, f"{written} cannot be; write 0 {kind.unit} or more")
    elif sane.least is not None and value < sane.least:
        yield error(key, sane.too_low.format(value=written))
    elif sane.usual_most is not None and value > sane.usual_most:
        hint = f"; did you mean '{value:.3g} °F'?" if kind.unit == "K" else ""
        yield warning(key, f"{sane.too_high.format(value=written)}{hint}")


def _order(key: str, bounds: Mapping[Bound, float], unit: str) -> Iterator[CheckResult]:
    low, high = bounds.get("min"), bounds.get("max")
    if low is None or high is None or low <= high:
        return
    yield error(
        f"{key}.min",
        f"{low:.4g} {unit} is above the maximum of {high:.4g} {unit}; swap or correct them",
    )


def _scale(key: str, bound: Bound, value: float) -> Iterator[CheckResult]:
    if bound == "min" and value > _LOWEST_LIMIT_MAX_C:
        yield error(
            key,
            f"a least temperature of {value:.4g} °C shuts out every cabin; "
            f"did you mean '{value:.4g} °F'?",
        )
    elif bound == "min" and value < _LOWEST_LIMIT_MIN_C:
        yield warning(
            key,
            f"a least temperature of {value:.4g} °C is unusually cold; "
            f"did you mean '{_fahrenheit(value):.4g} °C'?",
        )
    elif bound == "max" and value > _HIGHEST_LIMIT_MAX_C:
        yield error(
            key,
            f"a highest temperature of {value:.4g} °C is no limit; did you mean '{value:.4g} °F'?",
        )
    elif bound == "max" and value < _HIGHEST_LIMIT_MIN_C:
        yield warning(
            key,
            f"a highest temperature of {value:.4g} °C is unusually cold; "
            f"did you mean '{_fahrenheit(value):.4g} °C'?",
        )


def _fahrenheit(temp_c: float) -> float:
    return temp_c * 1.8 + 32.0


def _percent(key: str, value: float | None) -> Iterator[CheckResult]:
    if value is not None and not 0.0 <= value <= 100.0:
        yield error(key, f"{value:g} % cannot be; write between 0 % and 100 %")


def _amounts(amounts: Amounts) -> Iterator[CheckResult]:
    for name in ("volume_solids", "loss", "thinning_max"):
        yield from _percent(f"amounts.{name}", getattr(amounts, name))
    for name in ("mix_by_volume", "mix_by_mass"):
        parts: list[float] | None = getattr(amounts, name)
        if parts is not None and (len(parts) < 2 or min(parts) <= 0):
            yield error(
                f"amounts.{name}", "write a part above zero for each component, such as [4, 1]"
            )
    wet, dry, solids = amounts.wet_film, amounts.dry_film, amounts.volume_solids
    if wet and dry and dry > wet:
        yield error(
            "amounts.dry_film", f"{dry:g} µm dry is thicker than {wet:g} µm wet; swap or correct"
        )
    elif wet and dry and solids and abs(wet * solids / 100.0 / dry - 1.0) > _FILM_TOLERANCE:
        yield warning(
            "amounts.dry_film",
            f"{wet:g} µm wet of {solids:g} % solids leaves {wet * solids / 100.0:.0f} µm, "
            f"not {dry:g} µm; check the three",
        )
    rate = amounts.spreading_rate
    # A litre spread w µm thick covers 1000/w square metres: no loss can be below zero.
    if wet and rate and rate > 1.05 * 1000.0 / wet:
        yield warning(
            "amounts.spreading_rate",
            f"{rate:g} m²/L is more than {wet:g} µm wet can give ({1000.0 / wet:.1f} m²/L)",
        )
