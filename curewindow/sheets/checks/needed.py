"""Limits a chemistry always has: a sheet without them was copied out incompletely."""

from __future__ import annotations

from collections.abc import Iterator

from curewindow.sheets.checks.result import CheckResult, error, warning
from curewindow.sheets.schema import ProductKind, Sheet

COATINGS: tuple[ProductKind, ...] = (
    "primer",
    "paint",
    "varnish",
    "oil",
    "gelcoat",
    "antifouling",
)

_WHY_TEMPERATURE = {
    "epoxy amine": "the reaction all but stops in the cold",
    "two-part urethane": "the reaction all but stops in the cold",
    "peroxide": "the peroxide does not start in the cold and the resin stays soft for good",
    "waterborne": "below it the particles do not flow into a film",
    "oxidation": "the film does not take up oxygen in the cold",
}


def check_needed(sheet: Sheet) -> Iterator[CheckResult]:
    """Limits and tables that are missing, given the chemistry and the kind."""
    apply, setting = sheet.applying, sheet.setting
    why = _WHY_TEMPERATURE.get(sheet.chemistry)
    if apply.air.min is None and apply.surface.min is None:
        text = f"{sheet.chemistry} needs a least temperature (applying.surface.min or .air.min)"
        if why is not None:
            yield error("applying.surface.min", f"is missing; {text}: {why}")
        else:
            yield warning("applying.surface.min", f"is missing; {text}")
    humid_min = (apply.humidity.min, setting.humidity.min)
    humid_max = (apply.humidity.max, setting.humidity.max, sheet.cure.stops_above_humidity)
    if sheet.chemistry == "moisture curing":
        if all(value is None for value in humid_min):
            yield error(
                "setting.humidity.min",
                "is missing; moisture curing takes water from the air and needs a least humidity",
            )
        # A glue line between wood takes its water from the wood: there is no bead.
        if sheet.depth_cure is None and apply.wood_moisture.min is None:
            yield warning(
                "depth_cure",
                "is missing; moisture curing goes inwards from the skin: add depth, time, "
                "temp, humidity and bead, or thick beads are judged by the table alone",
            )
    if sheet.chemistry == "waterborne" and all(value is None for value in humid_max):
        yield error(
            "applying.humidity.max",
            "is missing; waterborne products dry by giving off water and need a highest humidity",
        )
    if sheet.chemistry == "solvent release" and all(value is None for value in humid_max):
        yield warning(
            "applying.humidity.max",
            "is missing; solvent leaving chills the film and damp air blooms it",
        )
    if (
        sheet.cure.stops_below is None
        and setting.air.min is None
        and setting.surface.min is None
        and why is not None
    ):
        yield warning(
            "cure.stops_below",
            "is missing, and [setting] has no least temperature: nothing says where curing stops",
        )
    if sheet.cure.sandable_taken() is not None:
        after = "4 times tack_free" if sheet.cure.tack_free else "8 times touch_dry"
        yield warning(
            "cure.sandable",
            f"is missing, handling and light_use too; it is taken to be sandable after {after}",
        )
    if sheet.kind in COATINGS:
        if apply.above_dew_point is None:
            yield warning(
                "applying.above_dew_point",
                "is missing; the usual is '3 K' (ISO 8502-4 guidance)",
            )
        if not sheet.recoat and sheet.amounts.coats != 1:
            yield warning("recoat", "is missing; say when the next coat may and must go on")
    if sheet.chemistry == "waterborne" and not sheet.storage.frost_spoils:
        yield warning(
            "storage.frost_spoils", "is not set; most waterborne products are spoilt by frost"
        )
    if sheet.working and sheet.working.pot_life and sheet.working.pot_life_mass is None:
        yield warning(
            "working.pot_life_mass",
            "is missing; pot life depends on the batch: say how much it was measured with",
        )
