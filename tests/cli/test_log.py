"""`curewindow log`: one line back for each entry, defaults from the work list, tables."""

from __future__ import annotations

import json
import tomllib
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner, Result

from curewindow.boat.aboard import Aboard
from curewindow.boat.schema import Boat
from curewindow.cli.main import command
from curewindow.logbook import entry as logentry
from curewindow.record import Coat, Record
from curewindow.wording import moment

BOAT = """
format = 1
name = "Tin Whistle"
[place]
latitude = 52.4
longitude = 5.0
time_zone = "Europe/Amsterdam"
[units]
temperature = "{unit}"
[[space]]
name = "saloon"
volume = "12 m³"
[[space.panel]]
name = "hull side"
area = "6 m²"
layers = [{{ material = "steel", thickness = "4 mm" }}]
[[space.panel]]
name = "overhead"
area = "5 m²"
facing = "overhead"
layers = [{{ material = "steel", thickness = "4 mm" }}]
[[space]]
name = "locker"
logged_only = true
"""
WORK = """
format = 1
[[job]]
name = "lining"
space = "saloon"
area = "4 m²"
[[job.step]]
do = "sand"
[[job.step]]
do = "coat"
sheet = "oil-varnish"
coats = 2
hands_on = "1 h"
[[job.step]]
do = "fit"
[[job]]
name = "floor"
space = "saloon"
[[job.step]]
do = "coat"
sheet = "oil-varnish"
"""


class Shell:
    """Runs commands in a boat folder."""

    def __init__(self, folder: Path):
        self.folder = folder

    def run(self, *arguments: str) -> Result:
        return CliRunner().invoke(command, ["log", *arguments, "--boat", str(self.folder)])

    def ok(self, *arguments: str) -> str:
        result = self.run(*arguments)
        assert result.exit_code == 0, result.output
        return result.output

    def json(self, *arguments: str) -> Any:
        return json.loads(self.ok(*arguments, "--json"))

    def fails(self, code: int, *arguments: str) -> str:
        """The error's one line."""
        result = self.run(*arguments)
        assert result.exit_code == code, result.output
        *_, line = result.stderr.splitlines()
        assert line.startswith("error: ")
        return line


def make(folder: Path, unit: str = "°C") -> Shell:
    folder.mkdir(exist_ok=True)
    (folder / "boat.toml").write_text(BOAT.format(unit=unit), encoding="utf-8")
    (folder / "work.toml").write_text(WORK, encoding="utf-8")
    return Shell(folder)


@pytest.fixture
def shell(tmp_path: Path) -> Shell:
    return make(tmp_path / "boat")


# ---- readings --------------------------------------------------------------------------


def test_a_reading_is_repeated_in_one_line(shell: Shell) -> None:
    said = shell.ok("reading", "saloon", "12C", "70%", "--at", "2026-01-05 08:00")
    assert said == (
        "logged: saloon, Mon 5 Jan 08:00: air 12 °C, humidity 70 %; "
        "`curewindow log undo` takes it back\n"
    )
    # 08:00 in Amsterdam in winter is 07:00 UTC
    assert shell.json("show")["readings"][0]["at"] == "2026-01-05T07:00:00Z"


def test_all_that_can_be_read(shell: Shell) -> None:
    row = shell.json(
        *("reading", "saloon", "--air", "12,5 °C", "--humidity", "71 %", "--surface", "48 °F"),
        *("--panel", "overhead", "--wood", "14%", "--note", "after airing"),
        *("--at", "2026-01-05 08:00"),
    )["reading"]
    assert row["air_c"] == 12.5
    assert row["surface_c"] == pytest.approx((48 - 32) / 1.8)
    assert (row["panel"], row["wood_moisture_pct"], row["note"]) == (
        "overhead",
        14.0,
        "after airing",
    )


def test_below_zero_needs_no_quotes(shell: Shell) -> None:
    assert "air −3.5 °C" in shell.ok("reading", "outdoors", "-3.5C", "90%")


def test_the_boat_s_own_degrees(tmp_path: Path) -> None:
    shell = make(tmp_path / "boat", "°F")
    row = shell.json("reading", "saloon", "54F")
    assert row["reading"]["air_c"] == pytest.approx(12.2222, abs=1e-4)
    assert "air 54 °F" in row["said"]


def test_now_is_the_default(shell: Shell) -> None:
    at = datetime.fromisoformat(shell.json("reading", "locker", "9C")["reading"]["at"])
    assert abs(datetime.now(UTC) - at) < timedelta(minutes=1)


def test_a_weekday_is_the_last_one(shell: Shell) -> None:
    now = datetime.now(UTC)
    for day in ("Mon", "Thu", "Sun"):
        at = datetime.fromisoformat(
            shell.json("reading", "locker", "9C", "--at", f"{day} 12:00")["reading"]["at"]
        )
        assert timedelta(0) <= now + timedelta(minutes=3) - at < timedelta(days=8)
        assert f"{at:%a}" == day


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("salon", "12C"), "did you mean 'saloon'"),
        (("saloon", "12"), "no unit"),
        (("saloon", "54C"), "did you mean °F"),
        (("saloon", "12C", "9C"), "a second air"),
        (("saloon", "12C", "--air", "9C"), "given twice"),
        (("saloon", "12C", "170%"), "between 0 and 100"),
        (("saloon",), "at least one value"),
        (("saloon", "--surface", "9C"), "hull side, overhead"),
        (("saloon", "--surface", "9C", "--panel", "hullside"), "did you mean 'hull side'"),
        (("saloon", "12C", "--at", "2199-01-01 12:00"), "still to come"),
        (("saloon", "12C", "--at", "noonish"), "is not a time"),
    ],
)
def test_readings_that_are_refused(shell: Shell, arguments: tuple[str, ...], words: str) -> None:
    assert words in shell.fails(2, "reading", *arguments)
    assert shell.ok("show") == "nothing in the record yet\n"


# ---- coats and steps ---------------------------------------------------------------------


def test_the_next_step_and_coat_follow_from_the_record(shell: Shell) -> None:
    assert "lining, step 1 done: Mon 5 Jan 09:00" in shell.ok(
        "done", "lining", "--at", "2026-01-05 09:00"
    )
    assert "coat 1 of step 2" in shell.fails(2, "done", "lining")
    said = shell.ok("coat", "lining", "--start", "2026-01-05 10:00", "--end", "2026-01-05 11:30")
    assert said.startswith(
        "logged: lining, step 2, coat 1 of oil-varnish: Mon 5 Jan 10:00 until 11:30"
    )
    first, *care = said.splitlines()
    assert first.endswith("`curewindow log undo` takes it back")
    assert "! rags: " in " ".join(care)  # the sheet has 'self-heating rags'
    row = shell.json(
        *("coat", "lining", "--end", "2026-01-06 11:30", "--batch", "K7", "--area", "3 m²")
    )
    coat = row["coat"]
    assert (coat["step"], coat["coat"], coat["batch"], coat["area_m2"]) == (2, 2, "K7", 3.0)
    # an hour's work by the work list
    assert coat["start"] == "2026-01-06T09:30:00Z"
    assert "1 h before the end" in row["notes"][0]
    assert "no coat of 'lining' is due" in shell.fails(2, "coat", "lining")
    shell.ok("done", "lining", "--at", "2026-01-09 09:00")
    assert "every step" in shell.fails(2, "done", "lining")
    assert [row["step"] for row in shell.json("show", "--job", "lining")["done"]] == [1, 3]


def test_a_coat_ends_now_unless_said(shell: Shell) -> None:
    row = shell.json("coat", "floor")["coat"]
    assert abs(datetime.now(UTC) - datetime.fromisoformat(row["end"])) < timedelta(minutes=1)


def test_what_differs_from_the_work_list_is_said(shell: Shell) -> None:
    said = shell.ok("coat", "lining", "--end", "2026-01-05 11:00", "--sheet", "wood-oil")
    assert "step 1 (sand) is not in the record as done" in said
    assert "the work list has oil-varnish in step 2" in said
    assert "this is one more" in shell.ok(
        *("coat", "lining", "--coat", "3", "--end", "2026-01-07 11:00", "--earlier-unknown")
    )


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("coat", "linning"), "did you mean 'lining'"),
        (("coat", "lining", "--step", "1"), "there are: 2 (coat oil-varnish)"),
        (("coat", "lining", "--sheet", "oil-varnis"), "did you mean 'oil-varnish'"),
        (("coat", "lining", "--step", "2", "--coat", "1"), "in the record already"),
        (("coat", "lining", "--end", "2026-01-04 12:00"), "after this one's start"),
        (
            ("coat", "lining", "--start", "2026-01-06 12:00", "--end", "2026-01-06 11:00"),
            "not before the end",
        ),
        (("coat", "lining", "--start", "2026-01-06 12:00"), "not likely"),
        (("coat", "lining", "--area", "3 L"), "is not a unit of area"),
        (("done", "lining", "--step", "2"), "each coat is written down by itself"),
        (("done", "lining", "--step", "9"), "it has 3"),
        (("done", "lining", "--step", "1"), "done already"),
        (("done", "floor"), "next in 'floor' is coat 1"),
    ],
)
def test_coats_and_steps_that_are_refused(
    shell: Shell, arguments: tuple[str, ...], words: str
) -> None:
    shell.ok("done", "lining", "--at", "2026-01-03 09:00")
    shell.ok("coat", "lining", "--end", "2026-01-05 11:00")
    before = shell.ok("show")
    assert words in shell.fails(2, *arguments)
    assert shell.ok("show") == before


# ---- show, correct, undo -----------------------------------------------------------------


def test_correct_and_undo(shell: Shell) -> None:
    shell.ok("reading", "saloon", "21C", "70%", "--at", "2026-01-05 08:00")
    shell.ok("coat", "floor", "--end", "2026-01-05 11:00")
    answer = shell.json("correct", "r1", "--air", "-1C", "--note", "read it wrong")
    assert answer["corrects"] == 1
    assert answer["reading"]["air_c"] == -1.0
    assert answer["reading"]["rh_pct"] == 70.0
    shell.ok("correct", "c1", "--start", "2026-01-05 09:30", "--batch", "B2")
    shown = shell.ok("show").splitlines()
    assert [line.split()[0] for line in shown] == ["r2", "c2"]
    assert "09:30 until 11:00, batch B2" in shown[1]
    assert "counts again" in shell.ok("undo")
    shell.ok("undo")
    assert [line.split()[0] for line in shell.ok("show").splitlines()] == ["r1", "c1"]
    withdrawn = shell.json("undo")
    assert (withdrawn["kind"], withdrawn["size"]) == ("coat", 1)
    assert "taken back: saloon" in shell.ok("undo")
    assert "nothing to take back" in shell.fails(2, "undo")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("r9", "--air", "3C"), "no entry r9"),
        (("nine",), "is no entry"),
        (("r1",), "nothing given"),
        (("r1", "--batch", "x"), "a reading has no batch"),
        (("r1", "--panel", "hul side"), "did you mean 'hull side'"),
    ],
)
def test_corrections_that_are_refused(shell: Shell, arguments: tuple[str, ...], words: str) -> None:
    shell.ok("reading", "saloon", "21C")
    assert words in shell.fails(2, "correct", *arguments)


def test_show_by_space_and_number(shell: Shell) -> None:
    for hour in range(8, 12):
        shell.ok("reading", "saloon", f"{hour}C", "--at", f"2026-01-05 {hour:02}:00")
    shell.ok("reading", "locker", "5C", "--at", "2026-01-05 12:00")
    assert len(shell.ok("show").splitlines()) == 5
    last = shell.json("show", "--space", "saloon", "--last", "2")["readings"]
    assert [row["air_c"] for row in last] == [10.0, 11.0]
    assert not any(shell.json("show", "--job", "lining").values())


def test_showing_an_empty_record_makes_no_file(shell: Shell) -> None:
    shell.ok("show")
    assert not (shell.folder / "record.db").exists()


# ---- tables ------------------------------------------------------------------------------


def test_import_show_undo(shell: Shell, tmp_path: Path) -> None:
    file = tmp_path / "logger.csv"
    file.write_text("Zeit;Temp (°C);RH\n5.1.2026 08:00;12,5;71\n5.1.2026 09:00;12,0;70\n")
    said = shell.ok("import", str(file), "--space", "saloon")
    assert said == (
        f"imported: 2 readings of {file} into saloon; `curewindow log undo` takes it back\n"
    )
    assert "0 readings" in (said := shell.ok("import", str(file), "--space", "saloon"))
    assert "2 known already" in said
    assert "2 readings of logger.csv" in shell.ok("undo")
    assert shell.ok("show") == "nothing in the record yet\n"


def test_an_import_with_bad_lines(shell: Shell, tmp_path: Path) -> None:
    file = tmp_path / "logger.csv"
    file.write_text("time,air\n2026-01-05 08:00,12.5\n2026-01-05 09:00,warm\n")
    result = shell.run("import", str(file), "--space", "saloon")
    assert result.exit_code == 3
    assert result.stderr.splitlines() == [
        "line 3: air 'warm' is not a number",
        f"error: {file}: 1 of 2 lines cannot be used, so nothing was imported; "
        "--keep-good imports the others",
    ]
    result = shell.run("import", str(file), "--space", "saloon", "--json")
    assert result.exit_code == 3
    assert json.loads(result.stdout)["bad"] == [{"line": 3, "reason": "air 'warm' is not a number"}]
    answer = shell.json("import", str(file), "--space", "saloon", "--keep-good")
    assert (answer["read"], answer["added"], len(answer["bad"])) == (2, 1, 1)


@pytest.mark.parametrize(
    ("code", "arguments", "words"),
    [
        (3, (), "--space"),
        (2, ("--space", "salon"), "did you mean 'saloon'"),
        (2, ("--space", "saloon", "--zone", "Middle"), "is not a time zone"),
        (3, ("--space", "saloon", "--columns", "tim=time"), "did you mean 'time'"),
    ],
)
def test_imports_that_are_refused(
    shell: Shell, tmp_path: Path, code: int, arguments: tuple[str, ...], words: str
) -> None:
    file = tmp_path / "logger.csv"
    file.write_text("time,air\n2026-01-05 08:00,12.5\n")
    assert words in shell.fails(code, "import", str(file), *arguments)


def test_import_options(shell: Shell, tmp_path: Path) -> None:
    file = tmp_path / "logger.csv"
    file.write_text("when,reading,wall\n1/2/2026 08:00,50,41\n")
    shell.ok(
        *("import", str(file), "--space", "saloon", "--panel", "hull side", "--fahrenheit"),
        *("--columns", "time=when,air=reading,surface=wall", "--zone", "UTC+2"),
        *("--dates", "month-first"),
    )
    (row,) = shell.json("show")["readings"]
    assert (row["at"], row["air_c"], row["panel"]) == ("2026-01-02T06:00:00Z", 10.0, "hull side")
    assert row["surface_c"] == pytest.approx(5.0)


def test_a_long_import_shows_how_far_it_is(shell: Shell, tmp_path: Path) -> None:
    file = tmp_path / "long.csv"
    start = datetime(2026, 1, 1, tzinfo=UTC)
    lines = [
        f"{start + timedelta(minutes=n):%Y-%m-%dT%H:%M:%S}Z,10.5,70.5,{'x' * 60}"
        for n in range(6000)
    ]
    file.write_text("\n".join(["time,air,humidity,note", *lines]))
    result = shell.run("import", str(file), "--space", "saloon")
    assert "imported: 6000 readings" in result.stdout
    assert "long.csv" in result.stderr


def test_export(shell: Shell, tmp_path: Path) -> None:
    shell.ok("reading", "saloon", "12C", "70%", "--at", "2026-07-05 08:00")
    shell.ok("coat", "floor", "--end", "2026-07-05 11:00")
    header, row = shell.ok("export", "readings").splitlines()
    assert header.startswith('"time_utc","time_local","space","air_c"')
    assert row.startswith('"2026-07-05T06:00:00Z","2026-07-05T08:00:00+02:00","saloon",12.0,70.0')
    file = tmp_path / "coats.csv"
    assert shell.ok("export", "coats", str(file)) == f"exported: 1 coat to {file}\n"
    assert '"floor",1,1,' in file.read_text()
    assert "--overwrite" in shell.fails(3, "export", "coats", str(file))
    assert shell.json("export", "coats", str(file), "--overwrite") == {
        "file": str(file),
        "rows": 1,
    }
    assert len(shell.json("export", "coats")["coats"]) == 1


# ---- the record in trouble ---------------------------------------------------------------


def test_a_record_that_is_none(shell: Shell) -> None:
    (shell.folder / "record.db").write_text("scribbles " * 100)
    assert "is not a database" in shell.fails(5, "show")
    assert "is not a database" in shell.fails(5, "reading", "saloon", "12C")


def test_coats_of_a_job_that_left_the_work_list_are_still_shown(shell: Shell) -> None:
    at = datetime(2026, 1, 5, 9, tzinfo=UTC)
    with Record(shell.folder / "record.db") as record:
        record.add_coat(Coat("old job", 1, 1, at, at + timedelta(hours=1), "oil-varnish"))
    assert "old job, step 1, coat 1" in shell.ok("show", "--job", "old job")
    assert "there is no job" in shell.fails(2, "show", "--job", "older")


@pytest.mark.parametrize(
    "name", ["reading", "coat", "done", "correct", "show", "undo", "import", "export"]
)
def test_every_command_has_help_json_and_boat(name: str) -> None:
    text = CliRunner().invoke(command, ["log", name, "--help"]).output
    assert "--json" in text
    assert "--boat" in text


# ---- wiped dry -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "job", "space", "panel"),
    [
        (("lining",), "lining", None, None),
        (("LINING",), "lining", None, None),
        (("overhead",), None, "saloon", "overhead"),
        (("saloon", "--panel", "hull side"), None, "saloon", "hull side"),
        (("saloon", "--all"), None, "saloon", None),
        (("locker",), None, "locker", None),  # it has but one
    ],
)
def test_a_surface_wiped_dry(
    shell: Shell, given: tuple[str, ...], job: str | None, space: str | None, panel: str | None
) -> None:
    row = shell.json("dry", *given, "--at", "2026-01-05 08:00", "--note", "towel")["dry"]
    assert (row["job"], row["space"], row["panel"], row["note"]) == (job, space, panel, "towel")
    assert shell.json("show")["dry"] == [row]
    listed = shell.ok("show", *(("--job", job) if job else ("--space", str(space))))
    assert listed.startswith("   w1  ")
    assert "Mon 5 Jan 08:00: wiped dry" in listed
    shell.ok("undo")
    assert shell.json("show")["dry"] == []


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (("outdoors",), "name the job whose surface was wiped dry"),
        (("saloon",), "wiped dry: hull side, overhead?; write --panel 'hull side', or --all"),
        (("linnig",), "did you mean 'lining'?"),
        (("saloon", "--panel", "hul side"), "did you mean 'hull side'?"),
        (("lining", "--panel", "hull side"), "no job, panel or space 'lining'"),
        (("lining", "--at", "tomorrow 8:00"), "still to come"),
    ],
)
def test_what_was_wiped_has_to_be_clear(shell: Shell, given: tuple[str, ...], says: str) -> None:
    assert says in shell.fails(2, "dry", *given)
    assert shell.json("show")["dry"] == []


# ---- looked at, sanded -----------------------------------------------------------------


@pytest.fixture
def coated(shell: Shell) -> Shell:
    for day in ("05", "06"):
        times = ("--start", f"2026-01-{day} 09:00", "--end", f"2026-01-{day} 10:00")
        shell.ok("coat", "lining", *times)
    return shell


@pytest.mark.parametrize(
    ("given", "coat", "found"),
    [
        (("look", "lining", "--found", "sound"), 2, "sound"),
        (("look", "lining", "--found", "dull", "--at", "2026-01-06 08:00"), 1, "dull"),
        (("sand", "lining", "--coat", "1"), 1, "sanded"),
        (("sand", "lining", "--at", "2026-01-07 08:00", "--note", "P240"), 2, "sanded"),
    ],
)
def test_what_was_found_at_a_coat(
    coated: Shell, given: tuple[str, ...], coat: int, found: str
) -> None:
    answer = coated.json(*given)
    row = answer["inspection"]
    assert (row["job"], row["step"], row["coat"], row["found"]) == ("lining", 2, coat, found)
    assert any("data sheet comes first" in note for note in answer["notes"]) == (found == "dull")
    assert coated.json("show", "--job", "lining")["inspections"] == [row]
    (line,) = [line for line in coated.ok("show").splitlines() if " i1 " in line]
    assert found in line
    coated.ok("correct", "i1", "--note", "at the edge")
    assert coated.json("show")["inspections"][0]["note"] == "at the edge"
    coated.ok("undo")
    coated.ok("undo")
    assert coated.json("show")["inspections"] == []


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (("floor", "--found", "sound"), "no coat of 'floor' is in the record; write it down first"),
        (("lining", "--found", "sound", "--coat", "3"), "no such coat of 'lining'"),
        (("lining", "--found", "sound", "--at", "2026-01-05 09:30"), "was only on Mon 5 Jan 10:00"),
        (("lining",), "'--found'"),
        (("lining", "--found", "shiny"), "'sound', 'dull', 'sanded'"),
        (("lining", "--found", "sound", "--at", "tomorrow 8:00"), "still to come"),
    ],
)
def test_only_a_coat_that_is_there_can_be_looked_at(
    coated: Shell, given: tuple[str, ...], says: str
) -> None:
    assert says in coated.fails(2, "look", *given)
    assert coated.json("show")["inspections"] == []


# ---- taken back, whatever came after it ------------------------------------------------


def test_an_entry_that_is_not_the_last_is_taken_back_by_its_name(coated: Shell) -> None:
    coated.ok("reading", "saloon", "12C")
    assert "coat 1 of oil-varnish" in coated.ok("undo", "c1")
    assert [row["id"] for row in coated.json("show")["coats"]] == [2]
    assert len(coated.json("show")["readings"]) == 1
    assert "no entry c1 stands" in coated.fails(2, "undo", "c1")
    assert "'curewindow log show' names them" in coated.fails(2, "undo", "saloon")
    assert coated.json("undo", "r1")["kind"] == "readings"


def test_of_what_came_in_together_all_goes_or_none(shell: Shell, tmp_path: Path) -> None:
    table = tmp_path / "logger.csv"
    table.write_text("time,air\n2026-01-05 08:00,9\n2026-01-05 09:00,10\n", encoding="utf-8")
    shell.ok("import", str(table), "--space", "locker")
    shell.ok("reading", "locker", "8C")
    line = shell.fails(2, "undo", "r1")
    assert "r1 came in with 2 readings of logger.csv" in line
    assert "'log undo r1 --whole' takes all of them back" in line
    assert len(shell.json("show")["readings"]) == 3
    assert shell.json("undo", "r1", "--whole")["size"] == 2
    assert [row["air_c"] for row in shell.json("show")["readings"]] == [8.0]


# ---- coats before it -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "coat", "named"),
    [
        ((), 3, "coats 1 and 2 of step 2 of 'lining' are not"),
        ((), 2, "coat 1 of step 2 of 'lining' is not"),
        ((1,), 3, "coat 2 of step 2 of 'lining' is not"),
        ((), 4, "coats 1, 2 and 3 of step 2 of 'lining' are not"),
    ],
)
def test_a_coat_on_coats_nobody_wrote_down_is_not_passed_in_silence(
    shell: Shell, on: tuple[int, ...], coat: int, named: str
) -> None:
    for number in on:
        shell.ok("coat", "lining", "--coat", str(number), "--end", "2026-01-05 09:00")
    given = ("coat", "lining", "--coat", str(coat), "--end", "2026-01-06 09:00")
    line = shell.fails(2, *given)
    assert named in line
    first = min({1, 2, 3} - set(on))
    assert f'log coat "lining" --coat {first} --end TIME' in line
    assert len(shell.json("show")["coats"]) == len(on)
    answer = shell.json(*given, "--earlier-unknown")
    assert any("went on is not known" in note for note in answer["notes"])
    assert answer["coat"]["coat"] == coat


# ---- times -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("until", "lit", "now", "meant"),
    [
        # a Sunday, 10:00
        ("Sun 00:50", None, "2026-11-29 10:00", "2026-12-06 00:50"),
        ("00:50", None, "2026-11-29 10:00", "2026-11-30 00:50"),
        ("23:00", None, "2026-11-29 10:00", "2026-11-29 23:00"),
        ("Sun 00:50", "2026-11-28 20:00", "2026-11-28 21:00", "2026-11-29 00:50"),
        ("Tue 2 Feb 8:00", None, "2026-12-29 10:00", "2027-02-02 08:00"),
        ("24:00", None, "2026-11-29 10:00", "2026-11-30 00:00"),
    ],
)
def test_until_when_is_to_come(until: str, lit: str | None, now: str, meant: str) -> None:
    zone = ZoneInfo("Europe/Amsterdam")
    asked, expected = (
        moment(each, zone, datetime(2026, 11, 29, tzinfo=UTC)) for each in (now, meant)
    )
    boat = Boat.model_validate(tomllib.loads(BOAT.format(unit="°C")))
    aboard = Aboard.at(Path(), boat, asked)
    start = asked if lit is None else moment(lit, zone, asked)
    assert logentry.ahead(until, start, aboard) == expected


@pytest.mark.parametrize(
    ("what", "head", "cells"),
    [
        ("done", "time_utc,time_local,job,step,note", "lining,1,"),
        ("dry", "time_utc,time_local,job,space,panel,note", ",saloon,overhead,"),
        ("inspections", "time_utc,time_local,job,step,coat,found,note", "lining,2,2,dull,"),
    ],
)
def test_every_kind_of_entry_is_exported(coated: Shell, what: str, head: str, cells: str) -> None:
    coated.ok("done", "lining", "--step", "1", "--at", "2026-01-04 08:00")
    coated.ok("dry", "overhead", "--at", "2026-01-07 08:00")
    coated.ok("look", "lining", "--found", "dull", "--at", "2026-01-07 08:00")
    first, *rest = coated.ok("export", what).replace('"', "").splitlines()
    assert first == head
    assert len(rest) == 1
    assert cells in rest[0]
    assert coated.json("export", what)[what]


# ---- a spoilt coat -------------------------------------------------------------------------


def test_a_spoilt_coat_is_due_again_and_nothing_is_lost(coated: Shell) -> None:
    said = coated.ok("spoilt", "lining", "--at", "2026-01-07 09:00", "--note", "rain on it")
    assert "step 2, coat 2" in said
    assert "no longer counts" in said
    assert "note: rain on it" in said
    # in its place, not after it
    again = ("coat", "lining", "--start", "2026-01-08 09:00", "--end", "2026-01-08 10:00")
    assert coated.json(*again)["coat"]["coat"] == 2
    shown = coated.json("show")
    assert [(each["coat"], each["spoilt"] is None) for each in shown["coats"]] == [
        (1, True),
        (2, False),
        (2, True),
    ]
    assert "found spoilt" in coated.ok("show")
    # all of it went on: the next step is the one after
    assert coated.json("done", "lining")["done"]["step"] == 3


def test_it_is_put_right_and_taken_back_like_any_entry(coated: Shell) -> None:
    coated.ok("spoilt", "lining", "--at", "2026-01-07 09:00")
    line = coated.fails(
        2, "coat", "lining", "--start", "2026-01-06 12:00", "--end", "2026-01-06 13:00"
    )
    assert "only found spoilt" in line
    coated.ok("correct", "i1", "--at", "2026-01-06 11:00")
    coated.ok("coat", "lining", "--start", "2026-01-06 12:00", "--end", "2026-01-06 13:00")
    coated.ok("undo")
    assert "counts again" in coated.ok("undo", "i2")
    coated.ok("undo", "i1")
    assert [each["spoilt"] for each in coated.json("show")["coats"]] == [None, None]
    assert "no coat of 'lining' is due" in coated.fails(2, "coat", "lining")
    with Record(coated.folder / "record.db", read_only=True) as record:
        assert len(record.history()) == 8  # every entry and every undo stands there


def test_which_coat_is_spoilt(coated: Shell) -> None:
    at = ("--at", "2026-01-07 09:00")
    assert coated.json("spoilt", "lining", "--coat", "1", *at)["inspection"]["coat"] == 1
    # what lay on it came off with it: none is left to spoil
    assert "no coat of 'lining'" in coated.fails(2, "spoilt", "lining")
    assert coated.json("sand", "lining")["inspection"]["coat"] == 2  # the film on top
    assert coated.json("coat", "lining")["coat"]["coat"] == 1


def test_spoilt_coats_go_out_and_come_in_again(coated: Shell, tmp_path: Path) -> None:
    coated.ok("spoilt", "lining", "--at", "2026-01-07 09:00")
    other = make(tmp_path / "other")
    for what in ("coats", "inspections"):
        out = tmp_path / f"{what}.csv"
        coated.ok("export", what, str(out))
        assert "spoilt" not in out.read_text(encoding="utf-8").splitlines()[0]
        other.ok("import", str(out))
    assert other.json("show")["coats"] == coated.json("show")["coats"]
