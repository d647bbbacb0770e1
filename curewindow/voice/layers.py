"""What is below a coat: what never goes on it, and what is done to it first."""

from __future__ import annotations

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, spoken_of
from curewindow.wording import Wording, span

_WHY_NOT = {
    "lifts": "its solvent lifts and wrinkles it",
    "saponifies": "oil turns to soap on zinc, and the film peels",
    "soft below": "what is below stays soft and washes away, and takes it along",
    "oil below": "oil keeps it from holding",
    "cure stopped": "amines in it stop the cure",
    "nothing holds": "nothing holds on it",
    "weak below": "the joint is only as strong as the paint below",
    "rigid over flexible": "it is rigid, and cracks over what gives way",
    "bleeds": "tar bleeds through it",
    "needs bare steel": "its zinc has to touch clean bare steel",
    "does not soak in": "it cannot soak in",
    "copper on metal": "its copper eats bare metal",
}
_BETTER = {
    "lifts": "let it cure through and try a patch, or take it off",
    "saponifies": "put an epoxy primer between",
    "soft below": "take it off first",
    "oil below": "take the oily wood off down to bare, dry wood, and degrease it",
    "cure stopped": "let it cure through, wash off the bloom, sand it and try a patch",
    "copper on metal": "put an epoxy primer and its tie coat between",
}


def below_text(f: Finding) -> str:
    """'fresh alkyd', 'bare steel', 'alkyd'; 'what is below' where nobody knows."""
    film = f.text("film") or "what is below"
    film = "tar or bitumen" if film == "bituminous" else film
    return f"{f.text('cure')} {film}".strip()


@spoken_of("does not go on")
def _does_not(f: Finding, w: Wording) -> Said:
    below, why = below_text(f), _WHY_NOT.get(f.text("state"), "its data sheet rules it out")
    of = f" of '{f.text('other_job')}'" if f.text("other_job") else ""
    step = "" if f.maybe("count") is None else f"step {round(f.number('count'))}: "
    better = _BETTER.get(f.text("state"), "take it off first, or choose another product")
    return Said(
        f"{step}never over {below}: {why}",
        f"{step}{f.text('product')} never goes on {below}{of}: {why}. What is usual instead: "
        f"{better}; its maker and the data sheets of both decide",
    )


_FIRST = {
    "scrape": "scrape off what is loose",
    "wash": "wash it down with water",
    "degrease": "degrease it",
    "sand": "sand it",
    "prime": "prime it, and let that dry",
    "clean again": "clean the bare steel again, it rusts within a day",
    "tie coat": "give it a tie coat, and let that dry",
    "take off": "take the spoilt coat off, sanded or scraped back to what is sound",
}
_FIRST_ON = {
    ("wash", "epoxy"): "wash off the bloom with water",
    ("wash", "zinc-rich epoxy"): "wash off the white zinc salts",
    ("sand", "hard antifouling"): "wet-sand it",
    ("sand", "eroding antifouling"): "wet-sand it",
    ("prime", "bare wood"): "prime the bare wood, and let that dry",
    ("prime", "bare steel"): "prime the bare steel, and let that dry",
}


@spoken_of("first done to it")
def _first(f: Finding, w: Wording) -> Said:
    do, film = f.text("do_first"), f.text("film")
    text = f"first {_FIRST_ON.get((do, film), _FIRST.get(do, do))} ({span(f.number('hours'))})"
    return Said(text, act=text)


@spoken_of("film of other job soft")
def _other_soft(f: Finding, w: Wording) -> str:
    until = f.moment("until")
    tail = "" if until is None else f" until {w.when(until)}"
    return f"the film of '{f.text('other_job')}' below is too soft{tail}"


@spoken_of("sandable taken")
def _sandable(f: Finding, w: Wording) -> str:
    return (
        f"'{f.text('sheet')}' does not say when it may be sanded: a usual time is taken; try a "
        "corner first"
    )


@spoken_of("test patch first")
def _patch(f: Finding, w: Wording) -> Said:
    film = below_text(f)
    on = f"on {film}"
    text = f"not sure to hold {on}" if f.flag("known") else f"not on the sheet for {film}"
    done = w.by_command("; where it holds write tested = true")
    return Said(
        f"{text}: test patch, or ask the maker",
        f"{text}: put on a test patch ({span(f.number('hours'))}) and let it harden, or ask the "
        f"maker{done}",
        act=f"try a test patch of {f.text('product')} {on}, or ask its maker",
    )


@spoken_of("below not told")
def _unsaid_below(f: Finding, w: Wording) -> str:
    form = w.by_command(": write substrate = 'bare steel' or 'old alkyd, sound'")
    return f"what it goes on is not said{form}"


# ---- what is sanded, what is launched ---------------------------------------


_NOT_CURED = {
    "epoxy": "uncured epoxy can make you allergic for life",
    "isocyanate": "isocyanate that has not reacted can cause asthma for life",
}


@spoken_of("fresh film sanded")
def _fresh_sanded(f: Finding, w: Wording) -> Said:
    why = _NOT_CURED.get(f.text("state"), "it has not cured")
    return Said(
        f"{why}: wet, or not before it has cured",
        f"{f.text('product')} has not cured fully: {why}, and so does its dust. Sand it wet, with "
        "gloves, sleeves and a mask against dust and vapour, or wait until it has cured",
    )


@spoken_of("oily dust")
def _oily_dust(f: Finding, w: Wording) -> Said:
    return Said(
        "dust of oil heats itself: off the boat the same day, under water",
        "dust of a film of drying oil heats itself like its rags: empty bag and vacuum the same "
        "day, off the boat, under water in a closed metal tin",
    )


@spoken_of("antifouling sanded")
def _antifouling_sanded(f: Finding, w: Wording) -> Said:
    return Said(
        "antifouling: wet only, catch it all; mask, gloves, overalls",
        "what is sanded is antifouling, poison by design: never dry. Wet-sand or scrape it wet, "
        "catch and hand in what comes off, mask, gloves and overalls; many places regulate where",
    )


@spoken_of("launch before immersion")
def _launch(f: Finding, w: Wording) -> Said:
    until, at = f.moment("until"), f.time("at")
    then = "not within what is known" if until is None else f"not before {w.when(until)}"
    return Said(
        f"{f.text('job')}: fit for water {then}, launch {w.day(at)}",
        f"{f.text('product')} of '{f.text('job')}' is below the waterline and fit for water "
        f"{then}, but the launch is {w.day(at)}: keep it warmer, or launch later",
    )


@spoken_of("tin past life")
def _past_life(f: Finding, w: Wording) -> Said:
    end = w.date(f.time("at"))
    return Said(
        f"the tin was good until {end}: try it on a scrap, or take a new one",
        f"{f.text('product')}: its tin was good until {end}. Past that it may thicken, stay soft "
        "or not cure: try it on a scrap and let that harden, or take a new one",
    )


@spoken_of("no times for pair")
def _no_times(f: Finding, w: Wording) -> Said:
    if f.text("state") == "none":
        text = "the sheet below gives no times for the next coat: once it has cured, and sanded"
        return Said(text)
    return Said(
        "the sheet gives no times for this pair: those for its own next coat are taken",
        f"the sheet below gives no times for '{f.text('sheet')}': those for another coat of it are "
        "taken; try with a thumb nail first, or ask the maker",
    )


# ---- a coat that is written down --------------------------------------------


@spoken_of("coat took long")
def _took_long(f: Finding, w: Wording) -> str:
    return f"it took {span(f.number('hours'))} by these times: are both right?"


@spoken_of("coat long ago")
def _long_ago(f: Finding, w: Wording) -> str:
    return f"that is {round(f.number('days'))} days ago: is the date right?"


@spoken_of("coat on part")
def _on_part(f: Finding, w: Wording) -> str:
    return (
        f"{f.number('area_m2'):g} m² is {100.0 * f.number('share'):.0f} % of the job: the rest is "
        "taken as coated too; make it a job of its own"
    )


@spoken_of("coat too soon")
def _too_soon(f: Finding, w: Wording) -> Said:
    text = (
        f"only {span(f.number('hours'))} after the last coat, which wants "
        f"{span(f.number('other_hours'))} even at {w.temp(f.number('temp_c'))}"
    )
    return Said(text, f"{text}: put the times right, or look for wrinkles and let both harden")
