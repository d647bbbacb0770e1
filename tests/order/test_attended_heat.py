"""A heater that is never left alone in a plan: lit and put out within one stretch aboard."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from curewindow.daysheet.assemble import day_sheet
from curewindow.daysheet.planning import make_plan
from curewindow.order.plan import Plan, PlannedStep
from curewindow.rules.unattended import left_alone
from curewindow.situation import read_situation
from tests.probes.scene import NOW, Probe, heating, job, space, step, written

QUICK = """
name = "Quick warm varnish"
kind = "varnish"
chemistry = "epoxy amine"
binder = "epoxy"
basis = "made up"
hazards = ["epoxy sensitiser"]

[applying]
air = { min = "12 °C", max = "28 °C" }
surface = { min = "10 °C" }
humidity = { max = "85 %" }
above_dew_point = "2 K"

[setting]
until = "touch dry"
air = { min = "10 °C" }
surface = { min = "8 °C" }
humidity = { max = "90 %" }
above_dew_point = "1 K"

[cure]
temps     = ["0 °C", "10 °C", "20 °C"]
touch_dry = ["8 h", "3 h", "1 h"]
handling  = ["30 h", "12 h", "5 h"]
full_cure = ["20 d", "10 d", "5 d"]
stops_below = "-5 °C"

[[recoat]]
next = "self"
from  = ["30 h", "12 h", "5 h"]
until = ["40 d", "20 d", "10 d"]
after = "sand"
"""


def planned(folder: Path, said: str) -> tuple[Plan, list[PlannedStep]]:
    probe = Probe(
        "",
        space("cabin", heating=heating("diesel", vented=True, flame=False, more=said)),
        job(step("coat", "quick", more="coats = 2")),
        temp_c=4.0,
        dew_point_c=-1.0,
        sheets={"quick": QUICK},
        head={"water": "5 °C"},
    )
    made = make_plan(written(probe, folder), NOW, days=12, seconds=5.0)
    return made.plan, [each for each in made.plan.steps if each.setpoint_c is not None]


@pytest.mark.parametrize("said", ["", 'unattended = "never"'], ids=["unsaid", "never"])
def test_coats_that_set_in_the_hours_aboard_are_planned_with_it_lit(
    said: str, tmp_path: Path
) -> None:
    plan, warm = planned(tmp_path, said)
    assert plan.verified
    assert warm
    facts = read_situation(tmp_path, NOW)
    cabin = facts.boat.space[0]
    for each in warm:
        run = each.heat
        assert run is not None
        assert run.light_at is not None
        assert run.latest_light_at is not None
        assert run.hold_until is not None
        assert not left_alone(facts.boat, cabin, run.light_at, run.hold_until)
        assert not left_alone(facts.boat, cabin, run.latest_light_at, run.hold_until)
        assert run.hold_until - run.light_at < timedelta(hours=12)
        kinds = {danger.kind for danger in [*run.cautions, *each.cautions]}
        assert "never left alone" in kinds
        assert "heat unattended" not in kinds
    assert all(each.start < NOW + timedelta(days=10) for each in warm)
    told = day_sheet(tmp_path, NOW).plan
    assert told is not None
    against = {each.note.kind for each in [*told.today, *told.coming] if each.note is not None}
    assert "not left alone, not planned" not in against
