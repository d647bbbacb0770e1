"""Finding the boat folder, and what is said about a file that cannot be right."""

from __future__ import annotations

from pathlib import Path

import pytest

from curewindow.boat.folder import (
    find_folder,
    hands_on_assumed,
    hands_on_h,
    job_by_name,
    load_boat,
    load_work,
    space_by_name,
)
from curewindow.boat.schema import Job, Step
from curewindow.errors import BoatError, NotFoundError

BOAT = """
name = "Test"
[place]
latitude = 52.0
longitude = 5.0
time_zone = "Europe/Amsterdam"
[[hours]]
days = ["Sat", "Sun"]
from = 09:00:00
until = 17:00:00
[[space]]
name = "saloon"
volume = "20 m³"
connected_to = ["forepeak"]
[[space.panel]]
name = "hull side"
area = "9 m²"
layers = [{ material = "steel", thickness = "4 mm" }]
[space.heating]
kind = "diesel"
power = "2 kW"
vented = true
open_flame = false
routine = [{ from = 07:00:00, setpoint = "17 °C" }]
[[space]]
name = "forepeak"
logged_only = true
"""
WORK = """
[[job]]
name = "paint the side"
space = "saloon"
panel = "hull side"
area = "9 m²"
after = ["degrease"]
[[job.step]]
do = "coat"
sheet = "primer"
rate = "10 min/m²"
[[job.delivery]]
what = "paint"
earliest = 2025-01-20
latest = 2025-01-24
[[job]]
name = "degrease"
space = "saloon"
[[job.step]]
do = "prepare"
"""
SHEET = """
name = "primer"
kind = "primer"
chemistry = "oxidation"
basis = "typical of the kind"
[applying]
[setting]
[cure]
temps = ["20 °C"]
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    where = tmp_path / "boat"
    (where / "sheets").mkdir(parents=True)
    (where / "boat.toml").write_text(BOAT, encoding="utf-8")
    (where / "work.toml").write_text(WORK, encoding="utf-8")
    (where / "sheets" / "primer.toml").write_text(SHEET, encoding="utf-8")
    return where


def test_a_right_boat_and_work_list_load(folder: Path) -> None:
    boat = load_boat(folder)
    assert [space.name for space in boat.space] == ["saloon", "forepeak"]
    assert load_work(folder).job[0].name == "paint the side"
    assert load_work(folder, boat).job[0].name == "paint the side"


# --- finding ------------------------------------------------------------------


def test_explicit_folder_wins(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CUREWINDOW_BOAT", str(tmp_path / "elsewhere"))
    assert find_folder(folder) == folder.resolve()
    assert find_folder(folder / "boat.toml") == folder.resolve()


def test_environment_before_current_folder(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CUREWINDOW_BOAT", str(folder))
    assert find_folder() == folder.resolve()


def test_current_folder_before_the_data_folder(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("curewindow.boat.folder.default_folder", lambda: tmp_path / "data")
    monkeypatch.chdir(folder)
    assert find_folder() == folder.resolve()
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "boat.toml").write_text(BOAT, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert find_folder() == (tmp_path / "data").resolve()


@pytest.mark.parametrize("how", ["explicit", "environment", "neither"])
def test_nothing_found_says_where_it_looked(
    how: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("curewindow.boat.folder.default_folder", lambda: tmp_path / "data")
    monkeypatch.chdir(tmp_path)
    wish = tmp_path / "nowhere"
    if how == "environment":
        monkeypatch.setenv("CUREWINDOW_BOAT", str(wish))
    with pytest.raises(NotFoundError, match="curewindow setup") as caught:
        find_folder(wish if how == "explicit" else None)
    expected = [str(tmp_path / "data"), "current folder"] if how == "neither" else [str(wish)]
    assert all(part in str(caught.value) for part in expected)
    assert "\n" not in str(caught.value)


# --- names ----------------------------------------------------------------------


def test_names_are_found_and_near_ones_told(folder: Path) -> None:
    boat, work = load_boat(folder), load_work(folder)
    assert job_by_name(work, "Paint the Side").name == "paint the side"
    with pytest.raises(NotFoundError, match="did you mean 'degrease'"):
        job_by_name(work, "degreese")
    with pytest.raises(NotFoundError, match="there are: paint the side, degrease"):
        job_by_name(work, "xyz")
    with pytest.raises(NotFoundError, match="did you mean 'saloon'"):
        space_by_name(boat, "salon")


# --- cross-checks -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        ("Europe/Amsterdam", "Europe/Amsterdm", "place.time_zone", "mean 'Europe/Amsterdam'"),
        ("17:00:00", "08:00:00", "hours[1].until", "must be before"),
        ('["forepeak"]', '["forepeek"]', "space[1].connected_to[1]", "mean 'forepeak'"),
        ('volume = "20 m³"\n', "", "space[1].volume", "logged_only"),
        ('"steel"', '"steal"', "space[1].panel[1].layers[1].material", "mean 'steel'"),
        ('"9 m²"', '"9 m²"\noutside = "forpeak"', "space[1].panel[1].outside", "mean 'forepeak'"),
        ('"9 m²"', '"0 m²"', "space[1].panel[1].area", "more than 0"),
        ('"4 mm"', '"0 mm"', "space[1].panel[1].layers[1].thickness", "more than 0"),
        ('"2 kW"', '"0 W"', "space[1].heating.power", "more than 0 W"),
        ('"17 °C"', '"62 °C"', "space[1].heating.routine[1].setpoint", "meant in °F"),
        ('"forepeak"\nlogged', '"saloon"\nlogged', "space[2].name", "is there twice"),
        ('"forepeak"\nlogged', '"water"\nlogged', "space[2].name", "already means something"),
        ("logged_only = true", "", "space[2].volume", "needs its volume"),
        (
            'name = "Test"',
            'name = "Test"\nweather = { feed = "file" }',
            "weather.file",
            "needs the name",
        ),
    ],
)
def test_boat_toml_that_cannot_be_right(
    folder: Path, old: str, new: str, key: str, says: str
) -> None:
    assert old in BOAT
    text = BOAT.replace(old, new, 1)
    (folder / "boat.toml").write_text(text, encoding="utf-8")
    with pytest.raises(BoatError) as caught:
        load_boat(folder)
    assert caught.value.key == key
    assert says in str(caught.value)
    assert str(folder / "boat.toml") in str(caught.value)
    assert "\n" not in str(caught.value)


def test_own_material_needs_its_conductivity(folder: Path) -> None:
    text = BOAT.replace('"steel", ', '"sprayed wool", conductivity = "0.04 W/mK", ')
    (folder / "boat.toml").write_text(text, encoding="utf-8")
    assert load_boat(folder).space[0].panel[0].layers[0].conductivity == 0.04


def test_midnight_is_the_end_of_the_day(folder: Path) -> None:
    text = BOAT.replace("17:00:00", "00:00:00", 1)
    (folder / "boat.toml").write_text(text, encoding="utf-8")
    load_boat(folder)


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        ('space = "saloon"\npanel', 'space = "salon"\npanel', "job[1].space", "mean 'saloon'"),
        ('"hull side"', '"hulside"', "job[1].panel", "mean 'hull side'"),
        ('space = "saloon"\npanel', "panel", "job[1].panel", "belongs to a space"),
        ('["degrease"]', '["degreese"]', "job[1].after[1]", "mean 'degrease'"),
        ('"primer"', '"primmer"', "job[1].step[1].sheet", "mean 'primer'"),
        ('sheet = "primer"\n', "", "job[1].step[1].sheet", "needs the sheet"),
        ('do = "prepare"', 'do = "prepare"\nsheet = "primer"', "job[2].step[1].sheet", "no sheet"),
        ('do = "prepare"', 'do = "prepare"\ncoats = 2', "job[2].step[1].coats", "no coats"),
        ('area = "9 m²"\n', "", "job[1].step[1].rate", "needs the job's area"),
        ("rate =", 'hands_on = "1 h"\nrate =', "job[1].step[1].hands_on", "not both"),
        ("2025-01-24", "2025-01-19", "job[1].delivery[1].latest", "is after 'latest'"),
        ("earliest =", "on = 2025-01-20\nearliest =", "job[1].delivery[1].on", "not both"),
        ('"degrease"\nspace', '"paint the side"\nspace', "job[2].name", "is there twice"),
        (
            '"degrease"\nspace',
            '"degrease"\nafter_cured = ["paint the side"]\nspace',
            "job[1].after",
            "in a circle",
        ),
        (
            '"degrease"\nspace',
            '"degrease"\noutdoors = true\nspace',
            "job[2].outdoors",
            "cannot both be",
        ),
    ],
)
def test_work_toml_that_cannot_be_right(
    folder: Path, old: str, new: str, key: str, says: str
) -> None:
    assert old in WORK
    (folder / "work.toml").write_text(WORK.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BoatError) as caught:
        load_work(folder)
    assert caught.value.key == key
    assert says in str(caught.value)
    assert str(folder / "work.toml") in str(caught.value)
    assert "\n" not in str(caught.value)


def test_undescribed_space_takes_any_panel(folder: Path) -> None:
    text = WORK.replace('space = "saloon"\npanel = "hull side"', 'space = "forepeak"\npanel = "x"')
    (folder / "work.toml").write_text(text, encoding="utf-8")
    assert load_work(folder).job[0].panel == "x"


def test_no_work_list_is_an_error_with_its_file(folder: Path) -> None:
    (folder / "work.toml").unlink()
    with pytest.raises(BoatError, match=r"work\.toml: there is no such file"):
        load_work(folder)


# --- hands-on time ------------------------------------------------------------------


def _step(**more: str) -> Step:
    return Step.model_validate({"do": "coat", "sheet": "x", **more})


def _job(**more: str) -> Job:
    return Job.model_validate({"name": "j", "step": [{"do": "sand"}], **more})


def test_hands_on_time_is_the_owners() -> None:
    assert hands_on_h(_step(hands_on="90 min"), _job()) == 1.5
    assert hands_on_h(_step(rate="10 min/m²"), _job(area="9 m²")) == pytest.approx(1.5)
    assert hands_on_assumed(_step(hands_on="90 min"), _job()) is None
    assert hands_on_assumed(_step(rate="10 min/m²"), _job(area="9 m²")) is None


def test_assumed_hands_on_time_is_said() -> None:
    by_area = hands_on_h(_step(), _job(area="6 m²"))
    assert by_area > hands_on_h(_step(), _job(area="2 m²")) > 0.0
    by_area_told = hands_on_assumed(_step(), _job(area="6 m²"))
    assert by_area_told is not None
    assert by_area_told.number("area_m2") == 6.0
    assert hands_on_h(_step(), _job()) == 1.0
    bare = hands_on_assumed(_step(), _job())
    assert bare is not None
    assert bare.about == {"hours": 1.0}
