"""Work that is more than the hours there are: as much as fits is planned, the rest is named."""

from __future__ import annotations

from pathlib import Path

import pytest

from curewindow.daysheet.planning import make_plan
from curewindow.order.kept import load
from tests.laws.test_danger_never_cut import NOW, write

_FIT = """
[[job]]
name = "{name}"
space = "{space}"
area = "1 m²"
step = [{{ do = "fit", hands_on = "15 h" }}]
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two days of some twelve hours each, and three jobs of fifteen."""
    write(
        tmp_path,
        {
            "hazards": [],
            "deck": [],
            "heater": ("electric", "true", "false"),
            "sleeps": "",
            "between": "as is",
            "temp_c": 14.0,
            "on_for_h": 60.0,
            "opens": "06:00:00",
        },
    )
    jobs = [_FIT.format(name=name, space="cabin") for name in ("shelf", "slats", "hooks")]
    (tmp_path / "work.toml").write_text("".join(jobs), "utf-8")
    return tmp_path


def test_the_rest_is_planned(folder: Path) -> None:
    plan = make_plan(folder, NOW, days=2, seconds=4.0).plan
    assert plan.conflict is None
    assert {step.job for step in plan.steps} == {"shelf"}
    assert set(plan.left_out) == {"slats", "hooks"}
    assert all("within the time looked at" in why for why in plan.left_out.values())
    assert not plan.faults
    kept = load(folder).plan
    assert kept is not None
    assert kept.left_out == plan.left_out


def test_what_the_owner_holds_is_not_let_go_of(folder: Path) -> None:
    """Held steps that cannot be kept are told as such: nothing is left out instead."""
    key = make_plan(folder, NOW, days=2, seconds=4.0).plan.steps[0].key
    plan = make_plan(folder, NOW, days=2, seconds=4.0, fixed={key: NOW}).plan
    assert plan.conflict is not None
    assert not plan.steps
