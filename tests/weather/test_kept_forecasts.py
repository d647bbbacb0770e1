"""Forecasts kept: rounded as stated, whole after a kill, for two writers, thrown out in time."""

from __future__ import annotations

import logging
import os
import signal
import subprocess
import sys
import textwrap
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.boat.schema import Place
from curewindow.physics.air import dew_point_from_pressure
from curewindow.weather import kept_forecasts
from curewindow.weather.forecast import Forecast
from curewindow.weather.kept_forecasts import all_names, keep, kept, kept_bytes, prune
from curewindow.weather.packed import STEPS, pack, unpack, vapour_of
from tests.cases import cases

PLACE = Place(latitude=52.0, longitude=5.0, time_zone="UTC")
MADE = datetime(2026, 1, 10, 5, 20, tzinfo=UTC)


def forecast(
    seed: int = 0, members: int = 3, days: int = 10, source: str = "feed", later: int = 0
) -> Forecast:
    rng = np.random.default_rng(seed)
    points = days * 144
    shape = (members, points)
    temp = rng.normal(4.0, 8.0, shape)
    begin = MADE.replace(tzinfo=None, hour=0, minute=0) + timedelta(days=later)
    first = np.datetime64(begin, "s")
    return Forecast(
        times=first + np.arange(points) * np.timedelta64(600, "s"),
        temp_c=temp,
        vapour_pa=vapour_of(temp - rng.uniform(0.0, 8.0, shape)),
        wind_ms=rng.uniform(0.0, 30.0, shape),
        rain_mm_h=np.maximum(rng.normal(-1.0, 1.0, shape), 0.0),
        cloud_frac=rng.uniform(0.0, 1.0, shape),
        sun_w_m2=rng.uniform(0.0, 900.0, shape),
        gap_h=np.ones(points),
        source=source,
        attribution="",
        issued_at=None,
        fetched_at=MADE,
    )


def since() -> np.datetime64:
    return np.datetime64(MADE.replace(tzinfo=None), "s")


@cases(25)
@given(st.integers(0, 10_000), st.integers(1, 6), st.floats(0.0, 0.4))
def test_what_comes_back_is_rounded_and_no_more(seed: int, members: int, holes: float) -> None:
    given_ = forecast(seed, members, days=4)
    temp = given_.temp_c.copy()
    temp[np.random.default_rng(seed).random(temp.shape) < holes] = np.nan
    given_ = replace(given_, temp_c=temp)
    found = unpack(pack(given_, since()))
    at = np.searchsorted(given_.times, found.times)
    assert (given_.times[at] == found.times).all()
    for name, step in STEPS.items():
        if name == "dew_point_c":
            was = np.asarray(dew_point_from_pressure(given_.vapour_pa[:, at]))
        else:
            was = getattr(given_, name)[:, at]
        known = np.isfinite(was)
        assert (np.isfinite(found.columns[name]) == known).all()
        # half a step; of rain the least there is stands for all less
        reach = step if name == "rain_mm_h" else step / 2.0
        assert np.abs(found.columns[name] - was)[known].max(initial=0.0) <= reach + 1e-6
    assert ((found.columns["rain_mm_h"] > 0.0) == (given_.rain_mm_h[:, at] > 0.0)).all()


def test_hours_get_thinner_further_ahead() -> None:
    ahead = (unpack(pack(forecast(), since())).times - since()) / np.timedelta64(3600, "s")
    steps = np.diff(ahead).round(6)
    assert set(steps[ahead[1:] <= 47.0]) == {1.0}
    assert set(steps[(ahead[1:] > 50.0) & (ahead[1:] < 143.0)]) == {3.0}
    assert set(steps[ahead[1:] > 150.0]) == {6.0}


def test_a_broken_file_is_left_out_with_a_word(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    for hour in range(4):
        assert keep(tmp_path, PLACE, forecast(hour), MADE + timedelta(hours=hour))
    names = all_names(tmp_path)
    whole = names[0].path.read_bytes()
    names[0].path.write_bytes(b"")  # a flat battery
    names[1].path.write_bytes(whole[: len(whole) // 2])
    names[2].path.write_bytes(b"{}\n" + whole.partition(b"\n")[2])
    (names[3].path.parent / "notes.txt").write_text("not ours")
    with caplog.at_level(logging.WARNING):
        assert len(list(kept(tmp_path, PLACE))) == 1
    assert caplog.text.count("is left out") == 3


def test_each_is_kept_once(tmp_path: Path) -> None:
    assert keep(tmp_path, PLACE, forecast(), MADE)
    assert not keep(tmp_path, PLACE, forecast(), MADE)
    # got again within the hour with nothing new in it
    assert not keep(tmp_path, PLACE, forecast(), MADE + timedelta(minutes=20))
    assert keep(tmp_path, PLACE, forecast(1), MADE + timedelta(minutes=30))
    assert keep(tmp_path, PLACE, forecast(source="another"), MADE)
    elsewhere = PLACE.model_copy(update={"latitude": 53.0})
    assert keep(tmp_path, elsewhere, forecast(), MADE)
    assert [f.source for f in kept(tmp_path, PLACE)] == ["feed", "another", "feed"] or [
        f.source for f in kept(tmp_path, PLACE)
    ] == ["another", "feed", "feed"]
    assert len(list(kept(tmp_path, elsewhere))) == 1


def test_old_ones_go_and_so_does_what_is_too_much(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for day in range(0, 500, 50):
        keep(tmp_path, PLACE, forecast(later=day), MADE + timedelta(days=day))
    assert all_names(tmp_path)[0].made_at >= MADE + timedelta(days=450) - kept_forecasts.KEEP
    monkeypatch.setattr(kept_forecasts, "LARGEST_BYTES", kept_bytes(tmp_path) // 2)
    prune(tmp_path, MADE + timedelta(days=450))
    names = all_names(tmp_path)
    assert 0 < kept_bytes(tmp_path) <= kept_forecasts.LARGEST_BYTES
    assert names[-1].made_at == MADE + timedelta(days=450)
    months = {path.name for path in (tmp_path / "forecasts").iterdir()}
    assert months == {f"{name.made_at:%Y-%m}" for name in names}


def test_a_folder_nobody_may_write_to_is_a_warning(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    (tmp_path / "forecasts").write_text("a file is in the way")
    with caplog.at_level(logging.WARNING):
        assert not keep(tmp_path, PLACE, forecast(), MADE)
    assert "is not kept" in caplog.text
    assert list(kept(tmp_path, PLACE)) == []


_WRITER = """
import sys, time
from datetime import timedelta
from pathlib import Path
sys.path[:0] = [{here!r}, {root!r}]
import test_kept_forecasts as t
n = 0
print("begun", flush=True)
while n < {count}:
    made = t.MADE + timedelta(minutes=n)
    t.keep(Path({folder!r}), t.PLACE, t.forecast(n, source={source!r}), made)
    n += 1
"""


def _writer(folder: Path, source: str, count: int) -> subprocess.Popen[str]:
    code = textwrap.dedent(_WRITER).format(
        here=str(Path(__file__).parent),
        root=str(Path(__file__).parents[2]),
        folder=str(folder),
        source=source,
        count=count,
    )
    return subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)


@pytest.mark.skipif(os.name == "nt", reason="kills a process by signal")
def test_killed_while_writing_everything_kept_is_whole(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    writers = [_writer(tmp_path, "one", 10_000), _writer(tmp_path, "two", 10_000)]
    for writer in writers:
        assert writer.stdout is not None
        writer.stdout.readline()
    time.sleep(0.7)
    for writer in writers:
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        assert writer.stdout is not None
        writer.stdout.close()
    with caplog.at_level(logging.WARNING):
        found = list(kept(tmp_path, PLACE))
    assert {f.source for f in found} == {"one", "two"}
    assert len(found) == len(all_names(tmp_path)) > 10
    assert caplog.text == ""
    assert keep(tmp_path, PLACE, forecast(9), MADE + timedelta(days=9))
