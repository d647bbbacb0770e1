"""`curewindow paper`: the planned week to hang on the bulkhead, and the plan as CSV."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from curewindow.cli.common import at_option, boat_option, go_aboard, json_option, print_json

if TYPE_CHECKING:
    from curewindow.boat.aboard import Aboard
    from curewindow.order.plan import Plan
    from curewindow.paper.models import Paper

_FORMS = (".html", ".pdf", ".csv")


@click.command(name="paper")
@click.option(
    "--to",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write FILE.html or FILE.pdf to print, or FILE.csv: the whole plan as a table.",
)
@click.option(
    "--days", type=click.IntRange(1, 60), default=7, show_default=True, help="From today on."
)
@boat_option
@at_option
@json_option
def command(to: Path | None, days: int, boat: Path | None, at: str | None, as_json: bool) -> None:
    """The planned week for paper: a row a day, steps in order, boxes to tick.

    With heater times, deadlines and what to wait for, from the last plan; 'curewindow
    plan' makes one. Without --to it is printed here.
    """
    from curewindow.errors import NotFoundError
    from curewindow.order.kept import load
    from curewindow.paper import week_of
    from curewindow.wording import counted

    if to is not None:
        _check(to)
    aboard = go_aboard(boat, at)
    plan = load(aboard.folder).plan
    if plan is None:
        raise NotFoundError("there is no plan yet", by_command="'curewindow plan' makes one")
    if not plan.every():
        raise NotFoundError("the last plan has no steps", by_command="see 'curewindow plan --kept'")
    paper = week_of(plan, aboard.now, days=days, done=_done(aboard))
    if to is not None:
        _write(to, _content(to, paper, plan))
        paper = paper.model_copy(update={"file": str(to)})
    if as_json:
        print_json(paper)
    elif to is None:
        click.echo("\n".join(_lines(paper)))
    elif to.suffix.lower() == ".csv":
        click.echo(f"{counted(len(plan.every()), 'step')} written to {to}")
    else:
        click.echo(f"{paper.title}: written to {to}")


def _done(aboard: Aboard) -> set[tuple[str, int, int | None]]:
    """Coats and steps that the record has by now."""
    from curewindow.boat.folder import RECORD_FILE
    from curewindow.record.spoilt import counting, still_done
    from curewindow.record.store import Record

    with Record(aboard.folder / RECORD_FILE, read_only=True) as record:
        coats, dones = record.coats(by=aboard.now), record.done()
        found: set[tuple[str, int, int | None]] = {
            (coat.job, coat.step, coat.coat) for coat in counting(coats) if coat.end <= aboard.now
        }
        found |= {
            (done.job, done.step, None)
            for done in still_done(coats, dones)
            if done.at <= aboard.now
        }
    return found


def _check(to: Path) -> None:
    if to.suffix.lower() not in _FORMS:
        raise click.UsageError(f"{to.name}: the name ends in .html, .pdf or .csv")
    if not to.absolute().parent.is_dir():
        raise click.UsageError(f"there is no folder {to.absolute().parent} to write {to.name} to")


def _content(to: Path, paper: Paper, plan: Plan) -> bytes:
    form = to.suffix.lower()
    if form == ".pdf":
        from curewindow.paper.pdf import pdf_bytes

        return pdf_bytes(paper)
    if form == ".csv":
        from curewindow.paper.table import plan_csv

        return plan_csv(plan).encode("utf-8-sig")  # by the mark spreadsheets know it as UTF-8
    from curewindow.paper.print_page import page_html

    return page_html(paper).encode("utf-8")


def _write(to: Path, content: bytes) -> None:
    """Whole or not at all."""
    from curewindow.files import write_whole

    try:
        write_whole(to, content)
    except OSError as bad:
        raise click.UsageError(f"{to} cannot be written: {bad.strerror}") from None


def _lines(paper: Paper) -> list[str]:
    from curewindow.cli.text import screen_width, wrap
    from curewindow.paper.layout import care_of, days_together, weeks_of
    from curewindow.voice import paper as said

    width = screen_width()
    found = wrap(paper.title, width)
    for warning in paper.warnings:
        found += wrap(f"! {warning}", width, "", "  ")
    for day, nothing in days_together(paper.days):
        found += ["", day.title]
        if nothing:
            found += wrap(nothing, width, "    ", "    ")
        for line in day.lines:
            found += wrap(
                f"{line.clock} {line.text}", width, "[ ] " if line.tick else "    ", "    "
            )
            for text in line.under:
                found += wrap(text, width, "      ", "        ")
    if care := care_of(paper):
        found += ["", said.TAKE_CARE]
        for text in care:
            found += wrap(text, width, "", "  ")
    if weeks := weeks_of(paper):
        found += ["", said.LATER]
        for title, lines in weeks:
            found += [
                title,
                *(each for text in lines for each in wrap(text, width, "    ", "      ")),
            ]
    found.append("")
    for note in paper.notes:
        found += wrap(note, width, "", "  ")
    return found
