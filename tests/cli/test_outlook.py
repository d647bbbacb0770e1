"""`curewindow outlook` as an owner meets it, on the demo boat and its made-up winters."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner, Result

from curewindow.cli.main import command
from curewindow.errors import NotFoundError
from curewindow.season.answer import Outlook

Run = Callable[..., Result]
AT = "2026-11-25 08:30"
FAST = ("--years", "4", "--draws", "2", "--at", AT)


@pytest.fixture(scope="module")
def looked(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Outlook]:
    """A boat whose outlook was made, from four winters; and the outlook."""
    folder = tmp_path_factory.mktemp("outlook") / "boat"
    shutil.copytree(demo, folder)
    result = CliRunner().invoke(command, ["outlook", *FAST, "--boat", str(folder), "--json"])
    assert result.exit_code == 0, result.output
    schema = json.loads(CliRunner().invoke(command, ["schema", "--answer", "outlook"]).output)
    jsonschema.Draft202012Validator(schema).validate(json.loads(result.stdout))
    return folder, Outlook.model_validate(json.loads(result.stdout))


def test_figures_hang_together(looked: tuple[Path, Outlook]) -> None:
    _, outlook = looked
    assert [each.year for each in outlook.years] == ["2025-26", "2024-25", "2023-24", "2022-23"]
    assert outlook.seasons == 8
    assert outlook.curve_pct == sorted(outlook.curve_pct)
    by = dict(zip(outlook.curve_on, outlook.curve_pct, strict=True))
    assert outlook.done_by is not None
    assert by[outlook.done_by] == outlook.chance_pct
    for each in outlook.dates:
        assert each.on is None or by[each.on] >= each.chance_pct
    for saving in outlook.savings:
        assert saving.days >= 0.0
        assert saving.chance_pct is not None
        assert saving.chance_pct >= (outlook.chance_pct or 0.0)
    for kind in outlook.workable:
        assert len(kind.hours_warmed) == len(outlook.weeks_from)
        pairs = zip(kind.hours_as_is, kind.hours_warmed, outlook.aboard_hours, strict=True)
        assert all(0.0 <= a <= b + 0.051 <= c + 0.2 for a, b, c in pairs)
    assert "only 4 past years: a bad winter may not be among them" in outlook.notes


def test_on_a_phone_and_in_letters_only(run: Run, looked: tuple[Path, Outlook]) -> None:
    folder, _ = looked
    result = run("outlook", "--kept", "--full", "--boat", folder, "--at", AT, width=40)
    assert result.exit_code == 0, result.stderr
    text = " ".join(result.stdout.split())
    assert "the date, 20 Mar: " in text
    assert "with always mild and dry weather" in text
    assert "h a week as it is" in text
    assert max(map(len, result.stdout.splitlines())) <= 40
    plain = run("outlook", "--kept", "--plain", "--boat", folder, "--at", AT)
    assert plain.stdout.isascii()


def test_drawn(run: Run, looked: tuple[Path, Outlook], tmp_path: Path) -> None:
    folder, _ = looked
    for name, head in (("season.svg", b"<?xml"), ("season.png", b"\x89PNG")):
        result = run("outlook", "--kept", "--to", tmp_path / name, "--boat", folder, "--at", AT)
        assert result.exit_code == 0, result.stderr
        assert (tmp_path / name).read_bytes().startswith(head)


def test_the_runs_are_made_once_for_the_same_day_and_work(
    run: Run, looked: tuple[Path, Outlook], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, outlook = looked
    with monkeypatch.context() as patched:
        patched.setattr(
            "curewindow.daysheet.outlook.run_season", lambda *_: pytest.fail("run again")
        )
        again = run("outlook", *FAST[:4], "--at", "2026-11-25 09:10", "--boat", folder, "--json")
        assert Outlook.model_validate_json(again.stdout) == outlook
    called: list[int] = []

    def stop(*_: object) -> None:
        called.append(1)
        raise NotFoundError("made anew")

    monkeypatch.setattr("curewindow.daysheet.outlook.run_season", stop)
    for other in (("--seed", "2"), ("--at", "2026-11-26 08:30")):
        run("outlook", *FAST, *other, "--boat", folder)
    work = folder / "work.toml"
    text = work.read_text(encoding="utf-8")
    work.write_text(text.replace("2027-03-20", "2027-03-21"), encoding="utf-8")
    run("outlook", *FAST, "--boat", folder)
    work.write_text(text, encoding="utf-8")
    assert len(called) == 3


def test_what_cannot_be(run: Run, demo: Path, tmp_path: Path) -> None:
    shutil.copytree(demo, boat := tmp_path / "boat")
    for words, said in (
        (("--kept",), "there is no outlook yet; 'curewindow outlook' makes one"),
        (("--to", "season.pdf"), "a picture's name ends in .svg or .png"),
        (("--years", "0"), "--years"),
    ):
        result = run("outlook", *words, "--boat", boat, "--at", AT)
        assert result.exit_code not in (0, 1), words
        assert said in result.stderr
        assert len(result.stderr.splitlines()) == 1
    (boat / "winters-1.csv").write_text("time,temp_c\n2026-01-01,warm\n", encoding="utf-8")
    result = run("outlook", *FAST, "--boat", boat)
    assert result.exit_code != 0
    assert "winters-1.csv" in result.stderr
    assert "Traceback" not in result.output
