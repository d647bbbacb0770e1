"""From what was typed to what is recorded: names checked, times read, defaults filled in."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from curewindow.boat.aboard import Aboard
from curewindow.boat.folder import (
    RECORD_FILE,
    WORK_FILE,
    job_by_name,
    load_work,
    own_sheets,
    space_by_name,
)
from curewindow.boat.schema import Boat, Job
from curewindow.errors import NotDueError, NotFoundError, QuantityError, SheetError
from curewindow.nearest import nearest_or_all
from curewindow.quantity import PERCENT, TEMPERATURE, QuantityKind, parse
from curewindow.record.entries import Coat, Done, Found, Heat, Inspection, Item, Reading, Wiped
from curewindow.record.heat import with_heat
from curewindow.record.plausible import CLOCK_SLACK
from curewindow.record.spoilt import counting, still_done
from curewindow.record.store import Record
from curewindow.wording import Wording, moment

if TYPE_CHECKING:
    from curewindow.cautions.logged import Recorded
    from curewindow.findings import Finding
    from curewindow.record.importing import ImportResult

OUTDOORS = "outdoors"


def open_record(aboard: Aboard, *, read_only: bool = False) -> Record:
    """The record of the boat folder."""
    return Record(aboard.folder / RECORD_FILE, read_only=read_only)


def of_space(record: Record, space: str | None, last: int) -> list[Item]:
    """What stands of one space, or of all: readings, its heater, what was wiped dry there."""
    return [
        *record.readings(space, last=last, doubted=True),
        *record.heat(space, last=last),
        *[each for each in record.wiped(space=space) if each.space is not None][-last:],
    ]


def of_job(record: Record, job: str | None, last: int) -> list[Item]:
    """What stands of one job, or of all: coats, steps, what was looked at, sanded, wiped dry."""
    return [
        *record.coats(job, last=last),
        *record.done(job, last=last),
        *[each for each in record.wiped(job=job) if each.job is not None][-last:],
        *record.inspections(job, last=last),
    ]


def unused_of(
    aboard: Aboard, record: Record, kept: Item, clock: datetime | None = None
) -> list[Finding]:
    """What of a reading just written is kept and not used, and of those beside it."""
    if not isinstance(kept, Reading):
        return []
    from curewindow.logbook.doubting import KnownAround, look_over
    from curewindow.record.marking import marks_said

    around = KnownAround(aboard.folder, aboard.boat, record, clock or aboard.now)
    return marks_said(look_over(record, around, [kept.space], kept.at, kept.at))


def unused_of_import(aboard: Aboard, record: Record, result: ImportResult) -> list[Finding]:
    """What of an import is kept and not used."""
    if result.first is None or result.last is None:
        return []
    from curewindow.logbook.doubting import KnownAround, look_over
    from curewindow.record.marking import marks_said

    around = KnownAround(aboard.folder, aboard.boat, record, aboard.now)
    return marks_said(look_over(record, around, result.spaces, result.first, result.last))


def past(text: str | None, aboard: Aboard) -> datetime:
    """Read a time that is over; a weekday is the last one, not the coming one.

    Raises
    ------
    QuantityError
        Not a time, or one still to come.
    """
    if text is None:
        return aboard.now
    latest = aboard.now + CLOCK_SLACK
    at = moment(text, aboard.wording.zone, aboard.now, before=latest)
    if at > latest:
        raise QuantityError(
            f"'{text}' is still to come (it is {aboard.wording.when(aboard.now)}); "
            "only what happened is recorded"
        )
    return at


def ahead(text: str | None, start: datetime, aboard: Aboard) -> datetime:
    """Read until when a heater is to be held; a weekday is the coming one.

    Raises
    ------
    QuantityError
        Not given, not a time, or not after ``start``.
    """
    if text is None:
        raise QuantityError(
            "until when is it to be held?",
            by_command="write --until 'Tue 02:20'",
            on_page="write it like 'Tue 02:20'",
        )
    # counted from when it was lit: that may be written down days later
    coming = start + timedelta(minutes=1)
    at = moment(text, aboard.wording.zone, start, after=coming)
    if at <= start:
        raise QuantityError(
            f"'{text}' is {aboard.wording.when(at)}, not after "
            f"{aboard.wording.when(start)}, when it was lit",
            by_command="write the later time with --until",
        )
    return at


def heated_space(boat: Boat, name: str) -> str:
    """A space with a heater.

    Raises
    ------
    NotFoundError
        No such space.
    QuantityError
        No heater there.
    """
    named = known_space(boat, name)
    space = boat.find_space(named)
    if space is None or space.heating is None:
        raise QuantityError(f"there is no heater in '{named}' by boat.toml (space.heating)")
    return named


def quantity(text: str | None, kind: QuantityKind) -> float | None:
    """Read an option's quantity, or None where it was not given."""
    return None if text is None else parse(text, kind)


def short_values(texts: Sequence[str]) -> dict[str, str]:
    """Sort 'saloon 12C 70%' into its values: a temperature is the air's, a share the humidity.

    Raises
    ------
    QuantityError
        Neither, or two of a kind.
    """
    found: dict[str, str] = {}
    for text in texts:
        kind = "humidity" if text.rstrip().endswith("%") else "air"
        parse(text, PERCENT if kind == "humidity" else TEMPERATURE)
        if kind in found:
            raise QuantityError(
                f"'{text}' is a second {kind}",
                by_command="name a surface with --surface '9 °C' and wood with --wood '14 %'",
            )
        found[kind] = text
    return found


def known_space(boat: Boat, name: str) -> str:
    """The space's name as boat.toml has it; readings may be from outdoors too."""
    if name.casefold() == OUTDOORS:
        return OUTDOORS
    same = [space.name for space in boat.space if space.name.casefold() == name.casefold()]
    return same[0] if len(same) == 1 else space_by_name(boat, name).name


def known_panel(boat: Boat, space: str, name: str | None, *, surface: bool) -> str | None:
    """The panel a surface belongs to: the one named, else the only one there is.

    Raises
    ------
    NotFoundError
        The space has panels, and none of that name, or several and none was named.
    """
    described = boat.find_space(space)
    panels = [] if described is None else [panel.name for panel in described.panel]
    if name is None:
        if not surface or not panels:
            return None
        if len(panels) == 1:
            return panels[0]
        raise NotFoundError(
            f"which surface in {space} was measured: {', '.join(panels)}?",
            by_command=f"write --panel '{panels[0]}'",
            on_page="choose it under 'Which surface'",
        )
    same = [panel for panel in panels if panel.casefold() == name.casefold()]
    if same or not panels:
        return same[0] if same else name
    hint = nearest_or_all(name, panels, "there are")
    raise NotFoundError(f"{space} has no panel '{name}'; {hint}")


def wiped_surface(
    aboard: Aboard, name: str, panel: str | None, *, whole: bool, at: datetime, note: str
) -> Wiped:
    """The surface that was wiped dry, by the name of a job, a panel or a space.

    Of several things of one name the smallest is taken: a job before a panel before a space.

    Raises
    ------
    NotFoundError
        Nothing of that name, or several surfaces and none was named.
    QuantityError
        The open air, which is no surface.
    """
    boat, wanted = aboard.boat, name.casefold()
    if wanted == OUTDOORS:
        raise QuantityError("'outdoors' is no surface; name the job whose surface was wiped dry")
    jobs = [] if panel or whole else [job.name for job in _jobs(aboard)]
    job = next((each for each in jobs if each.casefold() == wanted), None)
    if job is not None:
        return Wiped(at, job=job, note=note)
    spaces = [space for space in boat.space if space.name.casefold() == wanted]
    if not spaces and panel is None:
        of = [(s.name, p.name) for s in boat.space for p in s.panel if p.name.casefold() == wanted]
        if len(of) == 1:
            return Wiped(at, space=of[0][0], panel=of[0][1], note=note)
        if of:
            where = " and ".join(space for space, _ in of)
            raise NotFoundError(
                f"there is a '{of[0][1]}' in {where}: which of them was wiped dry?",
                by_command=f"write '{of[0][0]}' --panel '{of[0][1]}'",
            )
    if not spaces:
        known = [
            *jobs,
            *(p.name for s in boat.space for p in s.panel),
            *(s.name for s in boat.space),
        ]
        hint = nearest_or_all(name, known, "there are")
        raise NotFoundError(f"there is no job, panel or space '{name}'; {hint}")
    panels = [each.name for each in spaces[0].panel]
    if panel is None and not whole and len(panels) > 1:
        raise NotFoundError(
            f"which surface in {spaces[0].name} was wiped dry: {', '.join(panels)}?",
            by_command=f"write --panel '{panels[0]}', or --all for every one",
        )
    named = None if panel is None else known_panel(boat, spaces[0].name, panel, surface=True)
    return Wiped(at, space=spaces[0].name, panel=named, note=note)


def _jobs(aboard: Aboard) -> list[Job]:
    """The jobs of the work list; none where there is no list yet."""
    return load_work(aboard.folder, aboard.boat).job if (aboard.folder / WORK_FILE).exists() else []


def known_sheet(aboard: Aboard, name: str) -> str:
    """The sheet's name, where there is one of that name; the nearest is told otherwise."""
    from curewindow.sheets.shelf import get_sheet

    return get_sheet(name, own_sheets(aboard.folder)).stem


def known_job(aboard: Aboard, name: str) -> Job:
    """The job of that name; the nearest is told otherwise."""
    return job_by_name(load_work(aboard.folder, aboard.boat), name)


def due_coat(
    aboard: Aboard,
    job: Job,
    coats: Sequence[Coat],
    dones: Sequence[Done],
    *,
    step: int | None,
    coat: int | None,
    earlier_unknown: bool = False,
    start: str | None,
    end: str | None,
    sheet: str | None,
    batch: str,
    area_m2: float | None,
    note: str,
) -> tuple[Coat, tuple[str, ...]]:
    """Fill in a coat: the next one due by record and work list, ending now.

    Returns
    -------
    tuple
        The coat, and what has to be said about it.

    Raises
    ------
    NotDueError
        There is no such step, none is due, the coat is in the record already, or coats before
        it are not and ``earlier_unknown`` does not say that nobody knows when they went on.
    """
    from curewindow.boat.effort import hands_on_h
    from curewindow.judgement.progress import next_of
    from curewindow.logbook.odd import oddities
    from curewindow.rules.work import WITH_PRODUCT
    from curewindow.voice.speaking import full

    notes: list[str] = []
    following = next_of(job, coats, dones)
    own = [c for c in coats if c.job == job.name]
    if step is None:
        first = len(job.step) + 1 if following is None else following.step_number
        step = next(
            (n for n, s in enumerate(job.step, 1) if n >= first and s.do in WITH_PRODUCT), None
        )
        if step is None:
            raise NotDueError(
                f"no coat of '{job.name}' is due by the record",
                by_command="if you put on one more, say which with --step and --coat",
            )
        if step > first:
            notes.append(f"step {first} ({job.step[first - 1].do}) is not in the record as done")
    elif not 1 <= step <= len(job.step) or job.step[step - 1].do not in WITH_PRODUCT:
        steps = ", ".join(
            f"{n} ({s.do} {s.sheet})" for n, s in enumerate(job.step, 1) if s.do in WITH_PRODUCT
        )
        raise NotDueError(f"'{job.name}' has no coat in step {step}; there are: {steps}")
    planned = job.step[step - 1]
    own = counting(own)
    on = [c.coat for c in own if c.step == step]
    if coat is None:
        coat = max(on, default=0) + 1
    elif coat in on:
        raise NotDueError(
            f"coat {coat} of step {step} of '{job.name}' is in the record already",
            by_command="'curewindow log show' lists it, 'curewindow log correct' changes it",
            on_page="the log shows it",
        )
    missing = [n for n in range(1, coat) if n not in on]
    if missing:
        notes.append(_earlier(job.name, step, coat, missing, unknown=earlier_unknown))
    if coat > planned.coats:
        notes.append(f"the work list has {planned.coats} in step {step}; this is one more")
    named = known_sheet(aboard, sheet) if sheet else (planned.sheet or "")
    if planned.sheet and named != planned.sheet:
        notes.append(f"the work list has {planned.sheet} in step {step}")
    end_at = past(end, aboard)
    if start is None:
        hours = hands_on_h(planned, job)
        start_at = end_at - timedelta(hours=hours)
        notes.append(f"start taken as {hours:.2g} h before the end")
    else:
        start_at = past(start, aboard)
    _check_sequence(own, step, coat, start_at, end_at, aboard)
    _check_spoilt(job, coats, step, coat, start_at, aboard)
    made = Coat(job.name, step, coat, start_at, end_at, named, batch, area_m2, note)
    notes += [full(each, aboard.wording) for each in oddities(aboard, job, coats, made)]
    return made, tuple(notes)


def _earlier(job: str, step: int, coat: int, missing: Sequence[int], *, unknown: bool) -> str:
    """What is said where coats before this one are not in the record; refused unless unknown."""
    some = [str(n) for n in missing]
    last = some.pop()
    named = f"coats {', '.join(some)} and {last}" if some else f"coat {last}"
    are = "are" if some else "is"
    if unknown:
        return f"when {named} of step {step} went on is not known"
    raise NotDueError(
        f"{named} of step {step} of '{job}' {are} not in the record, so coat {coat} cannot be "
        "the next",
        by_command=f"first write 'curewindow log coat \"{job}\" --coat {missing[0]} --end TIME', "
        "or --earlier-unknown where nobody knows",
        on_page="write those down first",
    )


def _check_sequence(
    own: Sequence[Coat], step: int, coat: int, start: datetime, end: datetime, aboard: Aboard
) -> None:
    """A coat goes on after the ones before it: anything else is a slip in a time or number."""
    for other in own:
        before = (other.step, other.coat) < (step, coat)
        name = f"coat {other.coat} of step {other.step}"
        if before and other.end > start:
            raise NotDueError(
                f"{name} was only on {aboard.wording.when(other.end)}, after this one's start "
                f"{aboard.wording.when(start)}",
                by_command="say the times with --start and --end",
                on_page="put right when it was begun and ended",
            )
        if not before and other.start < end:
            raise NotDueError(
                f"{name} was begun {aboard.wording.when(other.start)}, before this one's end "
                f"{aboard.wording.when(end)}",
                by_command="say the times with --start and --end",
                on_page="put right when it was begun and ended",
            )


def _check_spoilt(
    job: Job, coats: Sequence[Coat], step: int, coat: int, start: datetime, aboard: Aboard
) -> None:
    """A coat in the place of a spoilt one goes on after that was found: else which is spoilt?"""
    for other in coats:
        same = other.job == job.name and (other.step, other.coat) == (step, coat)
        if same and other.spoilt is not None and start < other.spoilt:
            raise NotDueError(
                f"coat {coat} of step {step} was only found spoilt "
                f"{aboard.wording.when(other.spoilt)}, after this one's start "
                f"{aboard.wording.when(start)}",
                by_command="put right when it was found ('curewindow log correct'), or say when "
                "this one was begun with --start",
                on_page="put right when it was begun, or found spoilt",
            )


def cautions_of(aboard: Aboard, item: Coat | Heat) -> list[Finding]:
    """What is to be taken care of once it has been written down."""
    from curewindow.cautions.logged import coat_on_cautions, lit_cautions
    from curewindow.sheets.shelf import get_sheet

    if isinstance(item, Heat):
        return lit_cautions(aboard.boat, item, recorded_coats(aboard))
    jobs = load_work(aboard.folder, aboard.boat).job
    job = next((each for each in jobs if each.name == item.job), None)
    if job is None:
        return []
    sheet = get_sheet(item.sheet, own_sheets(aboard.folder)).sheet
    with open_record(aboard, read_only=True) as record:
        boat = with_heat(aboard.boat, record.heat(), record.readings(last=1), aboard.now)
    return coat_on_cautions(boat, job, item, sheet)


def recorded_coats(aboard: Aboard) -> list[Recorded]:
    """The coats of the record whose sheet is known, with their jobs where those are."""
    from curewindow.cautions.logged import Recorded
    from curewindow.sheets.shelf import get_sheet

    jobs = {each.name: each for each in _jobs(aboard)}
    with open_record(aboard, read_only=True) as record:
        coats = record.coats()
    sheets = {}
    for stem in {coat.sheet for coat in coats}:
        with suppress(NotFoundError, SheetError):  # of a lost sheet nothing is known
            sheets[stem] = get_sheet(stem, own_sheets(aboard.folder)).sheet
    return [
        Recorded(coat, jobs.get(coat.job), sheets[coat.sheet])
        for coat in coats
        if coat.sheet in sheets
    ]


def over_vapour(aboard: Aboard, space: str) -> list[Finding]:
    """What is to be taken care of before a space's heater is lit, by the coats of the record."""
    from curewindow.cautions.logged import over_recorded

    place = aboard.boat.find_space(space)
    if place is None:
        return []
    return over_recorded(aboard.boat, place, recorded_coats(aboard), aboard.now)


def due_done(
    aboard: Aboard,
    job: Job,
    coats: Sequence[Coat],
    dones: Sequence[Done],
    *,
    step: int | None,
    at: str | None,
    note: str,
) -> Done:
    """Fill in a finished step: the next one due by record and work list, now.

    Raises
    ------
    NotDueError
        There is no such step, none is due, a coat is, or it is in the record already.
    """
    from curewindow.judgement.progress import next_of
    from curewindow.rules.work import WITH_PRODUCT

    if step is None:
        following = next_of(job, coats, dones)
        if following is None:
            raise NotDueError(f"every step of '{job.name}' is done by the record")
        step = following.step_number
        if following.coat is not None:
            raise NotDueError(
                f"next in '{job.name}' is coat {following.coat} of step {step} "
                f"({following.step.sheet})",
                by_command="write it down with 'curewindow log coat', or say the step with --step",
            )
    if not 1 <= step <= len(job.step):
        raise NotDueError(f"'{job.name}' has no step {step}; it has {len(job.step)}")
    planned = job.step[step - 1]
    if planned.do in WITH_PRODUCT:
        raise NotDueError(
            f"step {step} of '{job.name}' is {planned.do} {planned.sheet}: each coat is "
            "written down by itself",
            by_command="write 'curewindow log coat'",
        )
    if any(done.job == job.name and done.step == step for done in still_done(coats, dones)):
        raise NotDueError(f"step {step} of '{job.name}' is in the record as done already")
    return Done(job.name, step, past(at, aboard), note)


def inspected(
    job: Job,
    coats: Sequence[Coat],
    *,
    found: Found,
    step: int | None,
    coat: int | None,
    at: datetime,
    note: str,
    words: Wording,
) -> Inspection:
    """Fill in what somebody found at a coat: the youngest there was then, or the one named.

    Raises
    ------
    NotDueError
        No such coat is in the record, or it went on later.
    """
    counts = counting(coats) if found == "spoilt" else coats
    own = sorted((c for c in counts if c.job == job.name), key=lambda c: (c.end, c.id))
    named = [c for c in own if step in (None, c.step) and coat in (None, c.coat)]
    there = [c for c in named if c.end <= at + CLOCK_SLACK]
    if there:
        last = there[-1]
        return Inspection(job.name, last.step, last.coat, at, found, note)
    if named:
        raise NotDueError(
            f"coat {named[0].coat} of step {named[0].step} of '{job.name}' was only on "
            f"{words.when(named[0].end)}, after {words.when(at)}"
        )
    which = "no coat" if step is None and coat is None else "no such coat"
    raise NotDueError(
        f"{which} of '{job.name}' is in the record",
        by_command=f"write it down first: curewindow log coat '{job.name}'",
        on_page="write the coat down first",
    )
