"""The day sheet on the screen: a phone's, a terminal's, JSON, and in °F."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import Result

from curewindow.daysheet import DaySheet, WindowsAhead
from tests.fewer_jobs import only_jobs, weather_until

Run = Callable[..., Result]
AT = "2026-11-25 08:30"


def test_fits_a_phone(run: Run, demo: Path) -> None:
    result = run("today", "--boat", demo, "--at", AT, width=40)
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert len(lines) <= 70  # of dangers none is cut
    assert max(map(len, lines)) <= 40
    assert "\x1b" not in result.stdout


@pytest.mark.parametrize("width", [32, 60, 80, 96])
@pytest.mark.parametrize("extra", [[], ["--full"]])
def test_keeps_to_the_width(run: Run, demo: Path, width: int, extra: list[str]) -> None:
    result = run("today", "--boat", demo, "--at", AT, *extra, width=width)
    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= width


def test_says_what_an_owner_asks_first(run: Run, demo: Path) -> None:
    text = run("today", "--boat", demo, "--at", AT).stdout
    # the recoat interval that ends today comes before everything else
    assert text.splitlines()[1].startswith("! saloon doors: recoat by today ")
    order = [text.index(h) for h in ("GO TODAY", "LATER", "NO WINDOW", "Done:", "NOW", "TAKE CARE")]
    assert order == sorted(order)
    assert "last start" in text
    assert "check your tin" in text
    assert "judged by itself" in text
    assert not re.search(r"\d K\b", text)  # nobody says kelvin aboard


def test_json_is_the_model(run: Run, demo: Path) -> None:
    result = run("today", "--boat", demo, "--at", AT, "--json")
    sheet = DaySheet.model_validate_json(result.stdout)
    assert sheet.boat == "Slow Kettle"
    assert {day.status for day in sheet.jobs} == {"go", "wait", "blocked", "done"}
    assert json.loads(result.stdout)["as_of"] == "2026-11-25T07:30:00Z"


def test_one_job(run: Run, demo: Path) -> None:
    text = run("today", "chart table", "--boat", demo, "--at", AT).stdout
    assert "tightest: " in text
    assert "chance that the best start holds" in text
    assert "saloon doors: coat" not in text


def test_unknown_job(run: Run, demo: Path) -> None:
    result = run("today", "chart tabel", "--boat", demo, "--at", AT)
    assert result.exit_code == 2
    assert result.stderr == "error: there is no job 'chart tabel'; did you mean 'chart table'?\n"


def test_colour_only_for_a_terminal(run: Run, demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from curewindow.cli import text

    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    assert text.colour_wanted()
    monkeypatch.setenv("NO_COLOR", "1")
    assert not text.colour_wanted()
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("TERM", "dumb")
    assert not text.colour_wanted()


def test_colour_changes_no_word(demo: Path) -> None:
    import click

    from curewindow.cli.daytext import day_lines
    from curewindow.daysheet import day_sheet
    from tests.cli.conftest import MORNING

    sheet = day_sheet(demo, MORNING)
    plain = day_lines(sheet, width=80)
    coloured = day_lines(sheet, width=80, colour=True)
    assert plain != coloured
    assert plain == [click.unstyle(line) for line in coloured]


@pytest.fixture(scope="module")
def celsius(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A few jobs, which is enough to compare two boats by."""
    shutil.copytree(demo, folder := tmp_path_factory.mktemp("c") / "boat")
    only_jobs(folder, "saloon doors", "chart table", "wheelhouse windows")
    return folder


@pytest.fixture(scope="module")
def fahrenheit(celsius: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    shutil.copytree(celsius, folder := tmp_path_factory.mktemp("f") / "boat")
    path = folder / "boat.toml"
    text = path.read_text(encoding="utf-8")
    assert 'temperature = "°C"' in text
    path.write_text(text.replace('temperature = "°C"', 'temperature = "°F"'), encoding="utf-8")
    return folder


@pytest.mark.slow
def test_boat_in_fahrenheit(run: Run, celsius: Path, fahrenheit: Path) -> None:
    plain = run("today", "--boat", celsius, "--at", AT, "--full").stdout
    text = run("today", "--boat", fahrenheit, "--at", AT, "--full").stdout
    assert "°C" not in text
    assert not re.search(r"\d K\b", text)

    def first(pattern: str, said: str) -> float:
        found = re.search(pattern, said)
        assert found is not None
        return float(found[1].replace("−", "-"))

    # a temperature: 1.8 t + 32; shown to a tenth of a degree
    air = r"forepeak +([−\d.]+) °"
    assert first(air, text) == pytest.approx(first(air, plain) * 1.8 + 32, abs=0.15)
    # a difference: 1.8 times, no 32
    margin = r"deck \+([\d.]+) °"
    assert first(margin, text) == pytest.approx(first(margin, plain) * 1.8, abs=0.15)
    # a limit in a reason written below
    limit = r"(?:below|at least) ([−\d.]+) °"
    assert first(limit, text) == pytest.approx(first(limit, plain) * 1.8 + 32, abs=0.15)


def test_json_stays_in_celsius(run: Run, celsius: Path, fahrenheit: Path) -> None:
    one = json.loads(run("today", "--boat", celsius, "--at", AT, "--json").stdout)
    other = json.loads(run("today", "--boat", fahrenheit, "--at", AT, "--json").stdout)
    assert other["temperature_unit"] == "°F"
    assert one["spaces"] == other["spaces"]
    assert one["clocks"] == other["clocks"]


def test_windows_ahead(run: Run, demo: Path) -> None:
    text = run("windows", "--boat", demo, "--at", AT, "--days", "2").stdout
    assert "opens: open already; closes: nobody aboard after 18:00" in text
    assert "tightest: " in text
    assert "next coat" in text
    assert max(map(len, text.splitlines())) <= 80
    narrow = run("windows", "--boat", demo, "--at", AT, width=40).stdout
    assert max(map(len, narrow.splitlines())) <= 40
    # days that are alike are told once
    assert "today until Sat, daily 08:30" in " ".join(narrow.split())
    table = run("windows", "chart table", "--boat", demo, "--at", AT, width=40).stdout
    assert len(table.splitlines()) <= 22  # with the caution once for all


def test_windows_json_and_days(run: Run, demo: Path) -> None:
    def ahead(*more: str) -> WindowsAhead:
        result = run("windows", *more, "--boat", demo, "--at", AT, "--json")
        return WindowsAhead.model_validate_json(result.stdout)

    whole, short = ahead("chart table", "--days", "14"), ahead("chart table", "--days", "2")
    week = ahead("chart table")
    assert len(short.jobs[0].windows) < len(week.jobs[0].windows) < len(whole.jobs[0].windows)
    assert week.until - week.as_of == timedelta(days=7)
    # none within a day: the next one is told all the same
    (fitting,) = ahead("mooring bitts", "--days", "1").jobs
    assert fitting.windows == []
    assert fitting.if_wiped is not None
    assert fitting.if_wiped.opens > short.as_of + timedelta(days=1)
    assert [job.job for job in whole.jobs] == ["chart table"]
    assert len(short.jobs[0].windows) < len(whole.jobs[0].windows)
    assert all(window.opens <= short.until for window in short.jobs[0].windows)
    opens = [window.opens for window in whole.jobs[0].windows]
    assert opens == sorted(opens)


def test_windows_and_day_sheet_agree(run: Run, demo: Path) -> None:
    day = DaySheet.model_validate_json(run("today", "--boat", demo, "--at", AT, "--json").stdout)
    ahead = WindowsAhead.model_validate_json(
        run("windows", "--boat", demo, "--at", AT, "--days", "14", "--json").stdout
    )
    for one, other in zip(day.jobs, ahead.jobs, strict=True):
        shown = [*one.windows_today, *([one.next_window] if one.next_window else [])]
        assert [w.model_dump() for w in shown] == [
            w.model_dump() for w in other.windows[: len(shown)]
        ]


def test_no_jobs_yet(run: Run, demo: Path, tmp_path: Path) -> None:
    for name in ("boat.toml", "weather.csv"):
        shutil.copy(demo / name, tmp_path)
    (tmp_path / "work.toml").write_text("format = 1\n", encoding="utf-8")
    text = run("today", "--boat", tmp_path, "--at", AT).stdout
    assert "No jobs yet" in text
    assert "no readings: cabin conditions are worked out, not measured" in text


@pytest.mark.slow
@pytest.mark.parametrize(
    ("day", "hours"),
    [
        # Directive 2000/84/EC: 25 hours on 25 October 2026, 23 on 29 March 2026
        ("2026-10-25", 25),
        ("2026-03-29", 23),
        ("2026-11-25", 24),
    ],
)
def test_days_on_which_the_clocks_change(run: Run, tmp_path: Path, day: str, hours: int) -> None:
    """Hours aboard are by the wall clock, before and after the change."""
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from curewindow.demo import files as demofiles

    zone = ZoneInfo("Europe/Amsterdam")
    midnight = datetime.fromisoformat(day).replace(tzinfo=zone)
    following = (midnight + timedelta(days=1)).astimezone(zone)
    assert (following.timestamp() - midnight.timestamp()) / 3600 == hours
    demofiles.write(tmp_path / "boat", midnight.replace(hour=8, minute=30))
    weather_until(tmp_path / "boat", f"{midnight + timedelta(days=8):%Y-%m-%d}")
    only_jobs(tmp_path / "boat", "saloon doors", "chart table", "mooring bitts", "hatch coaming")
    for clock in ("08:30",) if hours == 24 else ("00:30", "23:30"):
        result = run("today", "--boat", tmp_path / "boat", "--at", f"{day} {clock}", "--json")
        assert result.exit_code == 0, result.stderr
        sheet = DaySheet.model_validate_json(result.stdout)
        for job in sheet.jobs:
            for window in [*job.windows_today, *([job.next_window] if job.next_window else [])]:
                assert window.opens.astimezone(zone).hour >= 8
                end = window.closes.astimezone(zone)
                assert end.hour < 18 or (end.hour, end.minute) == (18, 0)
