"""The plan as its owner meets it: a phone's width, JSON, holding steps, slips of the finger."""

from __future__ import annotations

import json
import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from curewindow.answers import AllDone
from curewindow.cli.main import command
from curewindow.cli.planwords import lines
from curewindow.daysheet.heldat import held_at
from curewindow.daysheet.planning import make_plan
from curewindow.demo import files as demofiles
from curewindow.errors import WeatherError
from curewindow.order.kept import load
from curewindow.order.plan import Reached
from curewindow.paper.week import week_of
from curewindow.wording import Wording
from tests.cases import cases
from tests.cutplans import cut_at

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
AT = "2026-11-25 08:30"


@pytest.fixture(scope="module")
def boat(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo boat with three jobs left, so that a plan is quickly made."""
    folder = tmp_path_factory.mktemp("plan") / "boat"
    demofiles.write(folder, NOW)
    work = (folder / "work.toml").read_text(encoding="utf-8")
    head, *jobs = work.split("[[job]]")
    keep = ("saloon doors", "chart table", "wet locker primer")
    kept = [job for job in jobs if any(f'name = "{name}"' in job for name in keep)]
    (folder / "work.toml").write_text("[[job]]".join([head, *kept]), encoding="utf-8")
    make_plan(folder, NOW, days=12)
    return folder


def run(boat: Path, *words: str, width: int = 60):
    return CliRunner(env={"COLUMNS": str(width)}).invoke(
        command, ["plan", "--boat", str(boat), "--at", AT, *words]
    )


def test_a_plan_is_made_kept_and_told_in_a_phones_width(boat: Path) -> None:
    told = run(boat, "--days", "12")
    assert told.exit_code == 0, told.output
    assert "days in hand" in told.output
    assert "TODAY" in told.output
    assert "WHAT SETS THE END" in told.output
    assert "a second look found every rule kept" in told.output
    assert max(map(len, told.output.splitlines())) <= 60
    kept = run(boat, "--kept", "--json")
    assert json.loads(kept.output)["steps"][0]["job"] in told.output


def test_a_job_that_is_not_in_the_plan_is_not_said_to_be_done_with_it(boat: Path) -> None:
    plan = load(boat).plan
    assert plan is not None
    words = Wording(ZoneInfo("Europe/Amsterdam"), NOW)
    for left in ({}, {"rail": "no start"}, {"rail": "no start", "sole": "no start"}):
        told = plan.model_copy(update={"left_out": left, "all_done": None})
        head = lines(told, words, 90, full=False, colour=False)[1]
        printed = " ".join(week_of(told, NOW).notes)
        but = " and ".join(f"'{each}'" for each in left)
        start = f"all but {but} done " if left else "all done "
        assert head.startswith(start)
        assert start in printed


def test_one_date_with_its_chance_heads_the_plan(boat: Path) -> None:
    plan = load(boat).plan
    assert plan is not None
    words = Wording(ZoneInfo("Europe/Amsterdam"), NOW)
    done = AllDone(
        middle=date(2027, 2, 8),
        late=None,
        done_by=date(2027, 3, 20),
        chance_pct=72.0,
        until=date(2027, 5, 24),
        years=20,
        seasons=120,
    )
    far = plan.model_copy(update={"all_done": done, "finish": None, "days_in_hand": 40})
    told = lines(far, words, 120, full=False, colour=False)
    said = "all done: 5 in 10 by 8 Feb, not 9 in 10 by 24 May; the date, 20 Mar: 7 in 10"
    assert told[1] == said
    assert not any("in hand" in line for line in told)
    never = done.model_copy(update={"middle": None, "without": ["rail"]})
    told = lines(far.model_copy(update={"all_done": never}), words, 120, full=False, colour=False)
    assert told[1] == "all but 'rail' done: not 5 in 10 by 24 May; the date, 20 Mar: 7 in 10"


def test_beyond_the_forecast_there_is_no_clock_time(boat: Path) -> None:
    """Nobody knows the weather of a day in February: its week is told, where that can be."""
    plan = load(boat).plan
    assert plan is not None
    clock = re.compile(r"\b\d\d:\d\d\b")
    for known in (1, 2, 4, 30):
        cut = cut_at(plan, NOW + timedelta(days=known))
        weeks = {
            step.key: {"week": date(2026, 12, 7), "chance_pct": 55.0, "within_pct": 97.0}
            for step in cut.later[::2]
        }
        later = [step.model_copy(update=weeks.get(step.key, {})) for step in cut.later]
        text = "\n".join(
            lines(
                cut.model_copy(update={"later": later, "chain": [], "jobs": []}),
                Wording(ZoneInfo("Europe/Amsterdam"), NOW),
                60,
                full=False,
                colour=False,
            )
        )
        first = min((at for at in map(text.find, ("PROBABLY", "LATER, NO")) if at >= 0), default=-1)
        near, far = (text, "") if first < 0 else (text[:first], text[first:])
        assert bool(far) is bool(cut.later)
        assert clock.search(near)
        assert not clock.search(far[: far.find("GOES BY")])
        assert far.count("PROBABLY THE WEEK OF 7 DEC") == bool(weeks)
        assert all(f"{each.job}: " in text for each in cut.every())


def test_a_step_held_at_another_time_stays_there_and_is_taken_back(boat: Path) -> None:
    held = run(boat, "--days", "12", "--fix", "chart table coat 1", "--to", "tomorrow 10:00")
    assert held.exit_code == 0, held.output
    assert "held: chart table coat 1, tomorrow 10:00" in held.output
    assert "10:00-10:30 chart table: coat 1 of 4" in held.output
    assert "=" in held.output
    again = run(boat, "--days", "12", "--undo")
    assert "= held by you" not in again.output


def test_a_hold_that_no_plan_came_of_is_let_go(boat: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The weather fails, the machine is full: what was not planned is not held."""
    before = load(boat)

    def fails(*_: object, **__: object) -> None:
        raise WeatherError("no forecast")

    monkeypatch.setattr("curewindow.daysheet.planning.make_plan", fails)
    told = run(boat, "--fix", "chart table coat 1", "--to", "tomorrow 10:00")
    assert told.exit_code not in (0, 1)
    assert load(boat).fixed == before.fixed
    assert load(boat).plan == before.plan


ZONE = ZoneInfo("Europe/Amsterdam")


@cases(60)
@given(
    minutes=st.integers(0, 14 * 24 * 12).map(lambda n: 5 * n),
    seen=st.sampled_from(["2026-11-25 08:30", "2026-10-20 08:30", "2026-12-28 19:55"]),
    form=st.sampled_from(["{day} {clock}", "{day} {clock}-{end}", "~{day} {clock}"]),
    shout=st.booleans(),
)
def test_times_are_taken_as_the_plan_prints_them(
    minutes: int, seen: str, form: str, shout: bool
) -> None:
    """Across the end of summer time and of the year, of headings and of lines."""
    now = datetime.fromisoformat(seen).replace(tzinfo=ZONE).astimezone(UTC)
    words = Wording(ZONE, now)
    start = now + timedelta(minutes=minutes)
    end = start + timedelta(minutes=75)
    twice = words.clock(start).count(" ") + words.clock(end).count(" ")
    if twice and "{end}" in form:
        return  # a stretch in the hour that comes twice names its zone
    day = words.day(start)
    typed = form.format(day=day, clock=words.clock(start), end=words.clock(end))
    if shout and not twice:
        typed = typed.upper()
    assert held_at(typed, words) == start


def test_what_cannot_be_kept_ends_with_one_and_changes_nothing(boat: Path) -> None:
    before = load(boat)
    assert before.plan is not None
    told = run(boat, "--days", "12", "--fix", "chart table coat 1", "--to", "tomorrow 03:00")
    assert told.exit_code == 1
    assert "NOTHING FITS" in told.output
    # which two, with their times as they were typed and as the plan prints them
    assert "- nobody is aboard for 'chart table' coat 1 tomorrow 03:00" in told.output
    assert "- 'chart table' coat 1 is fixed for tomorrow 03:00" in told.output
    assert told.output.count("\n- ") == 2
    assert "these two cannot both be kept" in told.output
    assert "held:" not in told.output
    assert "it is not held" in told.output
    after = load(boat)
    assert after.plan == before.plan
    assert after.fixed == before.fixed
    assert run(boat, "--kept").exit_code == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--fix", "no such"), "name one of"),
        (("--to", "tomorrow"), "--to belongs to --fix"),
        (("--free", "nothing held"), "is fixed"),
        (("--days", "500"), "500"),
        (("--fix", "chart table", "--to", "half past never"), "half past never"),
        (("--fix", "chart table", "--to", "Sat half past"), "is not a time"),
        (("--fix", "chart table", "--to", "the week of 30 Nov"), "beyond the forecast"),
        (("--fix", "chart table", "--to", "WEEK OF 30 NOV"), "beyond the forecast"),
        (("--fix", "chart table", "--to", "Sat"), "has no clock"),
        (("--fix", "chart table", "--to", "today 07:00"), "is over"),
    ],
)
def test_a_slip_is_one_clear_line(boat: Path, words: tuple[str, ...], said: str) -> None:
    told = run(boat, *words)
    assert told.exit_code not in (0, 70)
    assert said in told.output
    assert "Traceback" not in told.output


def test_no_plan_yet_is_said(tmp_path: Path) -> None:
    folder = tmp_path / "boat"
    demofiles.write(folder, NOW)
    told = run(folder, "--kept")
    assert told.exit_code == 2
    assert "there is no plan yet" in told.output


@pytest.mark.parametrize(
    ("proven", "said"),
    [
        (("date", "cost", "calm"), "no better order exists"),
        (("date", "cost"), "the days might be calmer"),
        (("date",), "heat and calm may go better"),
        ((), "not proven to be the best"),
    ],
)
def test_no_more_is_claimed_than_was_proven(boat: Path, proven: tuple[str, ...], said: str) -> None:
    """An aim that was not reached at all is not one that could be no better."""
    plan = load(boat).plan
    assert plan is not None
    reached = [Reached(aim=aim, value=1, bound=1, proven=True) for aim in proven]  # type: ignore[arg-type]
    reached = reached or [Reached(aim="date", value=9, bound=2, proven=False)]
    told = "\n".join(
        lines(
            plan.model_copy(update={"reached": reached}),
            Wording(ZoneInfo(plan.time_zone), NOW),
            200,
            full=False,
            colour=False,
        )
    )
    claims = [
        "no better order exists",
        "days might be calmer",
        "calm may go better",
        "not proven to be",
    ]
    assert [claim for claim in claims if claim in told] == [
        claim for claim in claims if claim in said
    ]
