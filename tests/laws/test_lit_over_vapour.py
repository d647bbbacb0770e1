"""Whoever thinks of lighting a heater over vapour, or logs that it was lit, hears of it.

`whatif` refuses where the day sheet refuses; the log records what happened and warns, before
and after. What is dangerous is common practice of the trade and of safety data sheets.
"""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from curewindow.boat.aboard import Aboard
from curewindow.boat.folder import load_boat
from curewindow.cli.main import command as cli
from curewindow.daysheet.planning import make_plan
from curewindow.logbook.entry import cautions_of, over_vapour
from curewindow.record.entries import Heat
from curewindow.voice.cautions import topic
from tests.laws.test_danger_never_cut import BOTH, NOW, write
from tests.page.hands import client_of

SOLVENT = """
[amounts]
spreading_rate = "12 m²/L"
solvent = "370 g/L"
[solvent]
name = "white spirit"
lower_explosive_limit = "1 %"
vapour_per_litre = 0.1735
source = "29 CFR 1910.94 table G-11, from memory"
"""
ELECTRIC = ("electric", "true", "false")
DIESEL = ("diesel", "true", "false")
GAS = ("gas", "true", "true")


def boat_with(folder: Path, heater: tuple[str, str, str], on_for_h: float, *, known: bool) -> None:
    """A coat of varnish went on in the cabin so long ago; its solvent is known, or not."""
    write(
        folder,
        {
            "hazards": list(BOTH),
            "deck": [],
            "heater": heater,
            "sleeps": "",
            "between": "as is",
            "temp_c": 14.0,
            "on_for_h": on_for_h,
            "opens": "06:00:00",
        },
    )
    work = (folder / "work.toml").read_text("utf-8").replace("coats = 2", "coats = 1")
    (folder / "work.toml").write_text(work, "utf-8")
    boat = (folder / "boat.toml").read_text("utf-8")
    (folder / "boat.toml").write_text(boat.replace("power =", 'unattended = "yes"\npower ='))
    if known:
        sheet = folder / "sheets" / "inside.toml"
        sheet.write_text(sheet.read_text("utf-8") + SOLVENT, "utf-8")


def run(folder: Path, *words: str) -> tuple[int, str]:
    given = [*words, "--boat", str(folder), "--at", "2026-11-25 08:30"]
    result = CliRunner().invoke(cli, given, env={"COLUMNS": "100"})
    return result.exit_code, " ".join(result.output.split())


THOUGHT = ("whatif", "cabin", "--setpoint", "16 °C", "--until", "17:00")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("heater", "on_for_h", "known", "refused", "warned"),
    [
        (GAS, 1.0, True, True, True),
        (GAS, 6.0, True, True, True),  # touch dry, and not yet without vapour
        (GAS, 60.0, True, False, False),
        (ELECTRIC, 1.0, False, True, True),  # nobody knows how much air it needs
        (ELECTRIC, 1.0, True, False, True),
        (ELECTRIC, 60.0, False, False, False),
        (DIESEL, 1.0, True, False, True),
    ],
)
def test_a_heater_over_vapour(
    tmp_path: Path,
    heater: tuple[str, str, str],
    on_for_h: float,
    known: bool,
    refused: bool,
    warned: bool,
) -> None:
    boat_with(tmp_path, heater, on_for_h, known=known)
    code, text = run(tmp_path, *THOUGHT)
    assert (code != 0) is refused, text
    assert ("vapour" in text) is warned, text
    with client_of(tmp_path) as page:
        assert ("fire" in page.get("/log/heater?space=cabin").text.casefold()) is warned
    aboard = Aboard.at(tmp_path, load_boat(tmp_path), NOW)
    logged = cautions_of(aboard, Heat("cabin", NOW, NOW + timedelta(hours=8), 16.0, "open"))
    assert ("fire" in {topic(each) for each in logged}) is warned


@pytest.mark.slow
@pytest.mark.parametrize(
    ("heater", "on_for_h", "refused", "warned"),
    [(GAS, 6.0, True, True), (ELECTRIC, 6.0, True, True), (GAS, 400.0, False, False)],
)
def test_a_film_whose_job_has_left_the_list_may_be_anywhere(
    tmp_path: Path, heater: tuple[str, str, str], on_for_h: float, refused: bool, warned: bool
) -> None:
    """Nobody knows where it is, nor how much of it: it counts in every space."""
    boat_with(tmp_path, heater, on_for_h, known=True)
    work = (tmp_path / "work.toml").read_text("utf-8")
    name = next(line for line in work.splitlines() if line.startswith("name = "))
    (tmp_path / "work.toml").write_text(work.replace(name, 'name = "another"', 1), "utf-8")
    aboard = Aboard.at(tmp_path, load_boat(tmp_path), NOW)
    logged = cautions_of(aboard, Heat("cabin", NOW, NOW + timedelta(hours=8), 16.0, "open"))
    assert ("fire" in {topic(each) for each in logged}) is warned
    assert ("fire" in {topic(each) for each in over_vapour(aboard, "cabin")}) is warned
    code, text = run(tmp_path, *THOUGHT)
    assert (code != 0) is refused, text
    if warned:
        assert "vapour" in run(tmp_path, "today")[1]


@pytest.mark.slow
@pytest.mark.parametrize(("on_for_h", "told"), [(1.0, True), (400.0, False)])
def test_a_plan_tells_of_films_of_the_record(tmp_path: Path, on_for_h: float, told: bool) -> None:
    """As long as they give off vapour: of a job beside it, which itself has none."""
    boat_with(tmp_path, GAS, on_for_h, known=True)
    work = tmp_path / "work.toml"
    shelf = '\n[[job]]\nname = "shelf"\nspace = "berth"\narea = "1 m²"\nstep = [{ do = "sand" }]\n'
    work.write_text(work.read_text("utf-8") + shelf, "utf-8")
    plan = make_plan(tmp_path, NOW, days=6, seconds=3.0).plan
    (sanding,) = [step for step in plan.steps if step.job == "shelf"]
    assert ("ignition over vapour" in {each.kind for each in sanding.cautions}) is told
