"""A recoat interval that has passed: the plan sands first, and says so of the right coat."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import boats
import pytest

from curewindow.daysheet.holding import named
from curewindow.daysheet.planning import make_plan
from curewindow.demo import files as demofiles


@pytest.mark.slow
def test_a_coat_that_is_sanded_for_has_no_last_moment(tmp_path: Path) -> None:
    folder = tmp_path / "boat"
    demofiles.write(folder, boats.NOW)
    work = (folder / "work.toml").read_text(encoding="utf-8")
    head, *jobs = work.split("[[job]]")
    kept = [job for job in jobs if 'name = "saloon doors"' in job]
    (folder / "work.toml").write_text("[[job]]".join([head, *kept]), encoding="utf-8")
    # Coat 3 of 5 is on; by now the time for the next has passed.
    plan = make_plan(folder, boats.NOW + timedelta(days=2), days=10, keep=False).plan
    assert plan.verified
    sanding = next(step for step in plan.steps if step.sanding_for_missed)
    assert "sanding dust" in {each.kind for each in sanding.cautions}
    coat = next(step for step in plan.steps if step.coat is not None)
    assert sanding.end <= coat.start
    assert coat.coat == 4
    assert named(sanding) == "saloon doors sanding before coat 4"
    assert coat.must_by is None
    last = next(step for step in plan.steps if step.coat == 5)
    assert last.must_by is not None
    assert last.start <= last.must_by
