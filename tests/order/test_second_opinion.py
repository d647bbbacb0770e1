"""Every coat of a plan again, minute by minute, by the slow checker beside the tests.

The checker knows the printed figures of a sheet and walks in straight lines between grid
points; it shares no code with the tables, the model or the second look.
"""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path

import boats
import numpy as np
import pytest

from curewindow.daysheet.ordering import facts_and_given
from curewindow.demo import files as demofiles
from curewindow.judgement.heated import conditions_under, done_of
from curewindow.order.build import build_problem
from curewindow.order.quick import quick_order
from curewindow.rules.chance import share_needed
from curewindow.rules.tins import tin_asked
from curewindow.series import SurfaceSeries
from curewindow.sheets.schema import Limits, Sheet
from curewindow.windows.grid import position


def _checker():
    path = Path(__file__).parents[1] / "checker.py"
    spec = importlib.util.spec_from_file_location("order_checker", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["order_checker"] = module
    spec.loader.exec_module(module)
    return module


checker = _checker()


def printed(sheet: Sheet):
    def limits(given: Limits) -> dict[str, float]:
        found: dict[str, float] = {}
        for name, allowed in (
            ("air", given.air),
            ("surface", given.surface),
            ("tin", given.product),
            ("mixed", given.mixed),
            ("rh", given.humidity),
        ):
            if allowed.min is not None:
                found[f"{name} min"] = allowed.min
            if allowed.max is not None:
                found[f"{name} max"] = allowed.max
        if given.above_dew_point is not None:
            found["above dew point min"] = given.above_dew_point
        return found

    rows = {
        name: sheet.cure.hours(name)
        for name in ("touch dry", "tack free", "handling", "closed up", "full cure")
        if sheet.cure.hours(name) is not None
    }
    depth = None
    if sheet.depth_cure is not None:
        d = sheet.depth_cure
        depth = (d.depth * 1e3, d.time, d.temp, d.humidity, d.bead * 1e3)
    basis = "typical of the kind" if sheet.typical else sheet.basis
    return checker.Printed(
        chemistry=sheet.chemistry,
        basis=basis,
        temps=sheet.cure.temps,
        rows=rows,
        until=sheet.setting.until,
        applying=limits(sheet.applying),
        setting=limits(sheet.setting),
        humidity=sheet.cure.humidity,
        stops_below=sheet.cure.stops_below,
        stops_above_humidity=sheet.cure.stops_above_humidity,
        depth=depth,
    )


def tin(here: SurfaceSeries, sheet: Sheet, hands_h: float, member: int) -> list[float]:
    """Of a boat that says nothing of its tins: it stands where the work is, for all the past."""
    assert here.tins is not None
    air = [float(value) for value in here.air_c[member]]
    step = int((here.times[1] - here.times[0]) / np.timedelta64(1, "m"))
    lags_h = here.tins.lags_h(tin_asked(sheet, hands_h))
    whole = checker.Place(step, 0, {"air": air}, False, [], tin=checker.Tin(lags_h, air))
    return checker.follow_tin(whole)


def test_every_coat_of_a_plan_holds_minute_by_minute(tmp_path: Path) -> None:
    folder = tmp_path / "boat"
    demofiles.write(folder, boats.NOW)
    said = (folder / "boat.toml").read_text("utf-8")
    (folder / "boat.toml").write_text(re.sub(r"(?m)^tins_kept.*\n", "", said), "utf-8")
    facts, given = facts_and_given(folder, boats.NOW, days=20)
    problem = build_problem(given)
    order = quick_order(problem)
    if order is None:
        pytest.skip("the quick list found no order in twenty days")
    series = conditions_under(facts, problem, order)
    looked_at = 0
    for done, placed in zip(done_of(problem, order), order.placed, strict=True):
        task = problem.tasks[placed.task]
        if task.sheet is None or series[done.job].outdoors:
            continue
        here = series[done.job]
        mode = task.modes[placed.mode]
        if mode.level_c is not None:
            continue  # heat: the plan's own second look may ask for another day
        first = round(position(here, done.start))
        step = int((here.times[1] - here.times[0]) / np.timedelta64(1, "m"))
        last = min(first + 5 * 1440 // step, len(here.times) - 1)
        good = 0
        for member in range(len(here.air_c)):
            values = {
                name: [float(v) for v in row[member, first : last + 1]]
                for name, row in (
                    ("air", here.air_c),
                    ("rh", here.rh_pct),
                    ("dew", here.dew_point_c),
                    ("surface", here.surface_c),
                )
            }
            place = checker.Place(step, 0, values, False, [(0, 1440)])
            sheet = printed(given.sheet(task.sheet))
            minutes = round(60 * task.hands_h)
            place._tin = tin(here, given.sheet(task.sheet), task.hands_h, member)[first : last + 1]
            good += checker.why_not(sheet, place, 0, minutes) is None
        needed = float(share_needed(np.array([here.lead_h[first]]))[0])
        assert good / len(here.air_c) >= needed - 1e-9, (done, good)
        looked_at += 1
    assert looked_at >= 3  # others wait for heat, to warm the tin as well
