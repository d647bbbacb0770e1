"""Cautions that a product's hazards bring, wherever it is used.

What is said is common practice of the trade and of safety data sheets, no single
source, unless one is named.
"""

from __future__ import annotations

from collections.abc import Iterator

from curewindow.cautions.caution import Caution, reminder, warning
from curewindow.sheets.schema import Sheet


def product_cautions(sheet: Sheet, outdoors: bool) -> Iterator[Caution]:
    """Cautions from the hazards on one sheet.

    Parameters
    ----------
    sheet : Sheet
        The product.
    outdoors : bool
        Is it used outdoors?

    Yields
    ------
    Caution
    """
    have = set(sheet.hazards)
    name = sheet.name
    if "isocyanate" in have:
        # Regulation (EU) 2020/1149 (REACH restriction 74) asks for training of
        # everyone who uses it at work.
        yield warning(
            "isocyanate",
            "asthma for life: air-fed mask, others off the boat",
            f"{name}: isocyanate can cause asthma for life, also long after the smell has gone, "
            "and a filter mask is not enough in a closed space or when sprayed: air-fed breathing "
            "protection, skin and eyes covered, everyone else off the boat. In many places the "
            "law asks for training before use; without it leave the work to a competent, "
            "licensed practice.",
        )
    if "styrene" in have:
        yield warning(
            "styrene",
            "numbing, gathers low: "
            + ("stay upwind, vapour mask" if outdoors else "draw it out low down, vapour mask"),
            f"{name}: styrene vapour numbs and is heavier than air, so it gathers low in a hull. "
            + (
                "Stay upwind, with an organic vapour mask."
                if outdoors
                else "Forced airflow out of the lowest place, and an organic vapour mask fitted "
                "to your face; go out at the first headache."
            ),
        )
    if "epoxy sensitiser" in have:
        yield warning(
            "epoxy",
            "allergy for good: gloves, sleeves, goggles; sand no soft film",
            f"{name}: uncured epoxy and its hardener can make you allergic for good, and sanding "
            "a film that is not fully cured does it too. Nitrile gloves changed often, sleeves, "
            "goggles; wash with soap and water, never with solvent.",
        )
    if "peroxide" in have:
        yield warning(
            "peroxide",
            "blinds: goggles before you open it, eye wash at hand",
            f"{name}: the peroxide catalyst blinds: goggles on before the bottle is opened, eye "
            "wash within reach. Never let it meet accelerator, metals or rust outside the mix; "
            "it can burn or explode. Soak up spills with something that does not burn and keep "
            "it wet.",
        )
    if "heat in the pot" in have:
        yield reminder(
            "heat in the pot",
            "mix small, spread out flat, leftovers outdoors",
            f"{name}: a full pot heats itself, smokes and can catch fire. Mix small batches, "
            "spread them out flat, and put leftovers outdoors on something that does not burn.",
        )
    if "self-heating rags" in have:
        yield warning(
            "rags",
            "they light themselves: off the boat, flat or under water",
            f"{name}: rags, pads and dust with drying oil heat up by themselves and start fires "
            "hours later. Off the boat the same day, spread out flat to dry outdoors or under "
            "water in a closed metal tin; never in a heap or a bin aboard.",
        )
    if "methanol or oxime vapour" in have:
        yield reminder(
            "vapour",
            "keep air moving through until it has cured",
            f"{name}: gives off methanol or an oxime while it cures; keep air moving through "
            "until it has skinned and cured.",
        )
    if "biocide" in have:
        yield warning(
            "biocide",
            "never sand or scrape it dry; mask, gloves, catch it all",
            f"{name}: antifouling is poison by design. Never sand or scrape it dry; wet it, "
            "catch and hand in what comes off, and wear mask, gloves and overalls. Many places "
            "regulate which may be used and where it may be removed.",
        )
    if "skin irritant" in have:
        yield reminder(
            "skin", "gloves and goggles", f"{name}: irritates skin and eyes; gloves and goggles."
        )


def sanding_cautions(old_film: bool) -> Iterator[Caution]:
    """Cautions for sanding.

    Parameters
    ----------
    old_film : bool
        Is what is sanded possibly an old, unknown film (preparing), not today's own?

    Yields
    ------
    Caution
    """
    yield warning(
        "dust",
        "P3 mask, extraction at the tool, no spark, nothing wet near",
        "Sanding dust harms the lungs, and epoxy, hardwood and old paint dust more than most: a "
        "well-fitting fine dust mask (P3 or better), extraction at the tool, no flame or spark "
        "near, and sweep nothing dry. Nothing wet in the same space.",
    )
    if old_film:
        yield warning(
            "old paint",
            "may hold lead or biocide: test before you sand",
            "Old paint can hold lead or antifouling poison: test before you sand, and if you "
            "cannot rule it out do not sand it dry.",
        )
