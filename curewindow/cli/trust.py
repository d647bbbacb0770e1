"""`curewindow trust`: what came of forecasts and windows, and how sure to be of the next."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

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

    Each forecast used and each window stated is kept in the boat folder. Here windows that are
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
    from curewindow.voice import full, verification

    if answer.kept_since is None:
        return wrap(verification.NONE_KEPT, width)
    since, size = answer.kept_since, answer.kept_megabytes
    head = verification.kept_text(answer.boat, answer.kept_forecasts, since, size, words)
    lines = wrap(head, width, "", _IN)
    for feed in answer.feeds:
        lines += ["", *_feed_lines(feed, words, width, plain)]
    for note in answer.notes:
        lines += ["", *wrap(full(note, words), width, "", _IN)]
    if not answer.written_down:
        lines += ["", *wrap(verification.ONLY_LOOKED, width)]
    return lines


def _feed_lines(feed: FeedTrust, words: Wording, width: int, plain: bool) -> list[str]:
    from curewindow.calibration.diagram import DOTS, PLAIN, diagram_lines
    from curewindow.charts.terminal import can_show
    from curewindow.cli.text import wrap
    from curewindow.voice import full, verification

    lines = wrap(feed.source, width, "", _IN)
    for each in feed.said:
        lines += wrap(full(each, words), width, _IN, _IN * 2)
    if feed.windows_waiting:
        lines += wrap(verification.waiting_text(feed.windows_waiting), width, _IN, _IN * 2)
    if feed.windows_judged:
        lines += wrap(verification.basis_text(feed.by_readings), width, _IN, _IN * 2)
    if feed.diagram:
        plain = plain or not can_show(getattr(sys.stdout, "encoding", None))
        lines += ["", *diagram_lines(feed.diagram, width, PLAIN if plain else DOTS)]
    if feed.by_lead_day:
        lines += ["", *_score_lines(feed, width)]
    if feed.forecast_errors:
        lines += ["", *_error_lines(feed.forecast_errors, words, width)]
    if feed.place_left_out:
        lines += ["", *wrap(verification.left_out_text(feed.place_left_out), width, "", _IN)]
    return lines


def _score_lines(feed: FeedTrust, width: int) -> list[str]:
    from curewindow.cli.text import columns, wrap
    from curewindow.voice import verification

    rows: list[tuple[str, ...]] = [
        ("ahead", "windows", "stated", "held", "Brier", "rel", "res", "unc")
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
    text = verification.BRIER_PARTS if width >= 60 else verification.BRIER
    return lines + wrap(text, width, _IN)


def _ahead(day: DayScore) -> str:
    return "today" if day.days_ahead == 0 else f"{day.days_ahead} d"


def _error_lines(errors: list[ForecastError], words: Wording, width: int) -> list[str]:
    from curewindow.cli.text import columns, wrap
    from curewindow.voice import verification

    def difference(value: float | None, sign: bool = False) -> str:
        if value is None:
            return "?"
        shown = words.difference(value)
        return f"+{shown}" if sign and value >= 0.05 else shown

    lines: list[str] = []
    for against in ("analysis", "readings"):
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
        lines += wrap(verification.against_text(against), width)
        lines += [_IN + line for line in columns(rows)]
    return lines
