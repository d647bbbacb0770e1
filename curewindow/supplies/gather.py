"""What to buy, worked out from the boat folder: the work, the record, the kept plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from curewindow.boat.folder import RECORD_FILE, load_boat, load_work, own_sheets
from curewindow.boat.service import Tin
from curewindow.cautions.products import sheet_cautions
from curewindow.findings import Finding, finding
from curewindow.order.horizon import likely_weeks, monday_of
from curewindow.order.kept import load
from curewindow.order.plan import Plan
from curewindow.record.store import Record
from curewindow.sheets.schema import Sheet
from curewindow.sheets.shelf import get_sheet
from curewindow.supplies.amounts import batch_for, coat_amount, parts_of, to_buy
from curewindow.supplies.counts import counts_of
from curewindow.supplies.keeping import keeping_of
from curewindow.supplies.left import Key, Left, PlannedAt, left_of
from curewindow.supplies.models import Batch, Group, Product, Share, Supplies
from curewindow.voice.supplies import BY_WEEKS, UNPLANNED, later_text, thinner_text, week_title
from curewindow.wording import Wording

WEEKS = 4


def supplies_for(folder: Path, now: datetime, *, weeks: int = WEEKS) -> Supplies:
    """What to buy for the coming weeks.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware. The record counts up to here.
    weeks : int
        How far to look, where there is a plan; the running week is the first.

    Returns
    -------
    Supplies
        By week as the kept plan has it; where there is none, by job, all that is left.

    Raises
    ------
    CurewindowError
        A hand-written file, a sheet or the record cannot be used.
    ValueError
        ``now`` is not aware, or no week is asked for.
    """
    if now.tzinfo is None:
        raise ValueError(f"now must be aware of its time zone, got {now.isoformat()}")
    if weeks < 1:
        raise ValueError(f"at least one week is looked at, got {weeks}")
    now = now.astimezone(UTC)
    boat = load_boat(folder)
    work = load_work(folder, boat)
    fahrenheit = boat.units.fahrenheit
    words = Wording(ZoneInfo(boat.place.time_zone), now, fahrenheit)
    with Record(folder / RECORD_FILE, read_only=True) as record:
        coats = record.coats(by=now)
        dones = [done for done in record.done() if done.at <= now]
    plan = load(folder).plan
    if plan is not None and not plan.every():
        plan = None
    if plan is not None:
        words = replace(words, known_until=plan.known_until)
    left = left_of(work, coats, dones, {} if plan is None else _planned(plan, words))
    stems = sorted({each.step.sheet for each in left if each.step.sheet is not None})
    sheets = {stem: get_sheet(stem, own_sheets(folder)).sheet for stem in stems}
    tins = [tin for tin in boat.tin if not tin.used_up]
    notes: list[Finding] = []
    later: list[str] = []
    if plan is None:
        groups = [
            _group(job.name, None, [each for each in left if each.job is job], sheets, tins, words)
            for job in work.job
        ]
        notes.append(finding("by job for want of a plan"))
    else:
        groups, later = _by_week(left, sheets, tins, words, weeks)
        notes += _of_plan(plan, left, words)
    groups = [group for group in groups if group.products or group.counts]
    if any(sheets[p.sheet].typical for group in groups for p in group.products):
        notes.append(finding("typical figures"))
    if not left:
        notes.append(finding("nothing to buy"))
    return Supplies(
        boat=boat.name,
        time_zone=boat.place.time_zone,
        temperature_unit="°F" if fahrenheit else "°C",
        as_of=now,
        weeks=weeks,
        known_until=words.known_until,
        plan_made=None if plan is None else plan.made_at,
        groups=groups,
        later=later,
        notes=notes,
    )


def _planned(plan: Plan, words: Wording) -> dict[Key, PlannedAt]:
    found: dict[Key, PlannedAt] = {}
    for step in sorted(plan.steps, key=lambda each: each.start):
        if not step.sanding_for_missed:
            at = PlannedAt(step.start, step.setpoint_c)
            found.setdefault((step.job, step.step, step.coat), at)
    for later in plan.later:
        weeks = likely_weeks(later)
        if weeks is None and plan.all_done is None:
            continue
        # What most seasons do not get to is needed after all that was looked at.
        monday = plan.all_done.until if weeks is None and plan.all_done else weeks and weeks[0]
        assert monday is not None
        start = datetime.combine(monday, time(0), words.zone).astimezone(UTC)
        at = PlannedAt(start, None, weeks or (monday, monday))
        found.setdefault((later.job, later.step, later.coat), at)
    return found


def _of_plan(plan: Plan, left: Sequence[Left], words: Wording) -> list[Finding]:
    """What to say of the plan the weeks come from."""
    notes = [finding("by the plan", at=plan.made_at)]
    missed = {
        e.job.name
        for e in left
        if e.planned and e.planned.weeks is None and e.planned.start < words.now
    }
    if missed:
        notes.append(finding("planned and not logged", names=tuple(sorted(missed))))
    return notes


def _by_week(
    left: Sequence[Left],
    sheets: Mapping[str, Sheet],
    tins: Sequence[Tin],
    words: Wording,
    weeks: int,
) -> tuple[list[Group], list[str]]:
    """A group a week, one for what lies beyond the forecast, one for what the plan has not got.

    And products of later weeks.
    """
    today = words.local(words.now).date()
    this = monday_of(today)
    by_week: dict[date, list[Left]] = {}
    far: list[Left] = []
    unplanned: list[Left] = []
    beyond: dict[str, datetime] = {}
    for each in left:
        if each.planned is None:
            unplanned.append(each)
            continue
        weeks_of = each.planned.weeks
        week = monday_of(max(words.local(each.planned.start).date(), today))
        first = week if weeks_of is None else weeks_of[0]
        if first < this + timedelta(weeks=weeks):
            (far if weeks_of is not None else by_week.setdefault(week, [])).append(each)
        elif each.step.sheet is not None:
            start = each.planned.start
            beyond[each.step.sheet] = min(start, beyond.get(each.step.sheet, start))
    groups = [
        _group(week_title((week - this).days // 7, week), week, by_week[week], sheets, tins, words)
        for week in sorted(by_week)
    ]
    if far:
        groups.append(_group(BY_WEEKS, None, far, sheets, tins, words))
    if unplanned:
        groups.append(_group(UNPLANNED, None, unplanned, sheets, tins, words))
    later = [
        later_text(sheets[stem].name, start, words)
        for stem, start in sorted(beyond.items(), key=lambda item: item[1])
    ]
    return groups, later


def _group(
    title: str,
    week: date | None,
    left: Sequence[Left],
    sheets: Mapping[str, Sheet],
    tins: Sequence[Tin],
    words: Wording,
) -> Group:
    stems = dict.fromkeys(each.step.sheet for each in left if each.step.sheet is not None)
    products = [
        _product(
            stem,
            sheets[stem],
            [each for each in left if each.step.sheet == stem],
            [tin for tin in tins if tin.sheet == stem],
            words,
        )
        for stem in stems
    ]
    batches = {
        (product.sheet, batch.job): batch.batches_a_coat or 1
        for product in products
        for batch in product.batches
    }
    return Group(title=title, week=week, products=products, counts=counts_of(left, sheets, batches))


def _product(
    stem: str, sheet: Sheet, uses: Sequence[Left], tins: Sequence[Tin], words: Wording
) -> Product:
    """All coats of one product that a group has."""
    shares: list[Share] = []
    batches: list[Batch] = []
    notes: list[Finding] = []
    for job in {each.job.name: each.job for each in uses}.values():
        own = [each for each in uses if each.job is job]
        amount = coat_amount(sheet, job)
        starts = [e.planned.start for e in own if e.planned and e.planned.weeks is None]
        litres = None if amount.litres is None else amount.litres * len(own)
        shares.append(
            Share(
                job=job.name,
                coats=len(own),
                litres=None if litres is None else round(litres, 3),
                how=amount.how,
                first_needed=min(starts, default=None),
                last_needed=max(starts, default=None),
            )
        )
        if amount.note is not None:
            notes.append(amount.note)
        held = [e.planned.setpoint_c for e in own if e.planned and e.planned.setpoint_c is not None]
        batch = batch_for(sheet, own[0].step, job, amount.litres, max(held, default=None))
        if batch is not None:
            batches.append(batch)
    known = [share.litres for share in shares if share.litres is not None]
    litres = to_buy(sum(known)) if known else None
    given = sheet.amounts
    thins = given.thinning_max if litres is not None else None
    needed = [each.planned.start for each in uses if each.planned is not None]
    weeks = [each.planned.weeks for each in uses if each.planned and each.planned.weeks]
    return Product(
        sheet=stem,
        name=sheet.name,
        coats=len(uses),
        litres=litres,
        incomplete=len(known) < len(shares),
        kilograms=round(litres * given.density, 2) if litres and given.density else None,
        mix=parts_of(sheet, litres),
        thinner_at_most_l=to_buy(litres * thins / 100.0) if litres and thins else None,
        thinner=thinner_text(sheet.chemistry),
        needed_by=min((s.first_needed for s in shares if s.first_needed), default=None),
        from_week=min((first for first, _ in weeks), default=None),
        until_week=max((last for _, last in weeks), default=None),
        shares=shares,
        batches=batches,
        keeping=keeping_of(
            sheet.storage, tins, min(needed, default=None), max(needed, default=None), words
        ),
        cautions=list(sheet_cautions(sheet)),
        notes=list(dict.fromkeys(notes)),
    )
