"""`curewindow why`: one start explained, what stands in the way first."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from curewindow.cli.common import (
    at_option,
    boat_option,
    complete_job,
    go_aboard,
    json_option,
    print_json,
)

if TYPE_CHECKING:
    from curewindow.explain import LimitAt, Rule, Why
    from curewindow.wording import Wording

_SAID = {"broken": "NO", "unknown": "??", "doubtful": "~", "kept": "ok"}
_LEAD = 4


@click.command(name="why")
@click.argument("job", shell_complete=complete_job)
@click.argument("time", required=False, metavar="[TIME]")
@boat_option
@at_option
@json_option
def command(job: str, time: str | None, boat: Path | None, at: str | None, as_json: bool) -> None:
    """Explain why a JOB may, or may not, be started at a TIME (else now).

    TIME as '15:00', 'tomorrow 9:00', 'Thu 17:10'. Every limit with its value at the worst
    moment, hours aboard, daylight, recoat times and cautions: what is broken comes first.
    """
    from curewindow.explain import why
    from curewindow.wording import moment

    aboard = go_aboard(boat, at)
    asked = None if time is None else moment(time, aboard.wording.zone, aboard.now)
    answer = why(aboard.folder, aboard.now, job, at=asked)
    if as_json:
        print_json(answer)
        return
    from curewindow.cli.text import colour_wanted, screen_width

    colour = colour_wanted()
    click.echo("\n".join(why_lines(answer, screen_width(), colour=colour)), color=colour or None)


def why_lines(answer: Why, width: int, *, colour: bool = False) -> list[str]:
    """Lines of the answer."""
    from curewindow.cli.text import paint
    from curewindow.daysheet.words import step_text
    from curewindow.wording import Wording

    words = Wording(ZoneInfo(answer.time_zone), answer.as_of, answer.temperature_unit == "°F")
    title = answer.job if answer.next is None else f"{answer.job}: {step_text(answer.next)}"
    lines = [paint(line, "head", colour=colour) for line in _wrapped(title, width)]
    style = "go" if answer.allowed else "refused"
    sentence = answer.sentence[:1].upper() + answer.sentence[1:]
    lines += [paint(line, style, colour=colour, bold=True) for line in _wrapped(sentence, width)]
    if answer.next is None:
        return lines
    lines += _span(answer, words, width)
    said: set[str] = set()
    for heading, states in (
        ("in the way", ("broken", "unknown")),
        ("in doubt", ("doubtful",)),
        ("kept", ("kept",)),
    ):
        rules = [rule for rule in answer.rules if rule.state in states]
        limits = [limit for limit in answer.limits if limit.state in states]
        if states == ("kept",):  # of what is too cold nobody asks whether it is too warm
            limits = [limit for limit in limits if limit.limit not in said]
        said |= {limit.limit for limit in limits}
        if rules or limits:
            lines += ["", paint(heading.upper(), "head", colour=colour)]
            for rule in rules:
                lines += _rule(rule, words, width)
            for limit, phase in _merged(limits):
                lines += _limit(limit, phase, words, width)
    if answer.notes:
        lines.append("")
    for note in answer.notes:
        lines += _wrapped(note, width, "- ", "  ")
    if answer.attribution:
        lines += _wrapped(answer.attribution, width)
    return lines


def _span(answer: Why, words: Wording, width: int) -> list[str]:
    """The surface at the start, and how long it has to hold."""
    then = answer.surface
    lines: list[str] = []
    if then.surface_c is not None and then.dew_point_c is not None and then.air_c is not None:
        state = {"dew": ", wet with dew", "frost": ", white with frost"}.get(then.state, "")
        lines += _wrapped(
            f"Then: {answer.where} {words.temp(then.surface_c)}{state}, air "
            f"{words.temp(then.air_c)}, dew point {words.temp(then.dew_point_c)}",
            width,
        )
    if then.wet_at is not None and then.wet_at > answer.start:
        lines += _wrapped(f"{then.wet_as} forms on it from {words.when(then.wet_at)}", width, "  ")
    if answer.applied is not None and answer.set_until:
        by = "beyond the weather known" if answer.set_by is None else words.when(answer.set_by)
        lines += _wrapped(f"Put on by {words.when(answer.applied)}, {answer.set_until} {by}", width)
    return lines


def _rule(rule: Rule, words: Wording, width: int) -> list[str]:
    ends = "" if rule.ends is None else f" (from {words.when(rule.ends)} on)"
    lead = f"{_SAID[rule.state]:<{_LEAD}}"
    return _wrapped(f"{rule.text}{ends}", width, lead, " " * _LEAD)


def _merged(limits: list[LimitAt]) -> list[tuple[LimitAt, str]]:
    """Of limits of one quantity the tightest, with the phases it is about.

    Where it is broken each bound counts for itself: too cold is not too warm.
    """
    first: dict[tuple[str, str], LimitAt] = {}
    phases: dict[tuple[str, str], list[str]] = {}
    for limit in limits:
        key = (limit.limit, "" if limit.state == "kept" else limit.bound)
        first.setdefault(key, limit)
        phases.setdefault(key, [])
        if limit.phase not in phases[key]:
            phases[key].append(limit.phase)
    return [
        (limit, limit.phase if limit.state == "kept" else " and ".join(sorted(phases[key])))
        for key, limit in first.items()
    ]


def _limit(limit: LimitAt, phase: str, words: Wording, width: int) -> list[str]:
    lead = f"{_SAID[limit.state]:<{_LEAD}}"
    worst = limit.worst
    if limit.limit in ("rain", "direct sun"):
        text = limit.text
    elif worst is None:
        text = f"{limit.limit}: {limit.text}"
    else:
        value = words.amount(worst.value, worst.unit)
        text = f"{limit.limit} {value}, {words.sentence(limit.text)}"
    if worst is not None and limit.state != "kept":
        text += f" ({words.when(worst.at)}, {phase})"
    if limit.state == "doubtful":
        text += f"; kept in {round(100 * limit.holds_in)} % of the forecasts"
    return _wrapped(text, width, lead, " " * _LEAD)


def _wrapped(text: str, width: int, first: str = "", rest: str = "  ") -> list[str]:
    """Lines that do not end between a figure and its unit."""
    from curewindow.charts.page import keep_together
    from curewindow.cli.text import wrap

    return [line.replace("\u00a0", " ") for line in wrap(keep_together(text), width, first, rest)]
