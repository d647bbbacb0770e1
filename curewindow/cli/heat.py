"""`curewindow heat`: what heat would open a start, for how much, or what is missing."""

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
    from curewindow.findings import Finding
    from curewindow.heating.models import HeatPlan, HeatPlans
    from curewindow.wording import Wording

_IN = "  "
_STYLES = {"possible": "go", "cannot": "blocked", "refused": "refused", "waits": "wait"}


@click.command(name="heat")
@click.argument("job", required=False, shell_complete=complete_job)
@click.option("--setpoint", metavar="TEMP", help="Only this temperature: '16 °C', '61 °F'.")
@boat_option
@at_option
@json_option
def command(
    job: str | None, setpoint: str | None, boat: Path | None, at: str | None, as_json: bool
) -> None:
    """Plan the heating: lit when, how warm, held until when, for how much fuel.

    For each job that has no start today because of the cold or the damp; with a JOB
    for that one.
    """
    from curewindow.judgement.heat import heat_plans
    from curewindow.quantity import TEMPERATURE, parse

    wanted = None if setpoint is None else parse(setpoint, TEMPERATURE)
    aboard = go_aboard(boat, at)
    plans = heat_plans(aboard.folder, aboard.now, job=job, setpoint_c=wanted)
    if as_json:
        print_json(plans)
        return
    from curewindow.cli.text import colour_wanted, screen_width

    colour = colour_wanted()
    click.echo(
        "\n".join(_lines(plans, screen_width(), job is not None, colour)), color=colour or None
    )


def _lines(plans: HeatPlans, width: int, full: bool, colour: bool) -> list[str]:
    from curewindow import voice
    from curewindow.cli.text import paint, wrap
    from curewindow.voice.cautions import DEFER
    from curewindow.voice.heat import heating_title
    from curewindow.wording import Wording

    words = Wording(ZoneInfo(plans.time_zone), plans.as_of, plans.temperature_unit == "°F")
    head = heating_title(plans.boat, plans.as_of, words)
    lines = [paint(line, "head", colour=colour) for line in wrap(head, width)]
    for plan in plans.plans:
        style = _STYLES.get(plan.status, "blocked")
        title = [
            paint(line, style, colour=colour, bold=True)
            for line in wrap(f"{plan.job} ({plan.where})", width, "", _IN)
        ]
        lines += ["", *title]
        for text in _said(plan, words):
            lines += wrap(text, width, _IN, f"{_IN}{_IN}")
        for note in plan.notes if full else (n for n in plan.notes if n.weight == "act"):
            lines += wrap(voice.full(note, words), width, f"{_IN}- ", f"{_IN}  ")
        lines += _care(plan, words, width, full)
    if any(plan.cautions for plan in plans.plans):
        lines += ["", *wrap(DEFER, width, "", _IN)]
    for note in plans.notes:
        lines += ["", *wrap(voice.full(note, words), width, "", _IN)]
    return lines


def _said(plan: HeatPlan, words: Wording) -> list[str]:
    """What there is to say of a plan, most wanted first."""
    from curewindow import voice
    from curewindow.boat.schema import VENTS_WORD
    from curewindow.voice import heat
    from curewindow.voice.day import margin_text

    said = [voice.full(plan.verdict, words)]
    if plan.status == "possible":
        assert plan.start is not None
        assert plan.applied is not None
        assert plan.setpoint_c is not None
        assert plan.hold_until is not None
        assert plan.ventilation is not None
        vents, air = VENTS_WORD[plan.ventilation], plan.airing
        if plan.purpose == "begin":
            assert plan.milestone is not None
            said.append(heat.put_on_text(vents, plan.start, plan.applied, plan.milestone, words))
        if air is not None:
            said.append(
                heat.air_text(
                    air.begins,
                    air.ends,
                    air.flow_m3_h,
                    air.air_changes_h,
                    words,
                    known=air.known,
                )
            )
        command = heat.log_command(plan.space, plan.setpoint_c, plan.hold_until, vents, words)
        said.append(heat.once_lit_text(command))
        if plan.latest_light_at is not None and plan.latest_light_at != plan.light_at:
            said.append(heat.latest_text(plan.latest_light_at, words))
        if plan.tightest is not None:
            said.append(heat.tightest_text(margin_text(plan.tightest, words)))
        more = (plan.outage, plan.one_more_coat)
        said += [voice.full(each.said, words) for each in more if each is not None]
    said += [
        heat.alternative_text(each.said, words, works=each.works) for each in plan.alternatives
    ]
    return [_first_capital(text) for text in said]


def _first_capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _care(plan: HeatPlan, words: Wording, width: int, full: bool) -> list[str]:
    """Cautions: whole for one job, their beginnings in a list of jobs."""
    from curewindow.cautions import grade
    from curewindow.cli.text import wrap
    from curewindow.voice.cautions import caution, topics, whole_caution

    lines: list[str] = []
    reminders: list[Finding] = []
    for danger in plan.cautions:
        if plan.status == "refused" and grade(danger) == "refused":
            continue  # said above
        if not full and grade(danger) == "reminder":
            reminders.append(danger)
            continue
        text = whole_caution(danger, words) if full else caution(danger, words)
        lines += wrap(text, width, f"{_IN}! ", f"{_IN}  ")
    if reminders:
        lines += wrap(f"also: {topics(reminders)}", width, f"{_IN}! ", f"{_IN}  ")
    return lines
