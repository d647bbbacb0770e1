"""Whatever moment --at names, a command answers or says in one line what it would want."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.cli.damaging import Asked, ask, every_command
from tests.fewer_jobs import only_jobs

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
BRIEFLY = ("--years", "2", "--draws", "1", "--days", "14")
JOB, SPACE = "chart table", "saloon"

# Every command that takes --at, by its words, and what else is asked of it.
ASKED: dict[tuple[str, ...], tuple[tuple[str, ...], ...]] = {
    ("today",): ((), ("--full",)),
    ("windows",): ((), (JOB,)),
    ("why",): ((JOB,), (JOB, "15:00")),
    ("whatif",): ((SPACE, "--setpoint", "12 °C"), (JOB, "--vent", "ajar", "--until", "23:50")),
    ("picture",): ((SPACE,), (JOB, "--to", "job.svg")),
    ("heat",): ((), (JOB,)),
    ("plan",): (("--seconds", "2"), ("--kept",), ("--fix-today", "--seconds", "2")),
    ("outlook",): (BRIEFLY, ("--kept",)),
    ("paper",): ((), ("--to", "week.csv")),
    ("buy",): ((),),
    ("calendar",): ((), ("--to", "boat.ics")),
    ("learn",): ((SPACE,),),
    ("trust",): (("--offline",),),
    ("log", "reading"): ((SPACE, "9 °C", "80 %"),),
    ("log", "done"): ((JOB,),),
    ("log", "heater"): ((SPACE, "12 °C", "--until", "23:00"),),
    ("log", "dry"): ((JOB,),),
    ("log", "look"): ((JOB, "--found", "sound"),),
    ("log", "sand"): ((JOB,),),
    ("log", "spoilt"): ((JOB,),),
    ("log", "correct"): (("r1",),),
}
ELSEWHERE = {("demo",)}
"""Takes --at for the day its own weather is made for."""


def test_every_command_that_takes_a_moment_is_asked() -> None:
    taking = {
        words
        for words, command in every_command().items()
        if any("--at" in param.opts for param in command.params)
    }
    assert taking == ASKED.keys() | ELSEWHERE


@pytest.fixture(scope="module")
def planned(whole_demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A boat of two jobs with a plan and an outlook; read it, do not change it."""
    folder = tmp_path_factory.mktemp("any-moment") / "boat"
    shutil.copytree(whole_demo, folder)
    only_jobs(folder, JOB, "saloon doors")
    for words in (["plan", "--seconds", "2"], ["outlook", *BRIEFLY]):
        asked = ask(folder, words, NOW)
        assert asked.code == 0, asked
    return folder


def weather_of(folder: Path) -> tuple[datetime, datetime]:
    rows = (folder / "weather.csv").read_text("utf-8").splitlines()
    times = [row.split(",")[0] for row in rows if row[:1].isdigit()]
    first, last = (datetime.fromisoformat(each) for each in (times[0], times[-1]))
    return first, last


def asked_at(folder: Path, words: tuple[str, ...], more: tuple[str, ...], at: datetime) -> Asked:
    return ask(folder, [*words, *more, "--at", at.isoformat(timespec="minutes")], NOW)


YEAR = timedelta(days=365)
BEFORE = [YEAR, timedelta(days=7), timedelta(days=1), timedelta(minutes=110)]
AFTER = [timedelta(minutes=-25), timedelta(days=31), 2 * YEAR]


@pytest.fixture(scope="module")
def unplanned(demo_day: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("any-moment") / "boat"
    shutil.copytree(demo_day, folder)
    only_jobs(folder, JOB)
    return folder


@pytest.mark.parametrize(
    "words",
    [("plan", "--seconds", "2"), ("outlook", *BRIEFLY), ("whatif", SPACE, "--setpoint", "12 °C")],
    ids=lambda words: words[0],
)
def test_what_wants_weather_from_then_on_says_when_it_begins(
    words: tuple[str, ...], unplanned: Path
) -> None:
    asked = asked_at(unplanned, words, (), weather_of(unplanned)[0] - timedelta(days=2))
    assert (asked.code, asked.out) == (4, "")
    assert "the weather from weather.csv begins 2026-11-21 00:00" in asked.err
    assert "ask from then on" in asked.err
    assert not (unplanned / "plan.json").exists()


def test_a_change_shorter_than_a_step_of_the_weather_is_answered(unplanned: Path) -> None:
    words = ["whatif", SPACE, "--setpoint", "12 °C", "--from", "14:01", "--until", "14:03"]
    asked = ask(unplanned, words, NOW)
    assert asked.code == 0, asked


@pytest.mark.slow
@pytest.mark.parametrize("words", sorted(ASKED), ids=" ".join)
def test_no_moment_is_a_fault(words: tuple[str, ...], planned: Path, tmp_path: Path) -> None:
    """Before the weather at hand, as it begins, at its very end and long after it."""
    first, last = weather_of(planned)
    moments = [*(first - before for before in BEFORE), first, *(last + after for after in AFTER)]
    moments += [datetime(1900, 1, 1, tzinfo=UTC), datetime(2200, 12, 31, tzinfo=UTC)]
    faults = []
    for number, at in enumerate(moments):
        for more in ASKED[words]:
            folder = tmp_path / f"{number}"
            shutil.copytree(planned, folder, dirs_exist_ok=True)
            plan = (folder / "plan.json").read_bytes()
            asked = asked_at(folder, words, more, at)
            if fault := asked.fault():
                faults.append(f"{asked.words}: {fault}")
            if asked.code != 0 and (folder / "plan.json").read_bytes() != plan:
                faults.append(f"{asked.words}: plan.json is another")
            shutil.rmtree(folder)
    assert not faults, "\n".join(faults)
