"""A slow second look at every film of an order of work: limits, intervals, dust."""

from __future__ import annotations

import numpy as np

from curewindow.boat.effort import hands_on_h
from curewindow.boat.joined import connected_spaces
from curewindow.boat.schema import Job
from curewindow.curing import CureModel, recoat_bounds
from curewindow.order.given import CoatOn
from curewindow.order.walk import OrderFault, PlacedWork, Walk
from curewindow.rules.chance import SHARE_OF_MEMBERS, enough, share_needed
from curewindow.rules.milestones import COVERED, DUST_DRY, HARD, SANDABLE
from curewindow.rules.sleep import bedtime
from curewindow.rules.tins import with_tin
from curewindow.rules.work import MAKES_DUST
from curewindow.windows.after import followed
from curewindow.windows.grid import at_index, position
from curewindow.windows.limits import limit_tracks


def coats(walk: Walk) -> list[OrderFault]:
    """Every film's limits, grid point by grid point, until it has set; sleepers too."""
    faults = []
    for each in walk.done:
        sheet = walk.film(each)
        if sheet is None:
            faults += _outdoors_dry(walk, each)
            continue
        series, job = walk.series[each.job], walk.job[each.job]
        first = round(position(series, each.start))
        last = int(np.ceil(position(series, walk.last_stroke(each))))
        set_at = walk.reached(each, (sheet.setting.until,))
        if set_at is None:
            faults.append(
                OrderFault("limits", each.job, each.start, "not set within what is known")
            )
            continue
        bare = job.bare_wood and not _films_before(walk, each)
        series = with_tin(series, sheet, hands_on_h(walk.step(each), job))
        kept = np.ones(len(series.air_c), np.bool_)
        broken: dict[str, None] = {}
        begun = np.array([float(last)])
        reached = CureModel(sheet, series).milestone_end(sheet.setting.until, begun)[:, 0]
        for phase, limits in (("applying", sheet.applying), ("setting", sheet.setting)):
            for track in limit_tracks(series, limits, phase, bare_wood=bare):  # type: ignore[arg-type]
                for member, until in enumerate(reached):
                    if np.isnan(until):
                        kept[member] = False
                        continue
                    end = last if phase == "applying" else int(np.ceil(until))
                    row = min(member, len(track.margin) - 1)
                    if not (track.margin[row, first : end + 1] >= 0.0).all():
                        kept[member] = False
                        broken[f"{track.name} {track.bound}, {phase}"] = None
        if not enough(kept.mean(), share_needed(series.lead_h[first : first + 1])[0]):
            text = f"a limit of its sheet breaks ({'; '.join(broken) or 'not known until set'})"
            faults.append(OrderFault("limits", each.job, each.start, text))
        step = walk.step(each)
        bed = bedtime(each.start.astimezone(walk.zone).date(), walk.zone)
        if (each.job, step.sheet or "") in walk.given.by_bedtime and set_at > bed:
            faults.append(OrderFault("sleep", each.job, each.start, "wet where someone sleeps"))
        if (each.job, step.sheet or "") in walk.given.refused:
            faults.append(OrderFault("refused", each.job, each.start, "not to be put on there"))
    return faults


def _outdoors_dry(walk: Walk, each: PlacedWork) -> list[OrderFault]:
    series = walk.series[each.job]
    if not series.outdoors:
        return []
    first, last = round(position(series, each.start)), round(position(series, each.end))
    wet = series.rain_mm_h is not None and not enough(
        (series.rain_mm_h[:, first : last + 1] <= 0.0).all(axis=1).mean(), SHARE_OF_MEMBERS
    )
    dark = not walk.given.daylight_ok[first : last + 1].all()
    return [OrderFault("outdoors", each.job, each.start, "dark or wet")] if wet or dark else []


def _films_before(walk: Walk, each: PlacedWork) -> bool:
    if walk.given.stands[each.job].on is not None:
        return True
    return any(e.start < each.start and walk.film(e) is not None for e in walk.of(each.job))


def rows(walk: Walk) -> list[OrderFault]:
    """Each job's own order, and the interval of each coat to the next."""
    faults = []
    for job in walk.given.work.job:
        own = walk.of(job.name)
        film: PlacedWork | None = None
        sanded = False
        place = (0, 0)
        for each in own:
            here = (each.step, each.coat or each.sitting)
            if not each.extra_sanding:
                if here <= place:
                    faults.append(OrderFault("row", job.name, each.start, "steps out of order"))
                place = here
            on = walk.given.stands[job.name].on
            if walk.film(each) is not None:
                if film is not None:
                    faults += _interval(walk, film, each, sanded)
                elif on is not None:
                    faults += _interval_on(walk, on, each, sanded)
                film, sanded = each, False
                continue
            ready = None
            names = SANDABLE if walk.step(each).do in MAKES_DUST else HARD
            if film is not None:
                ready = walk.reached(film, names)
            elif on is not None:
                ready = on.sandable if names is SANDABLE else on.hard
            if (film is not None or on is not None) and (ready is None or each.start < ready):
                faults.append(
                    OrderFault("drying", job.name, each.start, "too soft to be worked on")
                )
            sanded = sanded or walk.step(each).do in MAKES_DUST
    return faults


def _interval(walk: Walk, before: PlacedWork, after: PlacedWork, sanded: bool) -> list[OrderFault]:
    below, coming = walk.film(before), walk.film(after)
    assert below is not None
    assert coming is not None
    stem, step = walk.step(before).sheet, walk.step(after)
    rule = recoat_bounds(below, step.sheet, coming.kind, stem)
    series = walk.series[before.job]
    sands = walk.dusty(after)
    if rule is None:
        ready = walk.reached(before, COVERED)
        if ready is None or after.start < ready or not (sanded or sands):
            return [OrderFault("recoat", after.job, after.start, "the coat below is not cured")]
        return []
    found = followed(
        walk.cure(before),
        np.array([float(round(position(series, before.start)))]),
        np.array([np.ceil(position(series, walk.last_stroke(before)))]),
        rule,
    )[0]
    opens = None if found.recoat_from is None else at_index(series, found.recoat_from)
    closes = None if found.recoat_until is None else at_index(series, found.recoat_until)
    if sands:
        soft = walk.reached(before, SANDABLE)
        opens = None if soft is None or opens is None else max(opens, soft)
    if opens is None or after.start < opens:
        return [OrderFault("recoat", after.job, after.start, "before it may be recoated")]
    hot = step.between == "hot coat" and (after.coat or 1) > 1
    if closes is None or after.start <= closes or ((sanded or sands) and not hot):
        return []
    if hot or rule.recoat.after == "never":
        return [OrderFault("recoat", after.job, after.start, "too late: it may not be missed")]
    if rule.recoat.after == "sand":
        return [OrderFault("recoat", after.job, after.start, "too late without sanding")]
    return []


def _interval_on(walk: Walk, on: CoatOn, after: PlacedWork, sanded: bool) -> list[OrderFault]:
    sands = walk.dusty(after)
    opens = on.opens
    if sands and opens is not None:
        opens = None if on.sandable is None else max(opens, on.sandable)
    if not on.allowed or opens is None or after.start < opens:
        return [OrderFault("recoat", after.job, after.start, "before it may be recoated")]
    late = on.closes is not None and after.start > on.closes and on.missed != "as is"
    if late and (on.missed == "never" or not (sanded or sands)):
        return [OrderFault("recoat", after.job, after.start, "too late without sanding")]
    return []


def dust(walk: Walk) -> list[OrderFault]:
    """No dust where a film is wet, or in spaces joined to it."""
    faults = []
    wet = [
        (e.start, walk.reached(e, DUST_DRY), walk.job[e.job], e)
        for e in walk.done
        if walk.film(e) is not None
    ]
    for each in walk.done:
        if not walk.dusty(each):
            continue
        near = _near(walk, walk.job[each.job])
        for begin, dry, job, film in wet:
            if film is each or job.space not in near:
                continue
            if begin < each.end and (dry is None or each.start < dry):
                text = f"dust would settle in '{job.name}'"
                faults.append(OrderFault("dust", each.job, each.start, text))
        for job in walk.given.work.job:
            on = walk.given.stands[job.name].on
            if on is None or job.name == each.job or job.space not in near:
                continue
            if on.dust_dry is None or each.start < on.dust_dry:
                text = f"dust would settle in '{job.name}'"
                faults.append(OrderFault("dust", each.job, each.start, text))
    return faults


def _near(walk: Walk, job: Job) -> set[str | None]:
    space = None if job.space is None else walk.given.boat.find_space(job.space)
    if space is None:
        return {None}
    return {each.name for each in connected_spaces(walk.given.boat, space)}
