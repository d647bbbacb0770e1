"""`curewindow plan`: all the work in order, and what holds it up."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from curewindow.cli.common import at_option, boat_option, go_aboard, json_option, print_json

if TYPE_CHECKING:
    from curewindow.boat.aboard import Aboard
    from curewindow.daysheet.helps import OnVariation
    from curewindow.findings import Finding
    from curewindow.order.aims import Progress
    from curewindow.order.plan import Plan


@click.command(name="plan")
@click.option("--in-time", is_flag=True, help="Be done by the date, with the least heat.")
@click.option("--days", type=click.IntRange(2, 180), help="How far to look.")
@click.option(
    "--seconds", type=click.IntRange(2, 3600), default=30, show_default=True, help="To search."
)
@click.option("--kept", "only_kept", is_flag=True, help="Show the last plan, make none.")
@click.option("--helps", is_flag=True, help="Also tell the three cheapest ways to be sooner.")
@click.option("--fix", metavar="STEP", help="Hold a step where it is: 'chart table coat 2'.")
@click.option("--to", metavar="TIME", help="With --fix: hold it there: 'Sat 10:00'.")
@click.option("--fix-today", is_flag=True, help="Hold all of today: it is mixed already.")
@click.option("--free", metavar="STEP", help="Hold a step no longer; 'all' for every one.")
@click.option("--undo", is_flag=True, help="Take back the last --fix or --free.")
@click.option("--full", is_flag=True, help="Say all of it.")
@click.option(
    "--boats",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Every boat folder in DIR, side by side: a line for each.",
)
@boat_option
@at_option
@json_option
def command(
    in_time: bool,
    days: int | None,
    seconds: int,
    only_kept: bool,
    helps: bool,
    fix: str | None,
    to: str | None,
    fix_today: bool,
    free: str | None,
    undo: bool,
    full: bool,
    boats: Path | None,
    boat: Path | None,
    at: str | None,
    as_json: bool,
) -> None:
    """Put all the work in order: each coat and sitting, when, and why then.

    One pair of hands in your hours, coats that harden meanwhile, no dust where one is
    wet, one heater, what has to arrive: as soon as can be, then with the least heat,
    waiting and sanding, each with its price, then with the fewest half-days. As far as
    the forecast carries to the minute; beyond, the weeks a step probably falls in, with
    chances from past years' weather (see 'curewindow outlook'). It stays close to the last
    plan, and is kept as plan.json in the boat folder. Ctrl-C keeps the best found so far.
    """
    if boats is not None:
        for given, name in (
            (boat, "--boat"),
            (helps, "--helps"),
            (fix, "--fix"),
            (to, "--to"),
            (fix_today, "--fix-today"),
            (free, "--free"),
            (undo, "--undo"),
            (full, "--full"),
        ):
            if given:
                raise click.UsageError(f"{name} is for one boat; --boats plans all of them")
        from curewindow.cli.fleet import show_all
        from curewindow.fleet.run import Asked

        asked = Asked(at, float(seconds), days, in_time, only_kept)
        raise SystemExit(show_all(boats, asked, as_json=as_json))
    from curewindow.daysheet import planning
    from curewindow.errors import NotFoundError
    from curewindow.order.kept import load

    aboard = go_aboard(boat, at)
    if to is not None and fix is None:
        raise click.UsageError("--to belongs to --fix: name the step to hold there")
    said = _changes(aboard, fix, to, fix_today, free, undo)
    held = (fix is not None) + fix_today
    stopped = False
    if only_kept:
        plan = load(aboard.folder).plan
        if plan is None:
            raise NotFoundError("there is no plan yet; 'curewindow plan' makes one")
    else:
        progress = None if as_json else _progress(aboard)
        try:
            made = planning.make_plan(
                aboard.folder,
                aboard.now,
                days=days,
                seconds=float(seconds),
                in_time=in_time,
                progress=progress,
                on_seasons=None if progress is None else _seasons,
            )
        except BaseException:
            _let_go(aboard, held)  # what was not planned is not held
            raise
        plan = made.plan
        if helps and made.problem is not None and made.solved.order is not None:
            from curewindow.daysheet.helps import what_helps

            found = what_helps(
                aboard.folder,
                made,
                on_variation=None if progress is None else _on_variation(aboard),
            )
            plan = found.added_to(plan)
            stopped = found.stopped
        if progress is not None:
            _wipe()
    refused = plan.conflict is not None
    if refused:
        _let_go(aboard, held)
    if as_json:
        print_json(plan)
    else:
        for line in said if not (refused and held) else ():
            click.echo(line)
        _show(plan, aboard, full=full, looked_for_help=helps and not stopped)
        if stopped:
            from curewindow.voice.variations import STOPPED_EARLY

            click.echo(STOPPED_EARLY, err=True)
    if refused:
        if not as_json and held:
            click.echo("so it is not held, and the last plan stays as it was")
        raise SystemExit(1)


def _let_go(aboard: Aboard, changes: int) -> None:
    """Take back what was to be held: so many changes of it."""
    from curewindow.daysheet import holding

    for _ in range(changes):
        holding.undo(aboard.folder)


def _changes(
    aboard: Aboard,
    fix: str | None,
    to: str | None,
    fix_today: bool,
    free: str | None,
    undo: bool,
) -> list[str]:
    """What is to be held, before the plan is made; and in words, if that can be."""
    from curewindow.daysheet import holding
    from curewindow.daysheet.heldat import held_at
    from curewindow.errors import NotFoundError
    from curewindow.order.plan import PlannedStep

    said: list[str] = []
    if undo:
        holding.undo(aboard.folder)
        said.append("taken back")
    if free is not None:
        gone = holding.free(aboard.folder, None if free.casefold() == "all" else free)
        said.append(f"held no longer: {len(gone)}")
    if fix_today:
        keys = holding.fix_today(aboard.folder, aboard.now)
        said.append(f"held for today: {len(keys)}")
    if fix is not None:
        when = None if to is None else held_at(to, aboard.wording)
        step, at_step = holding.fix(aboard.folder, fix, when)
        if when is None and isinstance(step, PlannedStep) and step.end < aboard.now:
            holding.undo(aboard.folder)
            raise NotFoundError(
                f"{holding.named(step)} was planned for {aboard.wording.when(step.start)}, "
                "which is over",
                by_command="say with --to when it is to be held",
            )
        at = aboard.wording.when(at_step)
        said.append(f"held: {holding.named(step)}, {at}")
    return said


def _progress(aboard: Aboard) -> Progress | None:
    """Tell how far the search is, on a terminal only."""
    import sys

    from curewindow.order.aims import Aim
    from curewindow.order.problem import Order

    if not sys.stderr.isatty():
        return None
    doing: dict[Aim, str] = {
        "date": "the date",
        "cost": "less heat and less waiting",
        "calm": "calmer days",
    }

    def show_progress(aim: Aim, order: Order, value: int, bound: int) -> None:
        days = f", in {value} days so far, not under {bound}" if aim == "date" else ""
        click.echo(f"\r\x1b[Klooking for {doing[aim]}{days} (Ctrl-C: enough)", nl=False, err=True)

    return show_progress


def _on_variation(aboard: Aboard) -> OnVariation:
    """Tell which way is being tried, and how many are left."""
    from curewindow.cli.text import screen_width
    from curewindow.voice.variations import trying_text

    def show_variation(way: Finding, left: int) -> None:
        text = trying_text(way, left, aboard.wording)
        click.echo(f"\r\x1b[K{text[: screen_width() - 1]}", nl=False, err=True)

    return show_variation


def _seasons() -> None:
    text = "running the work through past winters (Ctrl-C: without)"
    click.echo(f"\r\x1b[K{text}", nl=False, err=True)


def _wipe() -> None:
    click.echo("\r\x1b[K", nl=False, err=True)


def _show(plan: Plan, aboard: Aboard, *, full: bool, looked_for_help: bool) -> None:
    from curewindow.cli.planwords import lines
    from curewindow.cli.text import colour_wanted, screen_width
    from curewindow.wording import Wording

    zone = ZoneInfo(plan.time_zone)
    words = Wording(zone, _later(plan.as_of, aboard.now), plan.temperature_unit == "°F")
    colour = colour_wanted()
    text = "\n".join(
        lines(
            plan,
            words,
            screen_width(),
            full=full,
            colour=colour,
            looked_for_help=looked_for_help,
        )
    )
    click.echo(text, color=colour or None)


def _later(one: datetime, other: datetime) -> datetime:
    return max(one, other)
