"""The fast judge against a slow second opinion, on random sheets, weather and places.

Never may a start be called good that the second opinion refuses. The other way
round the judge is allowed to be careful: it rounds to grid points, and how often that
costs a start is counted and printed.
"""

from __future__ import annotations

import importlib.util
import math
import random
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import ModuleType
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.boat.service import Tin
from curewindow.conditions.tins import TinsKept
from curewindow.curing import CureModel, milestone_laws, recoat_bounds, step_rates
from curewindow.rules.asked import AtLeast, AtMost, Unless
from curewindow.rules.limits import BY_NAME, KINDS
from curewindow.rules.tins import tin_asked
from curewindow.series import SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.windows import judge
from curewindow.windows.after import followed
from curewindow.windows.wet import water_lying
from tests.cases import cases


def _load_checker() -> ModuleType:
    """The checker beside this file: tests are no package, so it is loaded by its path."""
    path = Path(__file__).with_name("checker.py")
    spec = importlib.util.spec_from_file_location("checker", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["checker"] = module
    spec.loader.exec_module(module)
    return module


checker = _load_checker()

CHEMISTRIES = tuple(checker.ENERGY)
MILESTONES = ("touch dry", "handling", "closed up", "full cure")
START = datetime(2026, 1, 12, tzinfo=UTC)


def random_sheet(rng: random.Random):
    """Figures of a sheet, in every combination a shelf could hold and some it never would."""
    chemistry = rng.choice(CHEMISTRIES)
    columns = rng.randint(1, 4)
    temps = sorted(rng.sample(range(2, 31), columns))
    rows: dict[str, list[float]] = {}
    hours = [rng.uniform(0.3, 4.0)]
    for _ in range(columns - 1):
        hours.append(hours[-1] / rng.uniform(1.0, 2.5))
    for milestone in MILESTONES:
        rows[milestone] = [round(hour, 3) for hour in hours]
        grow = rng.uniform(1.1, 5.0)
        hours = [hour * grow for hour in hours]
    limits = []
    for phase in ("applying", "setting"):
        taken = {
            f"{name} {bound}": round(rng.uniform(lowest, highest), 2)
            for name, limit in checker.LIMITS.items()
            for bound, (lowest, highest, odds) in limit.drawn.items()
            if limit.counts != "applying" or phase == "applying"
            if rng.random() < odds
        }
        limits.append(taken)
    depth = None
    if chemistry == "moisture curing" and rng.random() < 0.7:
        depth = (rng.uniform(2.0, 4.0), 24.0, 23.0, 50.0, rng.uniform(2.0, 6.0))
    return checker.Printed(
        chemistry=chemistry,
        basis=rng.choice(tuple(checker.BANDS)),
        temps=[float(temp) for temp in temps],
        rows=rows,
        until=rng.choices(MILESTONES, weights=(6, 3, 1, 1))[0],
        applying=limits[0],
        setting=limits[1],
        humidity=rng.choice((None, 50.0, 65.0)),
        stops_below=rng.choice((None, None, rng.uniform(-3.0, 4.0))),
        stops_above_humidity=rng.choice((None, None, None, rng.uniform(75.0, 95.0))),
        depth=depth,
    )


def as_toml(printed) -> Sheet:
    """The same sheet as a file would hold it."""

    def limits(given: dict[str, float]) -> dict[str, object]:
        table: dict[str, object] = {}
        for name, limit in checker.LIMITS.items():
            kind = BY_NAME[limit.name]
            asked = {
                bound: f"{given[f'{name} {bound}']!r} {kind.unit}"
                for bound in ("min", "max")
                if f"{name} {bound}" in given
            }
            if isinstance(kind.form, Unless):
                table[kind.form.field] = not asked
            elif asked:
                one = isinstance(kind.form, AtLeast | AtMost)
                table[kind.form.field] = next(iter(asked.values())) if one else asked
        return table

    cure: dict[str, object] = {"temps": [f"{temp!r} °C" for temp in printed.temps]}
    for milestone, hours in printed.rows.items():
        cure[milestone.replace(" ", "_")] = [f"{hour!r} h" for hour in hours]
    for key, value, unit in (
        ("humidity", printed.humidity, "%"),
        ("stops_below", printed.stops_below, "°C"),
        ("stops_above_humidity", printed.stops_above_humidity, "%"),
    ):
        if value is not None:
            cure[key] = f"{value!r} {unit}"
    data: dict[str, object] = {
        "name": "random",
        "kind": "paint",
        "chemistry": printed.chemistry,
        "basis": printed.basis,
        "applying": limits(printed.applying),
        "setting": limits(printed.setting) | {"until": printed.until},
        "cure": cure,
        "recoat": [
            {
                "from": [f"{hour!r} h" for hour in printed.rows["handling"]],
                "until": [f"{hour!r} h" for hour in printed.rows["closed up"]],
            }
        ],
    }
    if printed.depth is not None:
        deep, time, temp, humid, bead = printed.depth
        data["depth_cure"] = {
            "depth": f"{deep!r} mm",
            "time": f"{time!r} h",
            "temp": f"{temp!r} °C",
            "humidity": f"{humid!r} %",
            "bead": f"{bead!r} mm",
        }
    return Sheet.model_validate(data)


def random_place(rng: random.Random, members: int, step_min: int):
    """Weather that swings within a step: days, fronts, noise, holes; one place a member."""
    noise = np.random.default_rng(rng.getrandbits(32))
    days = rng.choice((2, 3, 4))
    points = days * 1440 // step_min
    hour = np.arange(points) * step_min / 60.0
    shape = (members, points)
    walk = np.cumsum(noise.normal(0.0, 0.25 * (step_min / 10.0) ** 0.5, shape), axis=1)
    rough = rng.choice((0.0, 0.05, 0.6))
    base, swing = rng.uniform(0.0, 20.0), rng.uniform(0.0, 6.0)
    air = base + swing * np.sin((hour - 9.0) / 24.0 * 2.0 * np.pi) + walk
    air = np.clip(air + noise.normal(0.0, rough + 1e-12, shape), -20.0, 45.0)
    rh = rng.uniform(45.0, 85.0) - 2.0 * swing * np.sin((hour - 9.0) / 24.0 * 2.0 * np.pi)
    rh = np.clip(rh + 3.0 * noise.normal(0.0, rough + 1e-12, shape), 5.0, 100.0)
    log = np.log(rh / 100.0) + 17.62 * air / (243.12 + air)
    dew = 243.12 * log / (17.62 - log)
    surface = air - rng.uniform(-2.0, 4.0) + noise.normal(0.0, 0.5 * rough + 1e-12, shape)
    if rng.random() < 0.15:  # still air in a cold locker: nothing moves at all
        air, rh, dew, surface = (
            np.repeat(a[:, :1], points, axis=1) for a in (air, rh, dew, surface)
        )
    fields = {"air": air, "rh": rh, "dew": dew, "surface": surface}
    fields["wood"] = np.clip(16.0 + np.cumsum(noise.normal(0.0, 0.05, shape), axis=1), 6.0, 30.0)
    fields["wind"] = np.abs(6.0 + np.cumsum(noise.normal(0.0, 0.2, shape), axis=1))
    showers = noise.random(shape) < 0.004
    fields["rain"] = np.where(showers, noise.random(shape), 0.0)
    fields["sun"] = np.clip(400.0 * np.sin((hour - 6.0) / 12.0 * np.pi), 0.0, None) * np.ones(shape)
    if rng.random() < 0.3:
        hole = rng.randrange(points)
        name = rng.choice(sorted(fields))
        fields[name] = fields[name].copy()
        fields[name][:, hole : hole + rng.randint(1, 20)] = np.nan
    outdoors = rng.random() < 0.3
    first_minute = rng.choice((0, 7, 473))
    hours = rng.choice(([(0, 1439)], [(540, 1020)], [(485, 733), (790, 1111)]))
    bare = rng.random() < 0.3
    places = [
        checker.Place(
            step_min,
            first_minute,
            {name: [float(v) for v in values[m]] for name, values in fields.items()},
            outdoors,
            hours,
            bare,
        )
        for m in range(members)
    ]
    start = np.datetime64(START.replace(tzinfo=None), "s") + np.timedelta64(first_minute, "m")
    series = SurfaceSeries(
        space="outdoors" if outdoors else "saloon",
        surface="" if outdoors else "hull side",
        times=start + np.arange(points) * np.timedelta64(step_min, "m"),
        air_c=fields["air"],
        rh_pct=fields["rh"],
        dew_point_c=fields["dew"],
        surface_c=fields["surface"],
        wood_moisture_pct=fields["wood"],
        wind_ms=fields["wind"] if outdoors else None,
        rain_mm_h=fields["rain"] if outdoors else None,
        sun_w_m2=fields["sun"] if outdoors else None,
        measured=np.zeros(points, np.bool_),
        lead_h=hour,
        outdoors=outdoors,
    )
    wiped = [rng.randrange(points * step_min) for _ in range(rng.choice((0, 0, 1, 3)))]
    for place in places:
        place.wiped = tuple(wiped)
    lying = water_lying(series, [START + timedelta(minutes=first_minute + at) for at in wiped])
    return replace(series, lying_kg_m2=lying), places


def with_tins(rng: random.Random, series, places, sheet: Sheet, hands_on: int):
    """A tin kept where the work is, or carried from a warm home; told to both opinions."""
    outside = series.air_c - rng.choice((0.0, rng.uniform(0.0, 12.0)))
    outside = np.where(np.isnan(outside), -2.0, outside)
    usual = rng.choice((None, "home"))
    fetched = rng.randrange(len(series.times))
    size = rng.choice((None, 0.3, 5.0))
    tins = TinsKept(
        times=series.times,
        work=series.space,
        air_c=series.air_c,
        outside_c=outside,
        spaces={},
        tins=[] if size is None else [Tin(sheet="x", size=f"{size} L")],
        usual=usual,
        fetched=fetched,
        aboard=np.ones(len(series.times), np.bool_),
        zone=ZoneInfo("UTC"),
    )
    sheet._file_name = "x"
    asked = tin_asked(sheet, hands_on / 60.0)
    for member, place in enumerate(places):
        place.tin = checker.Tin(
            lags_h=tins.lags_h(asked),
            outside=[float(value) for value in outside[member]],
            home=None if usual is None else 19.0,
            fetched=fetched,
            hands_on=hands_on,
            most=math.inf if asked.most_c is None else asked.most_c,
        )
    return replace(series, tins=tins)


def compare(rng: random.Random, count: dict[str, int]) -> None:
    """One random case: sampled starts, and the times that follow some good ones."""
    printed = random_sheet(rng)
    sheet = as_toml(printed)
    step_min = rng.choice((10, 10, 10, 30, 60))
    series, places = random_place(rng, rng.choice((1, 1, 2)), step_min)
    hands_on = rng.choice((5, 40, 60, 95, 150))
    series = with_tins(rng, series, places, sheet, hands_on)
    points = len(series.times)
    hours_ok = np.array([places[0].aboard(k * step_min) for k in range(points)])
    verdict = judge(
        series, sheet, hands_on / 60.0, hours_ok=hours_ok, bare_wood=places[0].bare_wood
    )
    for member, place in enumerate(places):
        good = np.flatnonzero(verdict.ok[member])
        edges = [
            i for i in good if i in (0, points - 1) or not verdict.ok[member, i - 1 : i + 2].all()
        ]
        chosen = {*rng.sample(edges, min(8, len(edges)))}
        chosen |= {*rng.sample(list(good), min(3, len(good)))}
        for start in sorted(int(i) for i in chosen):
            reason = checker.why_not(printed, place, start * step_min, hands_on)
            assert reason is None, (printed, place.hours, step_min, member, start, hands_on, reason)
            count["called good, and checked"] += 1
        for start in rng.sample(range(points), 6):
            count["drawn"] += 1
            allowed = checker.why_not(printed, place, start * step_min, hands_on) is None
            assert allowed or not verdict.ok[member, start]
            count["allowed by both"] += int(allowed and verdict.ok[member, start])
            count["allowed, but refused"] += int(allowed and not verdict.ok[member, start])
        if len(good):
            _compare_times(rng, printed, sheet, series, place, member, int(rng.choice(list(good))))
            count["followed"] += 1


def _compare_times(rng, printed, sheet, series, place, member, start) -> None:
    """'From' never before the second opinion's slow time, 'until' never after its quick time."""
    single = SurfaceSeries(
        **{
            name: getattr(series, name)[member : member + 1]
            if name in ("air_c", "rh_pct", "dew_point_c", "surface_c", "wood_moisture_pct")
            else None
            if name.endswith(("_ms", "_mm_h", "_w_m2", "tin_c", "tins"))
            else getattr(series, name)
            for name in SurfaceSeries.__dataclass_fields__
        }
    )
    step = place.step_min
    begin, end = np.array([float(start)]), np.array([start + 1.0])
    found = followed(CureModel(sheet, single), begin, end, recoat_bounds(sheet))[0]
    for row, index in (
        ("touch dry", found.touch_dry),
        ("handling", found.recoat_from),
        ("closed up", found.closed_up),
        ("full cure", found.full_cure),
    ):
        if index is not None:
            slow = checker.reached(printed, place, row, (start + 1) * step, "slow")
            # Behind a hole the second opinion gives up, the judge counts it as nothing.
            holes = any(
                np.isnan(place.values[name]).any() for name in ("surface", "air", "rh", "dew")
            )
            assert holes or (slow is not None and index * step >= slow)
    no_bead = checker.Printed(**{**vars(printed), "depth": None})
    quick = checker.reached(no_bead, place, "closed up", start * step, "quick")
    if quick is not None:
        holes = any(np.isnan(place.values[name]).any() for name in ("surface", "air", "rh", "dew"))
        # A deadline that comes within the weather known must be told.
        assert holes or found.recoat_until is not None
        assert found.recoat_until is None or found.recoat_until * step <= quick


def test_every_limit_has_a_second_opinion() -> None:
    """And nothing is checked that no sheet can ask for."""
    assert sorted(limit.name for limit in checker.LIMITS.values()) == sorted(
        kind.name for kind in KINDS
    )


@pytest.mark.parametrize("drawn", [60, pytest.param(500, marks=pytest.mark.slow)])
def test_no_start_is_called_good_that_the_second_opinion_refuses(drawn: int) -> None:
    rng = random.Random(20260112)
    count = dict.fromkeys(
        (
            "called good, and checked",
            "drawn",
            "allowed by both",
            "allowed, but refused",
            "followed",
        ),
        0,
    )
    for _ in range(drawn):
        compare(rng, count)
    print(count)  # noqa: T201
    assert count["called good, and checked"] > 0.6 * drawn
    assert count["allowed, but refused"] < 0.02 * count["drawn"]


@cases(25)
@given(st.integers(0, 2**48))
def test_no_start_is_called_good_wherever_the_search_goes(seed: int) -> None:
    compare(
        random.Random(seed),
        dict.fromkeys(
            (
                "called good, and checked",
                "drawn",
                "allowed by both",
                "allowed, but refused",
                "followed",
            ),
            0,
        ),
    )


@cases(40)
@given(st.integers(0, 2**48))
def test_the_rate_in_a_step_bounds_the_rate_at_every_moment_in_it(seed: int) -> None:
    rng = random.Random(seed)
    printed = random_sheet(rng)
    sheet = as_toml(printed)
    series, places = random_place(rng, 1, 60)
    laws = {"handling": milestone_laws(sheet, "handling")[0]}
    if printed.depth is not None:
        laws["bead"] = milestone_laws(sheet, "closed up")[1]
    for row, law in laws.items():
        slow = step_rates(law, sheet, series, "slow")[0][0]
        quick = step_rates(law, sheet, series, "quick")[0][0]
        for step in range(len(slow)):
            for minute in (0.0, 6.0, 21.0, 30.0, 47.0, 59.9):
                true_slow, true_quick = (
                    checker.rate(printed, places[0], row, 60 * step + minute, side)
                    for side in ("slow", "quick")
                )
                least = np.nan_to_num(slow[step])  # an unknown step counts nothing
                assert np.isnan(true_slow) or least <= true_slow * (1.0 + 1e-9)
                unknown = np.isnan(quick[step]) or np.isnan(true_quick)
                assert unknown or quick[step] >= true_quick * (1.0 - 1e-9)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_constant_conditions_take_the_printed_time(chemistry: str) -> None:
    """At a printed temperature and humidity a coat takes the printed time and its band."""
    rng = random.Random(7)
    printed = random_sheet(rng)
    printed.chemistry, printed.basis = chemistry, "data sheet"
    printed.temps, printed.rows = [20.0], {name: [6.0] for name in MILESTONES}
    printed.humidity, printed.depth = 50.0, None
    printed.stops_below, printed.stops_above_humidity = 0.0, None
    dew = 9.254  # of 20 °C and 50 %: Magnus form of WMO-No. 8, annex 4.B
    still = np.full((1, 100), 20.0)
    series = SurfaceSeries(
        space="saloon",
        surface="hull side",
        times=np.datetime64("2026-01-12", "s") + np.arange(100) * np.timedelta64(600, "s"),
        air_c=still,
        rh_pct=np.full((1, 100), 50.0),
        dew_point_c=np.full((1, 100), dew),
        surface_c=still,
        wood_moisture_pct=None,
        wind_ms=None,
        rain_mm_h=None,
        sun_w_m2=None,
        measured=np.zeros(100, np.bool_),
        lead_h=np.zeros(100),
    )
    model = CureModel(as_toml(printed), series)
    at = {
        s: float(model.milestone_end("touch dry", np.array([0.0]), s)[0, 0])
        for s in ("slow", "typical", "quick")
    }
    assert at["typical"] == pytest.approx(36.0, abs=0.05)
    assert at["slow"] == pytest.approx(36.0 * 1.1, abs=0.05)
    assert at["quick"] == pytest.approx(36.0 / 1.1, abs=0.05)
