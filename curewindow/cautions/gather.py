"""All cautions for a day's work in one place, gravest first, each once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from curewindow.boat.schema import Boat, Heating, Job, Space, Step
from curewindow.cautions.airflow import (
    WetFilm,
    airflow_m3_h,
    confined_cautions,
    vapour_cautions,
)
from curewindow.cautions.fire import fire_cautions
from curewindow.cautions.grade import gravest_first
from curewindow.cautions.products import product_cautions, sanding_cautions
from curewindow.cautions.spaces import heater_cautions, sleeping_cautions
from curewindow.findings import Finding
from curewindow.rules.work import MAKES_DUST
from curewindow.sheets.schema import Sheet


def cautions_for(
    sheets: Iterable[Sheet],
    job: Job,
    space: Space | None,
    boat: Boat,
    heater: Heating | None = None,
    *,
    step: Step | None = None,
    films: Sequence[WetFilm] = (),
) -> list[Finding]:
    """The usual cautions for today's work on a job.

    Parameters
    ----------
    sheets : iterable of Sheet
        All products that are used there today.
    job : Job
        The job.
    space : Space or None
        Where it is; None outdoors.
    boat : Boat
        For the spaces joined to it and their heaters.
    heater : Heating, optional
        A heater that is to be lit there, described in boat.toml or not.
    step : Step, optional
        What is done today; its hands-on time counts for the vapour. Without it a
        sanding step anywhere in the job brings the caution on dust.
    films : sequence of WetFilm
        Films that still give off vapour there, or where air gets to.

    Returns
    -------
    list of Finding
        Gravest first. While one refuses no start may be called go.
    """
    products = list(sheets)
    every = [*products, *(each.sheet for each in films)]
    asked: list[Sheet | None] = [*products] or [None]
    known = all(airflow_m3_h(each, job, step, films) is not None for each in asked)
    found: list[Finding] = list(fire_cautions(every, space, boat, heater, airflow_known=known))
    found += vapour_cautions(products, job, space, step, films)
    found += confined_cautions(products, space, films)
    for sheet in products:
        found += product_cautions(sheet, outdoors=space is None, step=step)
    for film in films:
        found += product_cautions(film.sheet, outdoors=space is None)
    found += sleeping_cautions(every, space, boat)
    sanding = [s for s in ([step] if step is not None else job.step) if _sands(s)]
    if sanding or any("sanding dust" in sheet.hazards for sheet in products):
        found += sanding_cautions(old_film=any(s.do == "prepare" for s in sanding))
    found += heater_cautions(space, boat, heater)
    return gravest_first(found)


def _sands(step: Step) -> bool:
    return step.do in MAKES_DUST or step.between == "sand"
