"""Allowed starts of a coat and what follows each of them, as tables by start slot."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Final, Literal
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.curing import CureModel, Law, RecoatRule, milestone_laws, recoat_law
from curewindow.order.given import HeatedStarts
from curewindow.order.heaterruns import HeaterRuns, from_now_on
from curewindow.order.problem import Mode, cut
from curewindow.order.slots import IntArray, Slots, grid_index
from curewindow.rules.chance import enough, share_needed
from curewindow.rules.milestones import COVERED, DUST_DRY, HARD
from curewindow.rules.sleep import bedtime
from curewindow.rules.work import dry_overhead
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.sheets.schema import Milestone, Sheet
from curewindow.windows import Verdict, judge
from curewindow.windows.after import MEMBERS_SHARE

_EPS: Final = 1e-9
STALLED_H: Final = 36.0
"""A film that takes so long from set to hard is worth holding the heat for (estimate)."""


@dataclass(frozen=True, slots=True, eq=False)
class CoatMode:
    """A mode of a coat, with what its later milestones are looked up from.

    Attributes
    ----------
    mode : Mode
    cool, warm : CureModel
        In conditions as they are, and as they are while heat is held for it.
    first_stroke, last_stroke, switch : ndarray of int, shape (K,)
        Grid points: of the start, the end of the hands-on time, and the end of the heat.
    run : ndarray of int, shape (K,)
        Which of the runs in ``warm`` is that of the start's day.
    of_run : int or None
        Members of each of those runs; None: as many as ``cool`` has.
    """

    mode: Mode
    cool: CureModel
    warm: CureModel
    first_stroke: IntArray
    last_stroke: IntArray
    switch: IntArray
    run: IntArray
    of_run: int | None = None
    _known: dict[tuple[object, ...], tuple[IntArray, IntArray | None]] = field(
        init=False, default_factory=dict, repr=False
    )

    def picked(self, keep: BoolArray) -> CoatMode:
        """Some of its starts."""
        return replace(
            self,
            mode=cut(self.mode, keep),
            first_stroke=self.first_stroke[keep],
            last_stroke=self.last_stroke[keep],
            switch=self.switch[keep],
            run=self.run[keep],
        )


def coat_mode(
    slots: Slots,
    sheet: Sheet,
    hands_h: float,
    series: SurfaceSeries,
    *,
    hours_ok: BoolArray,
    daylight_ok: BoolArray,
    bare_wood: bool = False,
    zone: ZoneInfo | None = None,
    level_c: float | None = None,
    as_is: SurfaceSeries | None = None,
    lead_h: float = 0.0,
    runs: HeaterRuns | None = None,
    hold: bool = False,
) -> tuple[CoatMode, Verdict]:
    """All allowed starts of a coat in one course of conditions.

    Parameters
    ----------
    slots : Slots
    sheet : Sheet
    hands_h : float
    series : SurfaceSeries
        What it is judged in.
    hours_ok, daylight_ok : ndarray of bool, shape (T,)
    bare_wood : bool
    zone : ZoneInfo, optional
        Given where the film has to have set by bedtime there.
    level_c : float, optional
        The setpoint ``series`` is held at.
    as_is : SurfaceSeries, optional
        Conditions once the heat is off again; else ``series``.
    lead_h : float
        The heater has to have run so long before the start.
    runs : HeaterRuns, optional
        The runs in ``series``, each for some of the days; else one, lit now.
    hold : bool
        Heat is held until the film is hard, not only until it has set.

    Returns
    -------
    CoatMode
    Verdict
        For the reasons where there is no start.
    """
    verdict = judge(
        series, sheet, hands_h, hours_ok=hours_ok, daylight_ok=daylight_ok, bare_wood=bare_wood
    )
    cool = verdict.model if as_is is None else CureModel(sheet, as_is)
    made = mode_of(
        slots, verdict, cool, zone=zone, level_c=level_c, lead_h=lead_h, runs=runs, hold=hold
    )
    return made, verdict


def mode_of(
    slots: Slots,
    verdict: Verdict,
    cool: CureModel,
    *,
    zone: ZoneInfo | None = None,
    level_c: float | None = None,
    lead_h: float = 0.0,
    runs: HeaterRuns | None = None,
    hold: bool = False,
) -> CoatMode:
    """What :func:`coat_mode` makes of starts that are judged already.

    Parameters
    ----------
    slots : Slots
    verdict : Verdict
    cool : CureModel
        In conditions as they are once the heat is off again.
    zone, level_c, lead_h, runs, hold
        As for :func:`coat_mode`.

    Returns
    -------
    CoatMode
    """
    series, sheet = verdict.series, verdict.sheet
    begin, per = grid_index(slots, series.times)
    at = begin + per * np.arange(slots.count, dtype=np.int64)
    lit_for = from_now_on(slots) if runs is None else runs
    rows = verdict.members // lit_for.runs
    share = verdict.ok.reshape(lit_for.runs, rows, -1).mean(axis=1)[lit_for.run, at]
    good = enough(share, share_needed(series.lead_h[at])) & (share > 0.0)
    lit = lit_for.lit if level_c is not None else np.arange(slots.count)
    hands = slots.needed(verdict.hands_on_h)
    lead = int(np.ceil(lead_h / slots.hours)) if level_c is not None else 0
    lit_long_enough = (lit >= 0) & (np.arange(slots.count) - lit >= lead)
    starts = np.flatnonzero(good & lit_long_enough & _aboard_for(slots.aboard, hands))
    first = at[starts]
    last = verdict.apply_end[first]
    run = lit_for.run[starts]
    ends_at = verdict.setting_end.reshape(lit_for.runs, rows, -1)[run, :, first].T
    set_at = _ordered(ends_at, MEMBERS_SHARE, "slow")
    if zone is not None and starts.size:
        inside = set_at <= _bedtimes(slots, starts, zone) * per + begin
        starts, first, last, set_at, run = (
            values[inside] for values in (starts, first, last, set_at, run)
        )
    # No table falls: of heat that ends later an earlier start may have the more.
    set_at = np.maximum.accumulate(set_at) if set_at.size else set_at
    end = len(series.times) - 1
    made = CoatMode(
        Mode(level_c, *(starts for _ in range(8))),
        cool,
        verdict.model,
        first,
        last,
        np.minimum(set_at, end),
        run,
    )
    warm = lit[starts]
    heat_end = set_at
    if hold:
        made, heat_end = _held_on(made, sheet, set_at, end)
    reached_c = None
    if level_c is not None:
        held_until = np.minimum(heat_end, end)
        reached_c = _reached_c(series, rows, run, begin + per * warm, held_until)
    mode = _mode_of(slots, made, starts, hands, set_at, heat_end, level_c, warm, reached_c)
    return replace(made, mode=mode)


def heated_modes(
    slots: Slots, sheet: Sheet, hands_h: float, as_is: SurfaceSeries, opened: HeatedStarts
) -> list[CoatMode]:
    """Modes of starts that heat opens, one a setpoint, each start in its own heater run.

    Parameters
    ----------
    slots : Slots
    sheet : Sheet
    hands_h : float
    as_is : SurfaceSeries
        Conditions once the heat is off again.
    opened : HeatedStarts

    Returns
    -------
    list of CoatMode
    """
    begin, per = grid_index(slots, as_is.times)
    hands = slots.needed(hands_h)
    slot = (opened.start - begin) // per
    fits = (opened.start >= begin) & ((opened.start - begin) % per == 0)
    here = _aboard_for(slots.aboard, hands)
    fits &= (slot < slots.count) & here[np.clip(slot, 0, slots.count - 1)]
    cool, warm = CureModel(sheet, as_is), CureModel(sheet, opened.series)
    last_of = int(np.ceil(hands_h / as_is.step_h - _EPS))
    end = len(as_is.times) - 1
    found: list[CoatMode] = []
    sets = milestone_laws(sheet, sheet.setting.until)
    for level in np.unique(opened.setpoint_c[fits]).tolist():
        run = np.flatnonzero(fits & (opened.setpoint_c == level))
        run = run[np.argsort(slot[run], kind="stable")]
        first = opened.start[run]
        off = np.minimum(np.maximum.accumulate(opened.end[run]), end)
        starts = slot[run].astype(np.int64)
        made = CoatMode(
            Mode(level, *(starts for _ in range(8))),
            cool,
            warm,
            first,
            first + last_of,
            off,
            run,
            of_run=1,
        )
        set_at = _reached(made, sets, made.last_stroke, "slow")
        set_at = np.maximum.accumulate(np.maximum(set_at, off))
        lit = np.maximum((opened.light[run] - begin) // per, 0).astype(np.int64)
        reached = _reached_c(opened.series, 1, run, opened.light[run], off)
        held, on = _held_on(made, sheet, set_at, end)
        for each, heat_end in ((made, set_at), (held, on)):
            if each is held and not (opened.held_on and stalls(found[-1], slots)):
                continue
            mode = _mode_of(slots, each, starts, hands, set_at, heat_end, level, lit, reached)
            found.append(replace(each, mode=mode))
    return found


def stalls(made: CoatMode, slots: Slots) -> bool:
    """Does hardening stall once the heat is off, in half of the starts?"""
    mode = made.mode
    long = round(STALLED_H / slots.hours)
    return bool(mode.starts.size and np.median(mode.hard - mode.set_until) > long)


def _held_on(made: CoatMode, sheet: Sheet, set_at: IntArray, end: int) -> tuple[CoatMode, IntArray]:
    """The same with heat held until the film is hard, and until when that is."""
    through = replace(made, switch=np.full(made.first_stroke.shape, end, np.int64))
    heat_end = np.maximum(set_at, _named(through, sheet, HARD, set_at))
    heat_end = np.maximum.accumulate(heat_end) if heat_end.size else heat_end
    return replace(made, switch=np.minimum(heat_end, end)), heat_end


def _mode_of(
    slots: Slots,
    made: CoatMode,
    starts: IntArray,
    hands: int,
    set_at: IntArray,
    heat_end: IntArray,
    level_c: float | None,
    lit: IntArray,
    reached_c: FloatArray | None,
) -> Mode:
    """The tables of a mode; ``set_at`` and ``heat_end`` are grid points."""
    sheet = made.cool.sheet
    begin, per = grid_index(slots, made.cool.series.times)
    slot = _to_slots(begin, per, slots.count)
    ends = (starts + hands).astype(np.int64)
    set_until = slot(set_at)
    dust = _named(made, sheet, DUST_DRY, set_at)
    hard = _named(made, sheet, HARD, dust)
    return Mode(
        level_c=level_c,
        starts=starts.astype(np.int64),
        ends=ends,
        set_until=np.maximum(set_until, ends),
        dust_until=np.maximum(slot(dust), ends),
        hard=np.maximum(slot(hard), ends),
        covered=np.maximum(slot(_named(made, sheet, COVERED, None)), ends),
        warm_from=lit.astype(np.int64),
        warm_until=np.maximum(slot(heat_end), ends) if level_c is not None else lit,
        reached_c=reached_c,
    )


def _reached_c(
    series: SurfaceSeries, rows: int, run: IntArray, lit: IntArray, end: IntArray
) -> FloatArray:
    """What the air gets to in each start's heater run, in half of the members, (K,) [°C]."""
    found = np.full(run.shape, np.nan)
    for one, light in sorted(set(zip(run.tolist(), lit.tolist(), strict=True))):
        on = (run == one) & (lit == light)
        held = series.air_c[one * rows : (one + 1) * rows, light : int(end[on].max()) + 1]
        known = held[np.isfinite(held).all(axis=1)]
        if known.size:
            found[on] = float(np.median(known.max(axis=1)))
    return found


def milestone_table(slots: Slots, made: CoatMode, names: tuple[Milestone, ...]) -> IntArray:
    """Slot at or after the first of these milestones the sheet has, for each start."""
    if names not in made._known:
        begin, per = grid_index(slots, made.cool.series.times)
        found = _to_slots(begin, per, slots.count)(_named(made, made.cool.sheet, names, None))
        made._known[names] = np.maximum(found, made.mode.ends), None
    return made._known[names][0]


def recoat_tables(
    slots: Slots, made: CoatMode, rule: RecoatRule
) -> tuple[IntArray, IntArray | None]:
    """Slots from which and by which the next coat may, and must, begin, for each start.

    'From' counts from the last stroke on the slow side, 'until' from the first on the
    quick side.
    """
    key = ("recoat", rule.number)
    if key not in made._known:
        made._known[key] = _recoat_tables(slots, made, rule)
    return made._known[key]


def _recoat_tables(
    slots: Slots, made: CoatMode, rule: RecoatRule
) -> tuple[IntArray, IntArray | None]:
    begin, per = grid_index(slots, made.cool.series.times)
    sheet = made.cool.sheet
    law = recoat_law(sheet, rule, "from")
    opens = made.last_stroke
    if law is not None:
        opens = _reached(made, (law,), made.last_stroke, "slow")
    slot_open = np.maximum(_to_slots(begin, per, slots.count)(opens), made.mode.ends)
    law = recoat_law(sheet, rule, "until")
    if law is None:
        return slot_open, None
    closes = _reached(made, (law,), made.first_stroke, "quick")
    slot_closes = np.minimum((closes - begin) // per, slots.count).astype(np.int64)
    return slot_open, np.minimum.accumulate(slot_closes[::-1])[::-1]


def hands_mode(slots: Slots, hands: int, free: BoolArray) -> Mode:
    """All starts of work without a product: someone aboard (and what ``free`` asks) throughout."""
    starts = np.flatnonzero(_aboard_for(slots.aboard & free, hands)).astype(np.int64)
    ends = starts + hands
    return Mode(None, starts, ends, ends, ends, ends, ends, starts, starts)


def _aboard_for(good: BoolArray, hands: int) -> BoolArray:
    """True for slots from which so many in a row are good."""
    found = np.zeros(good.size, np.bool_)
    if hands <= good.size:
        runs = np.lib.stride_tricks.sliding_window_view(good, hands).all(axis=1)
        found[: runs.size] = runs
    return found


def dry_and_light(slots: Slots, series: SurfaceSeries, daylight_ok: BoolArray) -> BoolArray:
    """Slots in which work outdoors without a product can be done: light and without rain."""
    begin, per = grid_index(slots, series.times)
    good = np.asarray(daylight_ok, np.bool_) & dry_overhead(series)
    window = np.lib.stride_tricks.sliding_window_view(
        good[begin : begin + slots.count * per + 1], per + 1
    )
    return np.asarray(window[::per].all(axis=1), np.bool_)


def _named(
    made: CoatMode, sheet: Sheet, names: tuple[Milestone, ...], otherwise: IntArray | None
) -> IntArray:
    for name in names:
        if sheet.cure.hours(name) is not None:
            return _reached(made, milestone_laws(sheet, name), made.last_stroke, "slow")
    if otherwise is not None:
        return otherwise
    return np.full(made.first_stroke.shape, len(made.cool.series.times), np.int64)


def _reached(
    made: CoatMode, laws: tuple[Law, ...], strokes: IntArray, side: Literal["slow", "quick"]
) -> IntArray:
    """Grid point at which enough members are there; T where that is later than known.

    Warm until the heat is off, then as it is: what is still missing then is made up at
    the pace of the conditions as they are.
    """
    unknown: Literal["stands", "fast"] = "fast" if side == "quick" else "stands"
    latest: IntArray | None = None
    for law in laws:
        warm = made.warm.progress(law, side, unknown)
        cool = warm if made.warm is made.cool else made.cool.progress(law, side, unknown)
        members = len(cool)
        of_run = made.of_run or members
        rows = np.empty((members, strokes.size), np.int64)
        for run in np.flatnonzero(np.bincount(made.run)).tolist():
            on = made.run == run
            for m in range(members):
                rows[m, on] = _one_member(
                    warm[run * of_run + m % of_run],
                    None if cool is warm else cool[m],
                    strokes[on],
                    made.switch[on],
                )
        latest = rows if latest is None else np.maximum(latest, rows)
    assert latest is not None
    if side == "quick":
        points = len(made.cool.series.times)
        latest = np.where(latest < points, latest - 1, points)  # the grid point before it
        return _ordered(latest, 1.0 - MEMBERS_SHARE, "quick")
    return _ordered(latest, MEMBERS_SHARE, "slow")


def _one_member(
    warm: FloatArray, cool: FloatArray | None, strokes: IntArray, switch: IntArray
) -> IntArray:
    """As :func:`_reached` of one member; ``cool`` None: it goes on as it was."""
    points = warm.size
    begun = np.minimum(strokes, points - 1)
    found = np.searchsorted(warm, warm[begun] + 1.0 - _EPS)
    if cool is not None:
        off = np.maximum(np.minimum(switch, points - 1), begun)
        gained = warm[off] - warm[begun]
        late = gained < 1.0 - _EPS
        left = cool[off[late]] + (1.0 - gained[late]) - _EPS
        found[late] = np.maximum(np.searchsorted(cool, left), off[late])
    reached: IntArray = np.where(strokes < points, found, points).astype(np.int64)
    return reached


def _ordered(rows: IntArray, share: float, side: Literal["slow", "quick"]) -> IntArray:
    """Of members (M, K) the one by which so many are there."""
    if len(rows) == 1:
        only: IntArray = rows[0].astype(np.int64)
        return only
    place = (len(rows) - 1) * share
    row = int(np.ceil(place - _EPS)) if side == "slow" else int(np.floor(place + _EPS))
    found: IntArray = np.sort(rows, axis=0)[row].astype(np.int64)
    return found


def _to_slots(begin: int, per: int, count: int) -> Callable[[IntArray], IntArray]:
    """Grid points to the slot that begins at or after them; N for later than known."""

    def convert(points: IntArray) -> IntArray:
        slot = np.minimum(-((begin - points) // per), count).astype(np.int64)
        # A start whose heat lasts longer may catch up with an earlier one: no table falls.
        return np.maximum.accumulate(slot) if slot.size else slot

    return convert


def _bedtimes(slots: Slots, starts: IntArray, zone: ZoneInfo) -> IntArray:
    """Last slot before bedtime on the day of each start."""
    known: dict[int, int] = {}
    found = np.empty(starts.shape, np.int64)
    for k, slot in enumerate(starts.tolist()):
        day = int(slots.day[slot])
        if day not in known:
            known[day] = slots.at_or_before(bedtime(slots.at(slot).astimezone(zone).date(), zone))
        found[k] = known[day]
    return found
