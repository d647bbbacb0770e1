"""One start explained: it says what the windows say, and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from click.testing import Result

from curewindow.explain import Why
from curewindow.explain.one_start import explained
from curewindow.rules.chance import share_needed
from curewindow.situation import Situation, read_situation
from curewindow.windows import judge

Run = Callable[..., Result]
AT = "2026-11-25 08:30"
MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
JOBS = [
    "saloon doors",
    "chart table",
    "forepeak frames",
    "wet locker cork",
    "wet locker slats",
    "pump well",
    "wheelhouse windows",
    "mooring bitts",
    "hatch coaming",
]


@pytest.fixture(scope="module")
def facts(demo: Path) -> Situation:
    return read_situation(demo, MORNING)


@pytest.mark.parametrize("name", JOBS)
def test_reasons_and_windows_agree(facts: Situation, name: str) -> None:
    """Allowed in a window of the list, and exactly then no limit and no rule is broken."""
    from curewindow.judgement.clocks import clocks_of
    from curewindow.judgement.jobday import find

    job = next(job for job in facts.work.job if job.name == name)
    found = find(facts, job, {c.job: c for c in clocks_of(facts)}, all_windows=True)
    assert found is not None
    rng = np.random.default_rng(len(name))
    asked = [MORNING + timedelta(minutes=10 * int(k)) for k in rng.integers(0, 900, 4)]
    for window in found.judged.windows[:2]:
        asked += [window.opens, window.closes, window.closes + timedelta(minutes=10)]
    for at in asked:
        answer = explained(facts, job, at)
        inside = any(window.opens <= at <= window.closes for window in found.judged.windows)
        assert answer.allowed == inside, at
        states = [limit.state for limit in answer.limits] + [rule.state for rule in answer.rules]
        in_the_way = [state for state in states if state in ("broken", "unknown")]
        assert bool(in_the_way) != answer.allowed, (at, answer.verdict)
        if answer.next_allowed is not None:
            assert answer.next_allowed >= at
            assert any(
                window.opens <= answer.next_allowed <= window.closes
                for window in found.judged.windows
            )


@pytest.mark.parametrize("minutes", [0.1, 3, 9.9])
def test_a_good_moment_is_answered_for_itself(facts: Situation, minutes: float) -> None:
    """Not for the next point of the grid, which nobody asked about."""
    job = next(job for job in facts.work.job if job.name == "chart table")
    at = MORNING + timedelta(minutes=minutes)
    answer = explained(facts, job, at)
    assert answer.allowed
    assert answer.start == at


def test_worst_moments_are_the_judges(facts: Situation) -> None:
    job = next(job for job in facts.work.job if job.name == "wheelhouse windows")
    series = facts.series(job)
    verdict = judge(
        series,
        facts.sheet("hybrid-sealant").sheet,
        1.0,
        hours_ok=facts.hours_ok(series),
        daylight_ok=facts.daylight_ok(series),
    )
    for hours in (0, 6, 30, 53, 77):
        answer = explained(facts, job, MORNING + timedelta(hours=hours))
        start = int(np.searchsorted(series.times, np.datetime64(answer.start.replace(tzinfo=None))))
        for index, track in enumerate(verdict.tracks):
            said = next(
                limit
                for limit in answer.limits
                if (limit.limit, limit.phase, limit.bound) == (track.name, track.phase, track.bound)
            )
            least = verdict.min_margin(index, np.array([start]))[:, 0]
            needed = float(share_needed(series.lead_h[start : start + 1])[0])
            assert (said.state == "broken") == (np.mean(least < 0.0) > 1.0 - needed + 1e-9)
            assert said.holds_in == pytest.approx(np.mean(least >= 0.0), abs=1e-3)
            # the forecast in the middle of those that break it, or of all where it is kept
            told = least[least < 0.0] if said.state in ("broken", "doubtful") else least
            assert said.worst is not None
            assert said.worst.by == pytest.approx(np.sort(told)[len(told) // 2], abs=1e-3)


def test_why_not_at_three(run: Run, demo: Path) -> None:
    result = run("why", "hatch coaming", "15:00", "--boat", demo, "--at", AT)
    assert result.exit_code == 0, result.stderr
    lines = result.stdout.splitlines()
    text = " ".join(result.stdout.split())
    assert lines[1].startswith("Not today 15:00: ")
    assert "no window in the forecast" in text
    assert "✗ surface temperature" in text
    assert "at least 5 °C" in text
    assert text.index("IN THE WAY") < text.index("KEPT")
    assert "✓ someone is aboard until 18:00" in text
    assert max(map(len, lines)) <= 80


@pytest.mark.slow
@pytest.mark.parametrize("width", [32, 40, 80])
@pytest.mark.parametrize("name", JOBS)
def test_fits_the_screen(run: Run, demo: Path, name: str, width: int) -> None:
    result = run("why", name, "Mon 9:00", "--boat", demo, "--at", AT, width=width)
    assert result.exit_code == 0, result.stderr
    assert max(map(len, result.stdout.splitlines())) <= width


def test_yes(run: Run, demo: Path) -> None:
    text = run("why", "chart table", "--boat", demo, "--at", AT).stdout
    assert "Yes, today 08:30 is good; last start today 17:30" in text
    assert "IN THE WAY" not in text


@pytest.mark.slow
def test_at_alone_asks_about_that_moment(run: Run, demo: Path) -> None:
    result = run("why", "chart table", "--boat", demo, "--at", "2026-11-25 17:50", "--json")
    answer = Why.model_validate_json(result.stdout)
    assert answer.start == datetime(2026, 11, 25, 16, 50, tzinfo=UTC)
    assert not answer.allowed
    assert [each.kind for each in answer.verdict.because] == ["hours too short"]


def test_frost_on_steel_is_said(run: Run, demo: Path) -> None:
    """The demo's clear night: painted steel under the sky is white with frost by Monday."""
    result = run("why", "hatch coaming", "Mon 9:00", "--boat", demo, "--at", AT, "--json")
    answer = Why.model_validate_json(result.stdout)
    assert answer.surface.state == "frost"
    assert answer.surface.surface_c is not None
    assert answer.surface.surface_c < 0.0
    assert (
        "white with frost"
        in run("why", "hatch coaming", "Mon 9:00", "--boat", demo, "--at", AT).stdout
    )


def test_waits_and_done(run: Run, demo: Path) -> None:
    text = run("why", "wet locker slats", "--boat", demo, "--at", AT).stdout
    assert "'wet locker cork' comes first" in text
    assert "larch slats due by" in text
    assert "Done" in run("why", "wet locker primer", "--boat", demo, "--at", AT).stdout


def test_an_open_flame_is_the_reason(run: Run, demo: Path, tmp_path: Path) -> None:
    import shutil

    boat = tmp_path / "boat"
    shutil.copytree(demo, boat)
    described = (boat / "boat.toml").read_text(encoding="utf-8")
    (boat / "boat.toml").write_text(
        described.replace("open_flame = false", "open_flame = true"), encoding="utf-8"
    )
    result = run("why", "saloon doors", "--boat", boat, "--at", AT, "--json")
    answer = Why.model_validate_json(result.stdout)
    assert not answer.allowed
    assert answer.rules[0].rule == "caution"
    assert answer.rules[0].why.kind == "ignition over vapour"


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["chart table", "today 7:00"], 2, "today 07:00 is over"),
        (["chart table", "2026-12-20 7:00"], 4, "the weather is known until"),
        (["chart tabel"], 2, "did you mean 'chart table'"),
        (["chart table", "soon"], 2, "is not a time"),
    ],
)
def test_one_clear_line(run: Run, demo: Path, arguments: list[str], code: int, said: str) -> None:
    result = run("why", *arguments, "--boat", demo, "--at", AT)
    assert result.exit_code == code
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_a_clock_alone_is_the_next_one_and_the_answer_says_so(run: Run, demo: Path) -> None:
    for at, day in (("2026-11-25 08:30", "today"), ("2026-11-25 16:00", "tomorrow")):
        said = run("why", "pump well", "15:00", "--boat", demo, "--at", at).stdout
        assert f"{day} 15:00" in said.splitlines()[1]
