"""`curewindow sheets` and `curewindow schema` as they are typed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from curewindow.cli.schema import command as schema
from curewindow.cli.sheets import command as sheets
from curewindow.errors import NotFoundError, SheetError
from curewindow.sheets.schema import Sheet
from curewindow.sheets.shelf import find_products_dir, get_sheet, load_sheet, names

BOAT = """
name = "Heron"
units = { temperature = "°F" }

[place]
latitude = 52.0
longitude = 5.0
time_zone = "Europe/Amsterdam"
"""


@pytest.fixture(autouse=True)
def _nowhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No boat at hand unless a test makes one."""
    empty = tmp_path / "empty"
    empty.mkdir()
    monkeypatch.chdir(empty)
    monkeypatch.delenv("CUREWINDOW_BOAT", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(empty))
    monkeypatch.setattr("curewindow.boat.folder.default_folder", lambda: empty / "none")


@pytest.fixture
def boat(tmp_path: Path) -> Path:
    folder = tmp_path / "boat"
    (folder / "sheets").mkdir(parents=True)
    (folder / "boat.toml").write_text(BOAT, encoding="utf-8")
    text = (find_products_dir() / "oil-varnish.toml").read_text(encoding="utf-8")
    own = text.replace("typical of the kind, from memory", "tin label")
    (folder / "sheets" / "oil-varnish.toml").write_text(own, encoding="utf-8")
    return folder


def _run(*arguments: str | Path, width: int = 80, fails: bool = False) -> Result:
    result = CliRunner(env={"COLUMNS": str(width)}).invoke(
        sheets, [str(argument) for argument in arguments]
    )
    if not fails:
        assert result.exception is None, result.output
    return result


@pytest.mark.parametrize("width", [40, 80])
def test_list_names_all_and_fits(boat: Path, width: int) -> None:
    output = _run("list", "--boat", boat, width=width).output
    for entry in names():
        assert entry.name in output
    assert output.index("YOUR OWN SHEETS") < output.index("tin label") < output.index("THE SHELF")
    assert "check your tin" in output
    assert max(len(line) for line in output.splitlines()) <= width


def test_list_as_json(boat: Path) -> None:
    answer = json.loads(_run("list", "--boat", boat, "--json").output)
    assert answer["sheets"][0]["name"] == "oil-varnish"
    assert answer["sheets"][0]["own"]
    assert len(answer["sheets"]) == len(names())


def test_list_goes_on_past_a_broken_sheet(boat: Path) -> None:
    (boat / "sheets" / "mine.toml").write_text('name = "x"', encoding="utf-8")
    output = _run("list", "--boat", boat).output
    assert "cannot be used: kind: is missing" in " ".join(output.split())


@pytest.mark.parametrize("width", [40, 80])
@pytest.mark.parametrize("stem", [entry.name for entry in names()])
def test_every_sheet_shows_and_fits(stem: str, width: int) -> None:
    output = _run("show", stem, width=width).output
    assert max(len(line) for line in output.splitlines()) <= width
    assert "Typical of the kind: check your tin." in output
    assert "full cure" in output


def test_show_reads_like_a_data_sheet() -> None:
    lines = [" ".join(line.split()) for line in _run("show", "alkyd-enamel").output.splitlines()]
    assert "air 5 to 28 °C" in lines
    assert "above dew point at least 3 °C" in lines
    assert "touch dry 20 h 14 h 10 h 8 h 5.5 h" in lines
    assert "from 66 h 48 h 36 h 30 h 20 h" in lines
    assert "After that: sand first." in lines


def test_show_in_fahrenheit() -> None:
    lines = [
        " ".join(line.split())
        for line in _run("show", "alkyd-enamel", "--unit", "f").output.splitlines()
    ]
    # 5 °C = 41 °F, 28 °C = 82.4 °F; 3 K of spread = 5.4 °F
    assert "air 41 to 82.4 °F" in lines
    assert "above dew point at least 5.4 °F" in lines
    assert not any("°C" in line for line in lines if not line.startswith("source"))


def test_show_takes_the_boats_degrees_and_sheets(boat: Path) -> None:
    output = _run("show", "oil-varnish", "--boat", boat).output
    assert "own sheet 'oil-varnish'" in output
    assert "°F" in output
    assert "check your tin" not in output
    assert (
        "°F"
        not in _run("show", "oil-varnish", "--boat", boat, "--unit", "C").output.split("CAUTIONS")[
            0
        ]
    )


def test_show_as_json_is_the_sheet_again() -> None:
    answer = json.loads(_run("show", "two-part-epoxy-primer", "--json").output)
    assert Sheet.model_validate(answer["sheet"]) == get_sheet("two-part-epoxy-primer").sheet
    assert answer["typical"]


def test_show_of_nothing_names_the_nearest() -> None:
    bad = _run("show", "oil-vranish", fails=True).exception
    assert isinstance(bad, NotFoundError)
    assert "oil-varnish" in str(bad)


def test_check_tells_errors_and_warnings_apart(boat: Path) -> None:
    text = (find_products_dir() / "alkyd-enamel.toml").read_text(encoding="utf-8")
    text = text.replace('above_dew_point = "3 K"\n', "", 1)
    (boat / "sheets" / "doubtful.toml").write_text(text, encoding="utf-8")
    result = _run("check", boat / "sheets")
    assert result.exit_code == 0
    assert "warning: applying.above_dew_point" in result.output
    assert "errors 0, warnings 1" in result.output
    bad = text.replace('"20 h", "14 h"', '"14 h", "20 h"')
    (boat / "sheets" / "wrong.toml").write_text(bad, encoding="utf-8")
    for arguments in ([boat], [boat / "sheets" / "wrong.toml"], ["--boat", boat]):
        result = _run("check", *arguments, fails=True)
        assert result.exit_code == 1
        assert "error: cure.touch_dry" in result.output
    result = _run("check", boat, "--json", fails=True)
    assert result.exit_code == 1
    files = {Path(file["file"]).stem: file for file in json.loads(result.output)["files"]}
    assert files["wrong"]["errors"][0]["key"] == "cure.touch_dry"
    assert files["doubtful"]["errors"] == []
    assert files["oil-varnish"] == {**files["oil-varnish"], "errors": [], "warnings": []}


def test_check_of_the_shelf_is_clean() -> None:
    assert "errors 0, warnings 0" in _run("check", find_products_dir()).output


def test_check_of_nothing(tmp_path: Path) -> None:
    for arguments in ([], [tmp_path / "no"], [tmp_path / "empty"]):
        assert isinstance(_run("check", *arguments, fails=True).exception, NotFoundError)


def test_new_copies_and_never_overwrites(boat: Path) -> None:
    _run("new", "my-enamel", "--from", "alkyd-enamel", "--boat", boat)
    path = boat / "sheets" / "my-enamel.toml"
    assert load_sheet(path) == get_sheet("alkyd-enamel").sheet
    first = path.read_text(encoding="utf-8").splitlines()[0]
    assert (path.parent / first.removeprefix("#:schema ")).is_file()
    again = _run("new", "my-enamel", "--from", "oil-varnish", "--boat", boat, fails=True)
    assert isinstance(again.exception, SheetError)
    assert load_sheet(path).name == get_sheet("alkyd-enamel").sheet.name
    away = _run("new", "../my-enamel", "--from", "oil-varnish", "--boat", boat, fails=True)
    assert isinstance(away.exception, SheetError)


@pytest.mark.parametrize("file", ["sheet", "boat", "work"])
def test_schema_prints_json(file: str) -> None:
    result = CliRunner().invoke(schema, [file])
    assert result.exit_code == 0
    assert json.loads(result.output)["type"] == "object"


def test_a_name_too_long_is_told_in_one_line(boat: Path) -> None:
    result = _run("new", "x" * 300, "--from", "oil-varnish", "--boat", boat, fails=True)
    assert isinstance(result.exception, SheetError)
    assert "cannot be written" in str(result.exception)


def test_a_new_sheet_is_begun_from_the_nearest_by_its_name(tmp_path: Path) -> None:
    (tmp_path / "boat.toml").write_text(BOAT, encoding="utf-8")
    boat = str(tmp_path)
    made = _run("new", "my-varnish", "--boat", boat).stdout
    assert "a copy of 'oil-varnish', the nearest by its name; --from takes another" in made
    assert (tmp_path / "sheets" / "my-varnish.toml").exists()
    with pytest.raises(NotFoundError, match="which sheet is nearest to 'zzz'"):
        CliRunner().invoke(sheets, ["new", "zzz", "--boat", boat], catch_exceptions=False)
