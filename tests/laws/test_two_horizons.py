"""Two horizons: exact as far as the forecast carries, beyond it weeks with chances; one date.

Asked of drawn work lists on the demo boat, in every face of a plan.
"""

from __future__ import annotations

import json
import random
import re
import shutil
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner

from curewindow.cli.main import command
from curewindow.daysheet.outlook import kept
from curewindow.demo import files as demofiles
from curewindow.order.kept import load
from curewindow.order.plan import Plan
from curewindow.season.answer import Outlook
from curewindow.wording import MONTHS, WEEKDAYS
from tests.fewer_jobs import only_jobs, weather_until

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
AT = "2026-11-25 08:30"
ZONE = ZoneInfo("Europe/Amsterdam")
JOBS = (
    "saloon doors",
    "chart table",
    "forepeak frames",
    "pump well",
    "wheelhouse windows",
    "mooring bitts",
    "hatch coaming",
    "saloon benches",
)
_CLOCK = re.compile(r"\b\d\d:\d\d\b")
_DAY = re.compile(rf"\b(?:{'|'.join(WEEKDAYS)}) (\d\d?) ({'|'.join(MONTHS)})\b(?: (\d\d\d\d))?")


@dataclass(frozen=True)
class Asked:
    """A boat whose plan was made, and what its faces say."""

    folder: Path
    plan: Plan
    outlook: Outlook

    def said(self, *words: str) -> str:
        result = CliRunner(env={"COLUMNS": "200"}).invoke(
            command, [*words, "--boat", str(self.folder), "--at", AT]
        )
        assert result.exit_code == 0, result.output
        return result.stdout


def _made(folder: Path, seed: int) -> Asked:
    """A drawn work list and a drawn end of the forecast, planned by the command."""
    draw = random.Random(seed)
    demofiles.write(folder, NOW)
    only_jobs(folder, *draw.sample(JOBS, draw.randint(1, 3)))
    weather_until(folder, f"2026-12-0{draw.randint(1, 5)}")
    boat = folder / "boat.toml"
    text = boat.read_text("utf-8")
    # Ten of its twenty winters are soon run through.
    boat.write_text(text.replace(', "winters-2.csv"', ""), "utf-8")
    made = CliRunner().invoke(
        command, ["plan", "--seconds", "2", "--boat", str(folder), "--at", AT, "--json"]
    )
    assert made.exit_code == 0, made.output
    plan, outlook = load(folder).plan, kept(folder)
    assert plan is not None
    assert outlook is not None
    assert plan == Plan.model_validate_json(made.stdout)
    return Asked(folder, plan, outlook)


@pytest.fixture(
    scope="module",
    params=[5, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (1, 3, 6, 8, 17, 38))],
)
def asked(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Asked:
    return _made(tmp_path_factory.mktemp("horizons") / "boat", request.param)


def _days_in(text: str) -> list[date]:
    """Days named with their weekday; those without a year in the coming one."""
    found = []
    for number, month, year in _DAY.findall(text):
        at = MONTHS.index(month) + 1
        found.append(date(int(year or (2026 if at > 8 else 2027)), at, int(number)))
    return found


def test_no_face_has_a_time_or_a_day_beyond_the_forecast(asked: Asked) -> None:
    known = asked.plan.known_until
    assert known is not None
    last = known.astimezone(ZONE).date()
    faces = {
        " ".join(words): asked.said(*words)
        for words in (
            ("plan", "--kept"),
            ("plan", "--kept", "--full"),
            ("outlook",),
            ("paper", "--days", "60"),
            ("buy", "--full", "--weeks", "26"),
            ("today",),
        )
    }
    for name, text in faces.items():
        assert max(_days_in(text), default=last) <= last, name
    for name in ("plan --kept", "plan --kept --full"):
        beyond = faces[name].partition("PROBABLY")[2].partition("GOES BY")[0]
        assert not _CLOCK.search(beyond), beyond
    beyond = faces["paper --days 60"].partition("Later, by the week")[2].partition("printed")[0]
    assert not _CLOCK.search(beyond), beyond
    table = asked.folder / "plan.csv"
    asked.said("paper", "--to", str(table))
    starts = [row.split(",")[0] for row in table.read_text("utf-8").splitlines()[1:]]
    assert len(starts) == len(asked.plan.every())
    assert all(datetime.fromisoformat(each) < known for each in starts if each)
    events = re.findall(r"SUMMARY:Planned.*?DTSTART:(\d{8}T\d{6})Z", asked.said("calendar"), re.S)
    assert all(
        datetime.strptime(each, "%Y%m%dT%H%M%S").replace(tzinfo=UTC) < known for each in events
    )


def test_the_json_has_no_time_for_a_later_step(asked: Asked) -> None:
    plan = asked.plan
    assert plan.known_until is not None
    assert all(step.start < plan.known_until for step in plan.steps)
    later = json.loads(plan.model_dump_json())["later"]
    assert not any(_CLOCK.search(json.dumps(step)) for step in later)
    assert plan.finish is None or plan.finish <= plan.known_until
    assert not {step.key for step in plan.steps} & {step.key for step in plan.later}


def test_sanding_for_a_missed_interval_has_no_time_where_its_coat_has_none(asked: Asked) -> None:
    plan = asked.plan
    near = {(step.job, step.step, step.coat) for step in plan.steps}
    sanded = [step for step in plan.steps if step.sanding_for_missed]
    assert all((step.job, step.step, step.sanded_for) in near for step in sanded)


def test_plan_and_outlook_have_one_date_and_one_chance(asked: Asked) -> None:
    again = Outlook.model_validate_json(asked.said("outlook", "--json"))
    assert asked.plan.all_done == asked.outlook.all_done == again.all_done
    head = asked.outlook.words[0]
    assert asked.plan.all_done is not None
    assert re.match(r"all (but .* )?done: ", head)
    for face in (("plan", "--kept"), ("outlook",), ("paper",)):
        assert head in asked.said(*face), face


def test_weeks_and_chances_hang_together(asked: Asked) -> None:
    plan, outlook = asked.plan, asked.outlook
    assert plan.known_until is not None
    known = plan.known_until.astimezone(ZONE).date()
    begun = {each.key: each.begun_pct for each in outlook.steps}
    for step in plan.later:
        assert step.within_pct == begun[step.key][-1]
        if step.week is None:
            assert step.within_pct < 50.0
            continue
        assert step.week.weekday() == 0
        assert step.week >= known - timedelta(days=known.weekday())
        assert step.chance_pct == begun[step.key][outlook.mondays.index(step.week)]
        assert step.chance_pct >= 50.0
        assert step.sure_week is None or step.sure_week >= step.week
    weeks = [step.week or date.max for step in plan.later]
    assert weeks == sorted(weeks)
    for pct in begun.values():
        assert pct == sorted(pct)
    for each in plan.sets_end:
        assert 0.0 < each.share_pct <= 100.0
    if plan.sets_end:
        # Whatever the season, the end hangs on something.
        assert sum(each.share_pct for each in plan.sets_end) >= 99.0
    left = [each.job for each in plan.jobs_by]
    assert set(left) <= {step.job for step in plan.every()}


def test_without_past_years_no_date_is_made_up(tmp_path: Path) -> None:
    folder = tmp_path / "boat"
    demofiles.write(folder, NOW)
    only_jobs(folder, "saloon doors")
    weather_until(folder, "2026-11-27")
    boat = folder / "boat.toml"
    text = boat.read_text("utf-8")
    without = re.sub(r"^past = .*$", "", text, flags=re.M)
    assert without != text
    boat.write_text(without, "utf-8")
    result = CliRunner(env={"COLUMNS": "200"}).invoke(
        command, ["plan", "--seconds", "2", "--boat", str(folder), "--at", AT]
    )
    assert result.exit_code == 0, result.output
    assert "how sure the end and the weeks beyond the forecast are cannot be told" in result.stdout
    assert "all done" not in result.stdout
    beyond = result.stdout.partition("LATER, NO WEEK CAN BE TOLD")[2].partition("GOES BY")[0]
    assert "saloon doors" in beyond
    assert not _CLOCK.search(beyond)
    assert "probably" not in result.stdout.casefold()
    shutil.rmtree(folder)
