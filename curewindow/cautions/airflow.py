"""How much outside air the solvent of coats asks for."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from curewindow.boat.amount import product_litres
from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job, Space, Step
from curewindow.cautions.fire import flammable
from curewindow.findings import Finding, finding
from curewindow.physics.vapour import dilution_airflow
from curewindow.rules.application import application_of
from curewindow.rules.sleep import not_to_sleep_over
from curewindow.rules.solvent import given_off
from curewindow.rules.vapour import CONFINED_M3, LEFT_AT_TOUCH_DRY, within_reach
from curewindow.sheets.schema import Sheet

# Where someone works in the space; see physics.vapour.
_SHARE_OF_LEL = 0.1
# Air in a boat goes past corners and bilges: 3 to 10 is common practice, no source.
_MIXING = 5.0
# Sheets give solvent by mass. The lightest usual solvent (naphtha, 0.74 kg/L; US 29
# CFR 1910.94 table G-11, from memory) makes the most litres of it: the safe side.
_SOLVENT_KG_L = 0.74
_SHORTEST_H = 0.25
# Share of what a spray gun uses that ends on the surface; the rest is vapour and dust. Guns with
# air reach 25 to 65 % (65 % is what South Coast AQMD rules ask of a good one; from memory).
_SPRAYED_ON = 0.3


@dataclass(frozen=True, slots=True)
class WetFilm:
    """A film that is on and still gives off vapour where the work is, or near it.

    Attributes
    ----------
    sheet : Sheet
    job : Job or None
        Its own, for area and amount; None: it has left the work list, and how much is on
        nobody knows.
    share : float
        So much of its solvent is still in it.
    """

    sheet: Sheet
    job: Job | None
    share: float = 1.0


def solvent_airflow_m3_h(sheet: Sheet, job: Job, step: Step | None) -> float | None:
    """Outside air that keeps a coat's vapour at a tenth of the lower explosive limit.

    Parameters
    ----------
    sheet : Sheet
        The product.
    job : Job
        For area and amount.
    step : Step or None
        How it is put on, and the hands-on time, in which all solvent is taken to leave: the
        safe side. A bead is too thick for that, it takes until it has skinned; and of what is
        sprayed much never gets to the surface, so that more is used.

    Returns
    -------
    float or None
        m³/h; None where sheet or job do not say how much of the product it takes. What the
        sheet does not say of its solvent is taken as usual, see `rules.solvent`.
    """
    hours = max(hands_on_h(step, job) if step is not None else 1.0, _SHORTEST_H)
    application = application_of(step, sheet)
    if application == "bead":
        return _airflow(sheet, job, min(1.0 / hours, _leaving_an_hour(sheet)))
    used = 1.0 / _SPRAYED_ON if application == "spray" else 1.0
    return _airflow(sheet, job, used / hours)


def film_airflow_m3_h(film: WetFilm) -> float | None:
    """The same for a film that is on: what leaves it falls off as its solvent does."""
    if film.job is None:
        return None
    return _airflow(film.sheet, film.job, film.share * _leaving_an_hour(film.sheet))


def films_airflow_m3_h(films: Sequence[WetFilm]) -> float | None:
    """The same for all films that are on: 0 where none gives off vapour that burns."""
    return _sum([film_airflow_m3_h(each) for each in films if flammable(each.sheet)])


def airflow_m3_h(
    sheet: Sheet | None, job: Job, step: Step | None, films: Sequence[WetFilm]
) -> float | None:
    """Outside air for all that gives off vapour at a time: a coat, and films that are on.

    Parameters
    ----------
    sheet : Sheet or None
        What is put on; None: nothing.
    job : Job
    step : Step or None
    films : sequence of WetFilm

    Returns
    -------
    float or None
        m³/h, 0 where nothing gives off any; None where it cannot be worked out for all.
    """
    own = solvent_airflow_m3_h(sheet, job, step) if sheet is not None and flammable(sheet) else 0.0
    return _sum([films_airflow_m3_h(films), own])


def vapour_cautions(
    sheets: Sequence[Sheet],
    job: Job,
    space: Space | None,
    step: Step | None,
    films: Sequence[WetFilm] = (),
) -> Iterator[Finding]:
    """What to say about the air that solvent-borne products need indoors.

    Parameters
    ----------
    sheets : sequence of Sheet
        What is put on.
    job : Job
    space : Space or None
        None: outdoors.
    step : Step or None
    films : sequence of WetFilm
        Films that are on in the space, or in one joined to it.

    Yields
    ------
    Finding
        How much air for each product at hand, with that of the films; one that refuses where
        nobody can make so much for the product alone.
    """
    if space is None:
        return
    used = [each for each in sheets if flammable(each)]
    on = [each for each in films if flammable(each.sheet)]
    others = tuple(dict.fromkeys(each.sheet.name for each in on))
    for sheet in used:
        flow = airflow_m3_h(sheet, job, step, on)
        own = solvent_airflow_m3_h(sheet, job, step)
        if own is not None and not within_reach(own, space.volume):
            yield finding(
                "airflow out of reach",
                product=sheet.name,
                space=space.name,
                flow_m3_h=_rounded_up(own),
                air_changes_h=own / space.volume if space.volume else None,
                refuses=True,
            )
        yield _airflow_finding(sheet.name, others, space, flow, sheet)
    if not used and on:
        flow = films_airflow_m3_h(on)
        yield _airflow_finding(on[0].sheet.name, others, space, flow, on[0].sheet)


def confined_cautions(
    sheets: Sequence[Sheet], space: Space | None, films: Sequence[WetFilm] = ()
) -> Iterator[Finding]:
    """A locker in which vapour gathers is worked in with someone at its hatch."""
    if space is None or not space.volume or space.volume > CONFINED_M3:
        return
    if any(not_to_sleep_over(each) for each in [*sheets, *(film.sheet for film in films)]):
        yield finding("confined space", space=space.name, volume_m3=space.volume)


def _airflow_finding(
    name: str, others: tuple[str, ...], space: Space, flow: float | None, sheet: Sheet
) -> Finding:
    changes = flow / space.volume if flow is not None and space.volume else None
    return finding(
        "airflow for vapour",
        product=name,
        products=tuple(each for each in others if each != name) or None,
        space=space.name,
        flow_m3_h=None if flow is None else _rounded_up(flow),
        air_changes_h=changes,
        thing=None if flow is None or sheet.solvent is None else sheet.solvent.name,
        known=flow is not None and not given_off(sheet).taken,
    )


def _sum(flows: list[float | None]) -> float | None:
    known = [each for each in flows if each is not None]
    return sum(known) if len(known) == len(flows) else None


def _leaving_an_hour(sheet: Sheet) -> float:
    """Share of a film's solvent that leaves in an hour at first, in its quickest column."""
    cure = sheet.cure
    dry = cure.touch_dry or cure.tack_free or cure.hours(sheet.setting.until) or [1.0]
    return -math.log(LEFT_AT_TOUCH_DRY) / max(min(dry), _SHORTEST_H)


def _airflow(sheet: Sheet, job: Job, share_an_hour: float) -> float | None:
    """Air for the solvent of a coat, of which a share leaves an hour."""
    litres = product_litres(sheet, job)
    if litres is None:
        return None
    solvent = given_off(sheet)
    rate = litres * solvent.content_g_l / 1000.0 / _SOLVENT_KG_L * share_an_hour
    vapour, limit = solvent.vapour_m3_per_l, solvent.lel_pct
    return dilution_airflow(rate, vapour, limit, _SHARE_OF_LEL, _MIXING)


def _rounded_up(flow: float) -> float:
    """Two figures are all the estimate is good for, rounded to more air."""
    step = 1.0
    while flow / step > 100.0:
        step *= 10.0
    return -(-flow // step) * step
