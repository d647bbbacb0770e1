"""Hazards a chemistry brings: the cautions hang on them, so a missing flag is told."""

from __future__ import annotations

import re
from collections.abc import Iterator

from curewindow.rules.solvent import solvent_known, usual_g_l
from curewindow.sheets.checks.result import CheckResult, error, warning
from curewindow.sheets.schema import Hazard, Sheet

# Solvent in a product below this (g/L) is residue, not a solvent-borne product.
# Common practice, no source.
_SOLVENT_BORNE_G_L = 100.0
# Two sources seldom differ by more.
_TOO_HIGH = 2.0
_URETHANE = re.compile(r"urethane|isocyanate|\bPU\b|\bPUR\b", re.IGNORECASE)


def check_hazards(sheet: Sheet) -> Iterator[CheckResult]:
    """Hazards that must or may be missing from the list."""
    have = set(sheet.hazards)

    def must(hazard: Hazard, because: str) -> Iterator[CheckResult]:
        if hazard not in have:
            yield error("hazards", f"'{hazard}' is missing; {because}")

    def may(hazard: Hazard, because: str) -> Iterator[CheckResult]:
        if hazard not in have:
            yield warning("hazards", f"'{hazard}' is not listed; {because}")

    chemistry = sheet.chemistry
    if chemistry == "two-part urethane":
        yield from must("isocyanate", "two-part urethane hardener is one")
    elif chemistry == "moisture curing":
        if _URETHANE.search(f"{sheet.name} {sheet.note}"):
            yield from must("isocyanate", "one-part polyurethane cures by it")
        elif not have & {"isocyanate", "methanol or oxime vapour", "skin irritant"}:
            yield from may(
                "methanol or oxime vapour",
                "silicones and hybrids give it off; polyurethanes need 'isocyanate'",
            )
    elif chemistry == "epoxy amine":
        yield from must("epoxy sensitiser", "epoxy resin and hardener sensitise the skin")
    elif chemistry == "peroxide":
        yield from must("peroxide", "the catalyst is one: it burns eyes and must not meet metals")
        yield from may("styrene", "most polyester resins are thinned with it")
    elif chemistry == "oxidation":
        because = "rags with drying oil heat up by themselves and catch fire"
        yield from (must if sheet.kind == "oil" else may)("self-heating rags", because)
    if sheet.kind == "antifouling":
        yield from may("biocide", "most antifoulings hold one")
    content = sheet.amounts.solvent
    solvent_borne = sheet.solvent is not None or (content or 0.0) >= _SOLVENT_BORNE_G_L
    if chemistry == "solvent release":
        yield from may("flammable solvent", "it dries by solvent leaving")
    elif chemistry != "waterborne" and solvent_borne:
        yield from must("flammable solvent", "the sheet says it gives off solvent")
    if "flammable solvent" in have and sheet.solvent is None:
        yield warning(
            "solvent",
            "is missing; it is taken to be white spirit, which asks for the most air: give name, "
            "lower_explosive_limit and source",
        )
    elif sheet.solvent is not None and (known := solvent_known(sheet.solvent.name)) is not None:
        limit, usual = sheet.solvent.lower_explosive_limit, known.lel_pct
        if limit > _TOO_HIGH * usual:
            yield warning(
                "solvent.lower_explosive_limit",
                f"{limit:g} % is far above what {sheet.solvent.name} has, some {usual:g} %: too "
                "little air would be asked for",
            )
    elif sheet.solvent is not None and sheet.solvent.vapour_per_litre is None:
        yield warning(
            "solvent.vapour_per_litre",
            "is missing, and the name is of no solvent known here; it is taken to ask for as much "
            "air as white spirit does, the most of any",
        )
    if have & {"flammable solvent", "styrene"} and not content:
        yield warning(
            "amounts.solvent",
            f"is missing; {usual_g_l(sheet):g} g/L is taken, on the safe side for such products",
        )
