"""Fire, vapour, dust and who sleeps over them, in words.

Common practice of the trade and of safety data sheets, no single source, unless one is named.
"""

from __future__ import annotations

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, and_all, spoken_of
from curewindow.wording import Wording


def _of(f: Finding) -> str:
    """The products it is of: 'Oil varnish and Etch primer'."""
    return and_all(f.texts("products"))


def _stands(f: Finding) -> str:
    """'in the saloon', with the space it is joined to."""
    joined = f.text("other_space")
    return f"in the {f.text('space')}" + (f", joined to the {joined}," if joined else "")


# ---- fire --------------------------------------------------------------------


_IGNITES = {
    "open flame": "has an open flame or pilot light",
    "glowing": "has a glowing element",
    "stove": "is a stove over embers",
    "no flue": "burns without a flue",
}


@spoken_of("ignition over vapour")
def _ignition(f: Finding, w: Wording) -> Said:
    heater, space = f.text("heater"), f.text("space")
    why = _IGNITES.get(f.text("state"), "can light it")
    return Said(
        f"the {heater} heater in the {space} lights its vapour",
        f"{_of(f)}: the vapour is flammable and can explode, and the {heater} "
        f"heater {_stands(f)} {why}. What is usual instead: heat the space through beforehand, "
        "then put the heater out, pilot light and fuel supply too, let it go cold, air the space "
        "and keep it out until the vapour has gone; or heat with a source that has no flame and "
        "nothing glowing where the vapour gets to; or choose a solvent-free product",
    )


_OFF = (
    "shut the gas at the bottle or switch it off at the main, let it go cold, and write off = true "
    "for it in boat.toml"
)


@spoken_of("flame over vapour")
def _flame(f: Finding, w: Wording) -> Said:
    how = "lights itself" if f.text("state") == "by itself" else "burns in the cabin's air"
    return Said(
        f"the {f.text('thing')} in the {f.text('space')} lights its vapour",
        f"{_of(f)}: the vapour is flammable and can explode, and the "
        f"{f.text('thing')} {_stands(f)} {how}. What is usual instead: {_OFF}; keep it out until "
        "the vapour has gone; or choose a solvent-free product",
    )


@spoken_of("spark over vapour")
def _spark(f: Finding, w: Wording) -> Said:
    thing, space = f.text("thing"), f.text("space")
    itself = f.text("state") == "by itself"
    how = "starts by itself and sparks" if itself else "sparks when it is used"
    do = (
        f"switch the {thing} {_stands(f)} off at the main before the tin is opened, and "
        f"leave it off until the vapour has gone: it {how}"
    )
    if not f.flag("refuses"):
        return Said(
            f"{thing} in the {space} off at the main till its vapour is gone", f"{_of(f)}: {do}"
        )
    return Said(
        f"the {thing} in the {space} sparks, and the air its vapour needs is not known",
        f"{_of(f)}: {do}; and how much air keeps the vapour far from burning cannot be worked out. "
        "Give area or amount of the job and the solvent figures of the sheet; or take it out of "
        f"the space: {_OFF}, its routine too",
    )


@spoken_of("flammable vapour")
def _vapour(f: Finding, w: Wording) -> Said:
    names = _of(f)
    if f.flag("outdoors") and f.text("heater"):
        return Said(
            "no flame or spark near; heater out first, then hatches and vents shut",
            f"{names}: no flame, spark or cigarette near; put the {f.text('heater')} heater, which "
            "has no flue, out first and let it go cold, then shut hatches and vents so that the "
            "vapour, which is heavier than air, does not sink into the cabin: with the vents shut "
            "it never burns",
        )
    if f.flag("outdoors"):
        return Said(
            "no flame or spark near, hatches and vents shut",
            f"{names}: no flame, spark or cigarette near; shut hatches and vents so that the "
            "vapour, which is heavier than air, does not sink into a heated cabin",
        )
    burner = (
        ". A heater with a closed flame draws its combustion air from outside only"
        if f.text("heater")
        else ""
    )
    return Said(
        "no flame or spark in joined spaces until its vapour is gone",
        f"{names}: no flame, cooker, pilot light, switch, tool or lamp that can spark in any space "
        "joined to it until the vapour has gone; it is heavier than air and gathers in the bilge"
        f"{burner}",
    )


@spoken_of("self-heating rags")
def _rags(f: Finding, w: Wording) -> Said:
    return Said(
        "oily rags light themselves: off the boat, flat or under water",
        f"{f.text('product')}: take rags, pads and dust off the boat the same day; spread them out "
        "flat to dry outdoors, or put them under water in a closed metal tin, never in a heap or a "
        "bin aboard. With drying oil they heat up by themselves and start fires hours later; once "
        "they are gone, log the coat as 'cleared'",
    )


@spoken_of("heat in the pot")
def _pot(f: Finding, w: Wording) -> Said:
    return Said(
        "catches fire: small batches, leftovers outdoors",
        f"{f.text('product')}: mix small batches, spread them out flat, and put leftovers outdoors "
        "on something that does not burn. A full pot heats itself, smokes and can catch fire",
    )


@spoken_of("drier over vapour")
def _drier(f: Finding, w: Wording) -> Said:
    return Said(
        "no dehumidifier while vapour is about",
        "run no dehumidifier while solvent vapour is about: it may spark, and it only turns the "
        "same air round",
    )


# ---- what is breathed --------------------------------------------------------


@spoken_of("isocyanate")
def _isocyanate(f: Finding, w: Wording) -> Said:
    product, state = f.text("product"), f.text("state")
    if state == "bead":
        return Said(
            "a bead: gloves, air moving; who has asthma keeps away",
            f"{product}: gloves, bare no skin, keep air moving through until it has skinned, never "
            "heat the bead with a flame or gun; whoever has asthma or has reacted to isocyanate "
            "before keeps away. A bead from a cartridge gives off little isocyanate, and a little "
            "can cause asthma for life",
        )
    if state == "spray" and f.flag("refuses"):
        return Said(
            "sprayed: not without air-fed breathing apparatus",
            f"{product}: not sprayed without air-fed breathing apparatus and someone trained in "
            "its use: sprayed isocyanate causes asthma for life, and no filter mask holds it back. "
            "Leave it to a competent, licensed practice, or put it on by brush or roller; where "
            "both are there, write air_fed = true in the step",
        )
    if state == "spray":
        return Said(
            "sprayed: air-fed apparatus on till the mist is gone, others away",
            f"{product}: air-fed breathing apparatus on from before the gun is opened until the "
            "mist has been drawn out, skin and eyes covered, everyone else off the boat and out of "
            "the shed. Sprayed isocyanate causes asthma for life; in many places the law asks for "
            "training and health checks, and comes first",
        )
    # Regulation (EU) 2020/1149 (REACH restriction 74) asks for training of everyone who
    # uses it at work.
    return Said(
        "asthma for life: air-fed mask, others off the boat",
        f"{f.text('product')}: wear air-fed breathing protection, cover skin and eyes, everyone "
        "else off the boat. Isocyanate can cause asthma for life, also long after the smell has "
        "gone, and a filter mask is not enough in a closed space or when sprayed. In many places "
        "the law asks for training before use: without it leave the work to a competent, licensed "
        "practice",
    )


@spoken_of("spray mist")
def _mist(f: Finding, w: Wording) -> Said:
    out = f.flag("outdoors")
    away = "upwind, nobody near downwind" if out else "mist drawn out by a fan that cannot spark"
    return Said(
        "mist burns and is breathed: mask, no spark, nobody near",
        f"{f.text('product')}: sprayed it hangs in the air as a mist that is breathed deep and "
        "that a spark lights even where the tin would not burn: the mask the data sheet names "
        f"(vapour and particles, A2P3 at least), {away}, all that sparks off, nobody else about",
    )


@spoken_of("styrene")
def _styrene(f: Finding, w: Wording) -> Said:
    out = f.flag("outdoors")
    do = (
        "stay upwind, with an organic vapour mask"
        if out
        else "draw the air out of the lowest place with a fan, and wear an organic vapour mask "
        "fitted to your face; go out at the first headache"
    )
    return Said(
        "numbs: stay upwind, vapour mask" if out else "numbs: draw it out low down, vapour mask",
        f"{f.text('product')}: {do}. Styrene vapour numbs and is heavier than air, so it gathers "
        "low in a hull",
    )


_STAYS = (
    "This holds down the danger of fire only: far less harms people; the vapour is heavier than "
    "air and gathers low, so draw air out of the lowest place, let fresh air in opposite, use a "
    "fan that cannot spark, and wear the mask the data sheet names"
)


def _often(f: Finding) -> str:
    """', 12 times its air every hour', where the size of the space is known."""
    changes = f.maybe("air_changes_h")
    return "" if changes is None else f", {changes:.0f} times its air every hour"


@spoken_of("airflow for vapour")
def _airflow(f: Finding, w: Wording) -> Said:
    name, space, flow = f.text("product"), f.text("space"), f.maybe("flow_m3_h")
    if flow is None:
        return Said(
            f"strong draught through the {space} until dry",
            f"{name}: keep a strong draught through the {space} while it is put on and until it is "
            "dry; how much air its vapour needs cannot be worked out: the job lacks its area or "
            f"amount, or the sheet its spreading rate. {_STAYS}",
        )
    of = f" ({f.text('thing')})" if f.text("thing") else ""
    if not f.flag("known"):
        of += (
            ", by the solvent usual in such products, on the safe side, as its sheet lacks figures"
        )
    others = f.texts("products")
    name += f", with {and_all(others)} still giving off vapour" if others else ""
    return Said(
        f"at least {flow:.0f} m³/h of outside air through the {space} until dry",
        f"{name}: at least {flow:.0f} m³/h of outside air through the {space}{_often(f)}, from "
        "opening the tin until it is dry, to stay below a tenth of the lower explosive limit"
        f"{of}. {_STAYS}",
    )


@spoken_of("airflow out of reach")
def _out_of_reach(f: Finding, w: Wording) -> Said:
    flow = f.number("flow_m3_h")
    return Said(
        f"its vapour wants {flow:.0f} m³/h: no fan makes that",
        f"{f.text('product')}: its vapour wants {flow:.0f} m³/h of outside air through the "
        f"{f.text('space')}{_often(f)}, to stay below a tenth of the lower explosive limit, and no "
        "fan aboard makes that. What is usual instead: less at a time, over more hours; a "
        "solvent-free product; or the piece taken out of the space",
    )


@spoken_of("confined space")
def _confined(f: Finding, w: Wording) -> Said:
    space = f.text("space")
    return Said(
        f"not alone in the {space}: someone at its hatch",
        f"the {space} holds {f.number('volume_m3'):.2g} m³ and counts as a confined space: never "
        "alone, someone stays at the hatch who can call for help and does not climb in after you; "
        "air blown in before and all the while, a way out that stays free; out at the first "
        "headache. Where a rule of the place or a licence is asked for, it comes first",
    )


@spoken_of("too little air for vapour")
def _too_little(f: Finding, w: Wording) -> Said:
    flow = f.maybe("flow_m3_h")
    asks = "a strong draught" if flow is None else f"at least {flow:.0f} m³/h"
    return Said(
        f"too little air for {f.text('job')}: {asks} until dry",
        f"{f.text('job')}: this is too little air for its vapour, which needs {asks} while it is "
        "put on and until it is dry: air then, and heat again after",
    )


@spoken_of("methanol or oxime vapour")
def _curing(f: Finding, w: Wording) -> Said:
    return Said(
        "keep air moving through until it has cured",
        f"{f.text('product')}: keep air moving through until it has skinned and cured; it gives "
        "off methanol or an oxime meanwhile",
    )


@spoken_of("sleepers over vapour")
def _sleepers(f: Finding, w: Wording) -> Said:
    where = and_all(f.texts("spaces"))
    return Said(
        f"nobody in the {where} until it is hard and aired",
        f"{_of(f)}: nobody sleeps in the {where} until the film has hardened "
        "and the space has been aired through",
    )


@spoken_of("sleepers apart from vapour")
def _sleepers_apart(f: Finding, w: Wording) -> Said:
    return Said(
        "better nobody aboard overnight",
        f"{_of(f)}: better nobody sleeps aboard overnight; vapour finds its way",
    )


@spoken_of("sleepers not known")
def _sleepers_unknown(f: Finding, w: Wording) -> Said:
    return Said(
        "boat.toml does not say where: nobody aboard until it is hard",
        f"{_of(f)}: boat.toml does not say where someone sleeps, so "
        "nobody sleeps aboard until the film has hardened and the boat has been aired through; "
        "write slept_in = true or false for each space",
    )


@spoken_of("nobody sleeps here tonight")
def _tonight(f: Finding, w: Wording) -> Said:
    where = f"in the {f.text('space')}" if f.text("space") else "aboard"
    until = f.moment("until")
    over = "the weather known does not tell when" if until is None else f"until {w.when(until)}"
    return Said(
        f"nobody sleeps {where} tonight",
        f"nobody sleeps {where} tonight: {_of(f)} will still give off "
        f"vapour at bedtime, {over}; then air it through first",
    )


@spoken_of("sanding dust")
def _dust(f: Finding, w: Wording) -> Said:
    return Said(
        "P3 mask, extraction at the tool, no spark, nothing wet near",
        "wear a well-fitting fine dust mask (P3 or better), extract at the tool, no flame or spark "
        "near, sweep nothing dry, nothing wet in the same space. Sanding dust harms the lungs, "
        "that of epoxy, hardwood and old paint more than most",
    )


@spoken_of("old paint")
def _old(f: Finding, w: Wording) -> Said:
    return Said(
        "may hold lead or biocide: test before you sand",
        "test old paint before you sand it: it can hold lead or antifouling poison; if you cannot "
        "rule that out do not sand it dry",
    )
