"""Limits that contradict themselves or were written on the other scale; percentages and amounts."""

from __future__ import annotations

from collections.abc import Iterator

from curewindow.sheets.checks.finding import Finding, error, warning
from curewindow.sheets.schema import Amounts, Limits, PercentRange, Sheet, TempRange

# Ranges no brush-applied product leaves; outside them the figure was most
# likely written on the other scale (50 for 50 °F). Common practice, no source.
_LOWEST_LIMIT_MAX_C = 30.0
_HIGHEST_LIMIT_MAX_C = 60.0
_LOWEST_LIMIT_MIN_C = -13.0
_HIGHEST_LIMIT_MIN_C = 12.0
_DEW_POINT_SPREAD_MAX_K = 8.0
# Wet film times solids against dry film: nominal figures are rounded.
_FILM_TOLERANCE = 0.3


def check_limits(sheet: Sheet) -> Iterator[Finding]:
    """Everything about limits, storage and amounts that one figure or one pair tells."""
    for name, limits in (("applying", sheet.applying), ("setting", sheet.setting)):
        yield from _limits(name, limits)
    if sheet.storage.min is not None and sheet.storage.max is not None:
        yield from _order(
            "storage", TempRange.model_construct(min=sheet.storage.min, max=sheet.storage.max)
        )
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


def _limits(name: str, limits: Limits) -> Iterator[Finding]:
    for part in ("air", "surface", "product", "mixed"):
        span: TempRange = getattr(limits, part)
        yield from _order(f"{name}.{part}", span)
        yield from _scale(f"{name}.{part}", span)
    for part in ("humidity", "wood_moisture"):
        shares: PercentRange = getattr(limits, part)
        yield from _order(f"{name}.{part}", shares)
        for bound, share in (("min", shares.min), ("max", shares.max)):
            if share is not None and 0.0 < share <= 1.0:
                yield error(
                    f"{name}.{part}.{bound}",
                    f"{share:g} % is a share of one; did you mean '{share * 100.0:g} %'?",
                )
        yield from _percent(f"{name}.{part}.min", shares.min)
        yield from _percent(f"{name}.{part}.max", shares.max)
    spread = limits.above_dew_point
    if spread is None:
        return
    if spread < 0:
        yield error(
            f"{name}.above_dew_point",
            f"{spread:g} K is below the dew point; write the height above it, such as '3 K'",
        )
    elif spread > _DEW_POINT_SPREAD_MAX_K:
        yield warning(
            f"{name}.above_dew_point",
            f"{spread:.3g} K above the dew point is unusual (3 K is usual); "
            f"did you mean '{spread:.3g} °F'?",
        )


def _order(key: str, span: TempRange | PercentRange) -> Iterator[Finding]:
    if span.min is None or span.max is None or span.min <= span.max:
        return
    unit = "°C" if isinstance(span, TempRange) else "%"
    yield error(
        f"{key}.min",
        f"{span.min:.4g} {unit} is above the maximum of {span.max:.4g} {unit}; "
        "swap or correct them",
    )


def _scale(key: str, span: TempRange) -> Iterator[Finding]:
    low, high = span.min, span.max
    if low is not None and low > _LOWEST_LIMIT_MAX_C:
        yield error(
            f"{key}.min",
            f"a least temperature of {low:.4g} °C shuts out every cabin; "
            f"did you mean '{low:.4g} °F'?",
        )
    elif low is not None and low < _LOWEST_LIMIT_MIN_C:
        yield warning(
            f"{key}.min",
            f"a least temperature of {low:.4g} °C is unusually cold; "
            f"did you mean '{_fahrenheit(low):.4g} °C'?",
        )
    if high is not None and high > _HIGHEST_LIMIT_MAX_C:
        yield error(
            f"{key}.max",
            f"a highest temperature of {high:.4g} °C is no limit; did you mean '{high:.4g} °F'?",
        )
    elif high is not None and high < _HIGHEST_LIMIT_MIN_C:
        yield warning(
            f"{key}.max",
            f"a highest temperature of {high:.4g} °C is unusually cold; "
            f"did you mean '{_fahrenheit(high):.4g} °C'?",
        )


def _fahrenheit(temp_c: float) -> float:
    return temp_c * 1.8 + 32.0


def _percent(key: str, value: float | None) -> Iterator[Finding]:
    if value is not None and not 0.0 <= value <= 100.0:
        yield error(key, f"{value:g} % cannot be; write between 0 % and 100 %")


def _amounts(amounts: Amounts) -> Iterator[Finding]:
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
