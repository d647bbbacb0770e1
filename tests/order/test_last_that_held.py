"""A calmer order that the second look refuses gives way to the last one that held."""

from __future__ import annotations

from pathlib import Path

import boats
import pytest

from curewindow.daysheet import planning
from curewindow.demo import files as demofiles
from curewindow.heating import HeatPlan
from curewindow.order.aims import AIMS, Solved
from curewindow.order.walk import OrderFault

DAYS = 12


@pytest.mark.slow
def test_the_last_order_that_held_is_the_plan(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "boat"
    demofiles.write(folder, boats.NOW)
    work = (folder / "work.toml").read_text(encoding="utf-8")
    head, *jobs = work.split("[[job]]")
    kept = [job for job in jobs if 'name = "saloon doors"' in job or '"chart table"' in job]
    (folder / "work.toml").write_text("[[job]]".join([head, *kept]), encoding="utf-8")
    found: list[Solved] = []
    solve, look_again = planning.solve, planning.look_again

    def solving(*args, **more) -> Solved:
        found.append(solve(*args, **more))
        return found[-1]

    def looking(*args, **more) -> tuple[list[OrderFault], dict[int, HeatPlan]]:
        faults, runs = look_again(*args, **more)
        if more and [step.aim for step in found[-1].steps] == list(AIMS):
            # Whatever has been made calm is found wanting, and no day is to blame.
            faults = [*faults, OrderFault("hands", "chart table", boats.NOW, "sown into it")]
        return faults, runs

    monkeypatch.setattr(planning, "solve", solving)
    monkeypatch.setattr(planning, "look_again", looking)
    made = planning.make_plan(folder, boats.NOW, days=DAYS, keep=False)
    assert [step.aim for step in found[-1].steps] == list(AIMS)
    assert made.plan.verified
    assert made.plan.faults == []
    assert [each.aim for each in made.plan.reached] == list(AIMS[:-1])
