"""`curewindow trust`: what comes out of the command itself, and what `today` leaves for it."""

from __future__ import annotations

import json
import logging
import sqlite3
import xml.etree.ElementTree as ET
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner, Result

from curewindow.calibration.answer import TrustAnswer
from curewindow.calibration.stated import keep_stated, stated_between
from curewindow.cli.main import command
from curewindow.weather import kept_file, kept_forecasts

AT = "2026-03-01 09:00"


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Result]:
    def ran(*arguments: str | Path, width: int = 80) -> Result:
        monkeypatch.setenv("COLUMNS", str(width))
        return CliRunner().invoke(command, [str(a) for a in arguments])

    return ran


@pytest.fixture
def boat(history: Callable[..., Any]) -> Any:
    """With windows told too surely, and a place colder than its grid."""
    made = history()
    made.keep(off_k=1.5)
    made.tell(7, 0.95)
    made.tell(13, 0.9, days_ahead=3)
    made.read_outdoors(0.0)
    return made


def test_told_in_words_with_a_diagram_and_scores(run: Callable[..., Result], boat: Any) -> None:
    result = run("trust", "--boat", boat.folder, "--at", AT, "--offline")
    assert result.exit_code == 0, result.stderr
    text = " ".join(result.stdout.split())
    assert "forecasts kept since" in text
    assert "less often than stated" in text
    assert "9 in 10 a day ahead becomes" in text
    assert "corrected for this place" in text
    assert "1.5 °C colder" in text
    assert "Brier score: 0 is perfect" in text
    assert "●" in result.stdout
    assert "3 d" in result.stdout


def test_on_a_phone_and_in_plain_letters(run: Callable[..., Result], boat: Any) -> None:
    result = run("trust", "--boat", boat.folder, "--at", AT, "--offline", "--plain", width=40)
    assert result.exit_code == 0, result.stderr
    assert max(map(len, result.stdout.splitlines())) <= 40
    assert "#" in result.stdout
    assert not set(result.stdout) & set("●○┊│")


def test_numbers_keep_to_the_published_schema(run: Callable[..., Result], boat: Any) -> None:
    schema = json.loads(run("schema", "--answer", "trust").stdout)
    printed = run("trust", "--boat", boat.folder, "--at", AT, "--offline", "--json").stdout
    jsonschema.Draft202012Validator(schema).validate(json.loads(printed))
    answer = TrustAnswer.model_validate_json(printed)
    (feed,) = answer.feeds
    assert feed.windows_judged == sum(day.score.cases for day in feed.by_lead_day)
    assert feed.windows_judged == sum(point.cases for point in feed.diagram)
    assert feed.correction is not None
    assert feed.correction.ninety_a_day_ahead < 0.9
    assert answer.written_down


@pytest.mark.parametrize("name", ["diagram.svg", "diagram.png"])
def test_drawn_into_a_file(
    run: Callable[..., Result], boat: Any, tmp_path: Path, name: str
) -> None:
    target = tmp_path / name
    result = run("trust", "--boat", boat.folder, "--at", AT, "--offline", "--to", target)
    assert result.exit_code == 0, result.stderr
    if name.endswith("svg"):
        drawn = "".join(ET.parse(target).getroot().itertext())
        assert "Brier score" in drawn
        assert "as stated" in drawn
    else:
        assert target.read_bytes().startswith(b"\x89PNG")


def test_nothing_yet_is_an_answer(run: Callable[..., Result], history: Callable[..., Any]) -> None:
    empty = history()
    result = run("trust", "--boat", empty.folder, "--at", AT)
    assert result.exit_code == 0
    assert "No forecast is kept yet" in result.stdout
    target = empty.folder / "a.svg"
    drawn = run("trust", "--boat", empty.folder, "--at", AT, "--to", target)
    assert drawn.exit_code == 2
    assert "nothing to draw yet" in drawn.stderr
    assert not target.exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--to", "diagram.pdf"], "ends in .svg or .png"),
        (["--at", "some day"], "is not a time"),
        (["--boat", "/nowhere/at/all"], "no boat folder"),
        (["--to", "/nowhere/at/all/a.svg"], "cannot be written"),
    ],
)
def test_one_clear_line(
    run: Callable[..., Result], boat: Any, arguments: list[str], said: str
) -> None:
    given = ["trust", "--offline", *arguments]
    given += [] if "--boat" in arguments else ["--boat", boat.folder]
    given += [] if "--at" in arguments else ["--at", AT]
    result = run(*given)
    assert result.exit_code == 2
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1


@pytest.mark.parametrize("content", [b"not a database", b""])
def test_a_file_that_is_not_ours(
    run: Callable[..., Result], boat: Any, content: bytes, caplog: pytest.LogCaptureFixture
) -> None:
    path = boat.folder / kept_file.FILE
    for extra in ("-wal", "-shm"):
        path.with_name(path.name + extra).unlink(missing_ok=True)
    path.write_bytes(content)
    result = run("trust", "--boat", boat.folder, "--at", AT, "--offline")
    if content:
        assert result.exit_code == 5
        assert "trust.db" in result.stderr
        assert "moved away" in result.stderr
        assert len(result.stderr.splitlines()) == 1
    else:  # an empty file is made anew
        assert result.exit_code == 0, result.stderr


def test_another_programs_database_is_left_alone(run: Callable[..., Result], boat: Any) -> None:
    path = boat.folder / kept_file.FILE
    path.unlink()
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE theirs (a)")
    connection.close()
    before = path.read_bytes()
    assert run("trust", "--boat", boat.folder, "--at", AT, "--offline").exit_code == 5
    assert path.read_bytes() == before


def _weather(folder: Path, now: datetime) -> None:
    first = now - timedelta(days=3)
    rows = ["time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
    rows += [f"{first + timedelta(hours=h):%Y-%m-%dT%H:%M}Z,15,4,2,0,100,0" for h in range(240)]
    (folder / "weather.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")


def test_today_leaves_what_it_tells(
    run: Callable[..., Result], history: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    boat = history()
    _weather(boat.folder, boat.now)
    # a file of this very day: made when it was last written
    import os

    os.utime(boat.folder / "weather.csv", (boat.now.timestamp() - 3600,) * 2)
    for _ in range(2):
        assert run("today", "--boat", boat.folder, "--at", AT).exit_code == 0
    assert run("windows", "--boat", boat.folder, "--at", AT).exit_code == 0
    assert len(kept_forecasts.all_names(boat.folder)) == 1
    with kept_file.to_read(boat.folder) as connection:
        assert connection is not None
        told = stated_between(connection, boat.now, boat.now + timedelta(days=30))
    assert {each.job for each in told} == {"deck", "lockers"}
    assert all(each.told == boat.now and 0.0 < each.stated <= 1.0 for each in told)
    assert len({(each.job, each.start) for each in told}) == len(told)
    # another time is only thought of
    count = len(told)
    assert run("today", "--boat", boat.folder, "--at", "2026-03-02 09:00").exit_code == 0
    with kept_file.to_read(boat.folder) as connection:
        assert connection is not None
        found = stated_between(
            connection, datetime(2020, 1, 1, tzinfo=UTC), boat.now + timedelta(days=60)
        )
    assert len(found) == count


def test_nothing_is_kept_where_the_owner_says_so(
    run: Callable[..., Result], history: Callable[..., Any]
) -> None:
    boat = history("keep_forecasts = false")
    _weather(boat.folder, boat.now)
    assert run("today", "--boat", boat.folder, "--at", AT).exit_code == 0
    assert not (boat.folder / "forecasts").exists()
    assert not (boat.folder / kept_file.FILE).exists()


def test_a_file_that_is_held_never_stops_the_day_sheet(
    history: Callable[..., Any], caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    from curewindow.daysheet import day_sheet

    boat = history()
    _weather(boat.folder, boat.now)
    sheet = day_sheet(boat.folder, boat.now)
    assert keep_stated(boat.folder, boat.boat, sheet) > 0
    monkeypatch.setattr(kept_file, "_WAIT_S", 0.05)
    holder = sqlite3.connect(boat.folder / kept_file.FILE, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    with caplog.at_level(logging.WARNING):
        later = sheet.model_copy(update={"as_of": boat.now + timedelta(minutes=14)})
        assert keep_stated(boat.folder, boat.boat, later) == 0
        assert day_sheet(boat.folder, boat.now).jobs
    holder.close()
    assert "is not kept" in caplog.text
