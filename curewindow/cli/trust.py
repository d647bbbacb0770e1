"""`curewindow trust`: what came of forecasts and windows, and how sure to be of the next."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from curewindow.cli.common import at_option, boat_option, go_aboard, json_option, print_json

if TYPE_CHECKING:
    from curewindow.calibration.answer import DayScore, FeedTrust, ForecastError, TrustAnswer
    from curewindow.wording import Wording

_IN = "  "


@click.command(name="trust")
@click.option(
    "--to",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Draw the diagram into FILE.svg or FILE.png too.",
)
@click.option("--plain", is_flag=True, help="In the terminal: letters only.")
@click.option("--offline", is_flag=True, help="Ask no archive for hours that nobody saw.")
@boat_option
@at_option
@json_option
def command(
    to: Path | None,
    plain: bool,
    offline: bool,
    boat: Path | None,
    at: str | None,
    as_json: bool,
) -> None:
    """How far to trust forecasts and windows, by what came of the earlier ones.

    Each forecast used and each window told is kept in the boat folder. Here windows that are
    past are judged again on the weather seen and your readings. What follows is used from
    then on: confidence that was too high is lowered, and the forecast is corrected by what
    your readings outdoors show of the place.
    """
    from curewindow.boat.folder import load_work
    from curewindow.calibration.answer import answer_of
    from curewindow.calibration.look_back import look_back

    if to is not None:
        from curewindow.drawing import form_of

        form_of(to)
    aboard = go_aboard(boat, at)
    work = load_work(aboard.folder, aboard.boat)
    found = look_back(aboard.folder, aboard.boat, work, aboard.now, offline=offline)
    answer = answer_of(found, aboard.boat)
    if to is not None:
        from curewindow.calibration.figure import write_diagram

        write_diagram(answer, to)
    if as_json:
        print_json(answer)
        return
    from curewindow.cli.text import screen_width

    lines = _lines(answer, aboard.wording, screen_width(), plain)
    if to is not None:
        lines += ["", f"Drawn: {to}"]
    click.echo("\n".join(lines))


def _lines(answer: TrustAnswer, words: Wording, width: int, plain: bool) -> list[str]:
    from curewindow.cli.text import wrap

    if answer.kept_since is None:
        return wrap(
            "No forecast is kept yet. Each one that 'curewindow today' or 'windows' uses is, and "
            "each window told; come back when some of them are past.",
            width,
        )
    since = answer.kept_since.astimezone(ZoneInfo(answer.time_zone))
    noun = "forecast" if answer.kept_forecasts == 1 else "forecasts"
    head = (
        f"{answer.boat}: {answer.kept_forecasts} {noun} kept since {since.day} "
        f"{since:%b %Y}, {answer.kept_megabytes:.1f} MB"
    )
    lines = wrap(head, width, "", _IN)
    for feed in answer.feeds:
        lines += ["", *_feed_lines(feed, words, width, plain)]
    for note in answer.notes:
        lines += ["", *wrap(words.sentence(note), width, "", _IN)]
    if not answer.written_down:
        lines += ["", *wrap("Looked at for another time than now: nothing is used.", width)]
    return lines


def _feed_lines(feed: FeedTrust, words: Wording, width: int, plain: bool) -> list[str]:
    from curewindow.calibration.diagram import DOTS, PLAIN, diagram_lines
    from curewindow.charts.terminal import can_show
    from curewindow.cli.text import wrap

    lines = wrap(feed.source, width, "", _IN)
    for text in feed.said:
        lines += wrap(words.sentence(text), width, _IN, _IN * 2)
    if feed.windows_waiting:
        text = f"{feed.windows_waiting} told windows are past but were not seen whole: not judged"
        lines += wrap(text, width, _IN, _IN * 2)
    if feed.windows_judged:
        text = f"judged by readings taken there: {feed.by_readings} tellings; the rest by analyses"
        lines += wrap(text, width, _IN, _IN * 2)
    if feed.diagram:
        plain = plain or not can_show(getattr(sys.stdout, "encoding", None))
        lines += ["", *diagram_lines(feed.diagram, width, PLAIN if plain else DOTS)]
    if feed.by_lead_day:
        lines += ["", *_score_lines(feed, width)]
    if feed.forecast_errors:
        lines += ["", *_error_lines(feed.forecast_errors, words, width)]
    if feed.place_left_out:
        which = ", ".join(f"{count} {why}" for why, count in feed.place_left_out.items())
        lines += ["", *wrap(f"Readings outdoors left out: {which}", width, "", _IN)]
    return lines


def _score_lines(feed: FeedTrust, width: int) -> list[str]:
    from curewindow.cli.text import columns, wrap

    rows: list[tuple[str, ...]] = [
        ("ahead", "windows", "told", "held", "Brier", "rel", "res", "unc")
    ]
    scored = [(_ahead(day), day.score) for day in feed.by_lead_day]
    if feed.score is not None and len(scored) > 1:
        scored.append(("all", feed.score))
    for name, score in scored:
        parts = (score.score, score.reliability, score.resolution, score.uncertainty)
        rows.append(
            (
                name,
                f"{score.cases}",
                f"{100 * score.told:.0f} %",
                f"{100 * score.held:.0f} %",
                *(f"{part:.3f}" for part in parts),
            )
        )
    if width < 60:
        rows = [row[:5] for row in rows]
    lines = [_IN + line for line in columns(rows)]
    text = (
        "Brier score: 0 is perfect, less is better. It is rel (how far told and held lie apart) "
        "less res (how well good and bad starts are told apart) plus unc (how mixed they are)."
        if width >= 60
        else "Brier score: 0 is perfect, less is better."
    )
    return lines + wrap(text, width, _IN)


def _ahead(day: DayScore) -> str:
    return "today" if day.days_ahead == 0 else f"{day.days_ahead} d"


def _error_lines(errors: list[ForecastError], words: Wording, width: int) -> list[str]:
    from curewindow.cli.text import columns, wrap

    def difference(value: float | None, sign: bool = False) -> str:
        if value is None:
            return "?"
        shown = words.difference(value)
        return f"+{shown}" if sign and value >= 0.05 else shown

    lines: list[str] = []
    names = {"analysis": "the weather seen", "readings": "your readings outdoors"}
    for against, name in names.items():
        own = [error for error in errors if error.against == against and error.hours >= 5]
        if not own:
            continue
        rows: list[tuple[str, ...]] = [("ahead", "air off by", "spread", "dew point", "spread")]
        for error in own:
            rows.append(
                (
                    "today" if error.days_ahead == 0 else f"{error.days_ahead} d",
                    difference(error.temp_bias_k, True),
                    difference(error.temp_spread_k),
                    difference(error.dew_point_bias_k, True),
                    difference(error.dew_point_spread_k),
                )
            )
        if width < 60:
            rows = [(ahead, air, spread, dew) for ahead, air, spread, dew, _ in rows]
        lines += wrap(f"Forecast less {name}:", width)
        lines += [_IN + line for line in columns(rows)]
    return lines
