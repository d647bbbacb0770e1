"""`curewindow outlook`: the chance of being done by the date, from past years' weather."""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

from curewindow.cli.common import at_option, boat_option, go_aboard, json_option, print_json

if TYPE_CHECKING:
    from curewindow.season.answer import Outlook


@click.command(name="outlook")
@click.option("--years", type=click.IntRange(1, 60), default=30, show_default=True, help="At most.")
@click.option("--days", type=click.IntRange(14, 360), help="How far to look; else 180.")
@click.option(
    "--draws",
    type=click.IntRange(1, 200),
    help="Samples of pace and deliveries a year; else for 120 seasons in all.",
)
@click.option("--seed", type=click.IntRange(0, 10**6), default=1, show_default=True)
@click.option("--kept", "only_kept", is_flag=True, help="Show the last outlook, make none.")
@click.option(
    "--to",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Draw into FILE.svg or FILE.png instead of the terminal.",
)
@click.option("--phone", is_flag=True, help="With --to: as wide as a phone's screen.")
@click.option("--plain", is_flag=True, help="In the terminal: letters only, no blocks or dots.")
@click.option("--full", is_flag=True, help="Workable hours in words as well.")
@click.option("--refresh", is_flag=True, help="Ask the archive of past weather anew.")
@boat_option
@at_option
@json_option
def command(
    years: int,
    days: int | None,
    draws: int | None,
    seed: int,
    only_kept: bool,
    to: Path | None,
    phone: bool,
    plain: bool,
    full: bool,
    refresh: bool,
    boat: Path | None,
    at: str | None,
    as_json: bool,
) -> None:
    """Tell the chance of being done by the date, and what it hangs on.

    The work is run through the weather of past years, with deliveries within their ranges
    and your pace drawn by chance: by when it is done, what the weather costs against other
    causes, and how many hours a week each kind of work has. Kept as outlook.json in the
    boat folder. Takes some seconds.
    """
    from curewindow.daysheet import outlook as season
    from curewindow.drawing import form_of
    from curewindow.errors import NotFoundError

    if to is not None:
        form_of(to)
    aboard = go_aboard(boat, at)
    if only_kept:
        found = season.kept(aboard.folder)
        if found is None:
            raise NotFoundError("there is no outlook yet; 'curewindow outlook' makes one")
    else:
        found = season.make_outlook(
            aboard.folder,
            aboard.now,
            years=years,
            draws=draws,
            days=days,
            seed=seed,
            refresh=refresh,
        )
    if to is not None:
        from curewindow.charts.seasonfigure import write_season

        write_season(found, to, phone=phone)
    if as_json:
        print_json(found)
        return
    _show(found, plain=plain, full=full, drawn=to)


def _show(outlook: Outlook, *, plain: bool, full: bool, drawn: Path | None) -> None:
    from curewindow.charts import can_show
    from curewindow.charts.seasonlines import season_lines
    from curewindow.cli.text import screen_width
    from curewindow.voice.season import head_text

    width = screen_width()
    plain = plain or not can_show(getattr(sys.stdout, "encoding", None))
    head = head_text(outlook.boat, len(outlook.years), outlook.seasons)
    lines = textwrap.wrap(head, width)
    for text in outlook.words:
        lines += textwrap.wrap(text, width, initial_indent="  ", subsequent_indent="    ")
    lines.append("")
    if drawn is None:
        lines += [*season_lines(outlook, width, plain=plain), ""]
    else:
        lines += [f"drawn in {drawn}", ""]
    if full:
        for text in outlook.hours_words:
            lines += textwrap.wrap(text, width, subsequent_indent="  ")
        lines.append("")
    for text in outlook.notes:
        lines += textwrap.wrap(text, width, initial_indent="- ", subsequent_indent="  ")
    click.echo("\n".join(lines))
