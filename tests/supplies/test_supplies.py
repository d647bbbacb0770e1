"""What to buy, worked out by hand beside each check."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import jsonschema
import pytest
from click.testing import CliRunner, Result

from curewindow.boat.schema import Job, Step
from curewindow.boat.service import Tin
from curewindow.cli.main import command
from curewindow.findings import finding
from curewindow.order.kept import KeptPlan, store
from curewindow.order.plan import LaterStep, Plan, PlannedStep
from curewindow.sheets.schema import Amounts, Sheet, Storage, Working
from curewindow.sheets.shelf import get_sheet
from curewindow.supplies import supplies_for
from curewindow.supplies.amounts import batch_for, coat_amount, parts_of, to_buy
from curewindow.supplies.counts import counts_of
from curewindow.supplies.keeping import keeping_of
from curewindow.supplies.left import Left
from curewindow.wording import Wording

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
AT = "2026-11-25 08:30"
WORDS = Wording(ZoneInfo("Europe/Amsterdam"), NOW)
Run = Callable[..., Result]


@pytest.fixture
def boat(demo_day: Path, tmp_path: Path) -> Path:
    shutil.copytree(demo_day, folder := tmp_path / "boat")
    return folder


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(command, [str(each) for each in arguments])


def _sheet(**amounts: object) -> Sheet:
    shelf = get_sheet("two-part-epoxy-primer").sheet
    return shelf.model_copy(update={"amounts": Amounts.model_validate(amounts)})


def _job(**more: object) -> Job:
    step = {"do": "coat", "sheet": "two-part-epoxy-primer", "coats": 2, "hands_on": "2 h"}
    return Job.model_validate({"name": "hull", "outdoors": True, "step": [step], **more})


def _step(start: datetime, job: str, step: int, coat: int | None, **more: object) -> PlannedStep:
    given = {
        "key": f"{job}/{step}/{coat}",
        "job": job,
        "part": f"{step}/{coat}",
        "where": "saloon",
        "space": "saloon",
        "step": step,
        "do": "coat",
        "coat": coat,
        "start": start,
        "end": start,
        "hard": start,
        "why": finding("begins when", state="choice"),
        "slack_h": 0.0,
    }
    return PlannedStep.model_validate({**given, **more})


def _later(week: date, job: str, step: int, coat: int) -> LaterStep:
    return LaterStep(
        key=f"{job}/{step}/{coat}",
        part=f"{step}/{coat}",
        job=job,
        where="saloon",
        space="saloon",
        step=step,
        do="coat",
        coat=coat,
        week=week,
        chance_pct=60.0,
        sure_week=week,
        within_pct=100.0,
    )


def test_amounts_by_hand() -> None:
    # 60 % solids at 60 µm dry spread 10 m²/L: 9 m² take 0.9 L, with a tenth lost 1 L.
    sheet = _sheet(volume_solids="60 %", dry_film="60 µm", loss="10 %")
    assert coat_amount(sheet, _job(area="9 m²")).litres == pytest.approx(1.0)
    # 100 µm wet on 9 m² are 0.9 L as well.
    sheet = _sheet(wet_film="100 µm", loss="10 %")
    assert coat_amount(sheet, _job(area="9 m²")).litres == pytest.approx(1.0)
    # The sheet's practical rate comes before both, the job's own amount before all.
    sheet = _sheet(spreading_rate="6 m²/L", wet_film="100 µm")
    assert coat_amount(sheet, _job(area="9 m²")).litres == pytest.approx(1.5)
    assert coat_amount(sheet, _job(area="9 m²", amount="2 L")).litres == pytest.approx(2.0)
    assert coat_amount(_sheet(), _job(area="9 m²")).litres is None
    assert coat_amount(sheet, _job()).litres is None


def test_a_spread_too_thin_is_told() -> None:
    # 50 % at 100 µm dry would spread 5 m²/L: at 8 m²/L it dries to 62 µm.
    sheet = _sheet(spreading_rate="8 m²/L", volume_solids="50 %", dry_film="100 µm")
    note = coat_amount(sheet, _job(area="9 m²")).note
    assert note is not None
    assert note.kind == "spread too thin"


def test_parts_and_rounding_by_hand() -> None:
    volume = parts_of(_sheet(mix_by_volume=[4, 1]), 2.5)
    assert [part.amount for part in volume] == [2.0, 0.5]
    # 2 L of 1.2 kg/L are 2.4 kg: 100 to 20 by mass are 2 kg and 0.4 kg.
    mass = parts_of(_sheet(mix_by_mass=[100, 20], density="1.2 kg/L"), 2.0)
    assert [part.amount for part in mass] == [2.0, 0.4]
    assert parts_of(_sheet(), 2.0) == []
    assert [to_buy(x) for x in (0.41, 0.45, 1.01, 2.0)] == [0.45, 0.45, 1.1, 2.0]


def test_batches_by_hand() -> None:
    """2 h in the pot, three quarters of it less 15 min are 1.25 h; 2.5 h of work: 2 batches."""
    working = Working.model_validate(
        {"temps": ["20 °C"], "pot_life": ["2 h"], "induction": ["15 min"]}
    )
    job = _job(area="10 m²")
    step = Step.model_validate({"do": "coat", "sheet": "x", "hands_on": "2.5 h"})
    sheet = _sheet(density="1.25 kg/L").model_copy(update={"working": working})
    batch = batch_for(sheet, step, job, 2.0, None)
    assert batch is not None
    assert batch.area_m2 == pytest.approx(5.0)
    assert batch.litres == pytest.approx(1.0)
    assert batch.batches_a_coat == 2
    # Measured with 0.5 kg = 0.4 L, a fifth of a coat: 5 batches of it.
    small = working.model_copy(update={"pot_life_mass": 0.5})
    batch = batch_for(sheet.model_copy(update={"working": small}), step, job, 2.0, None)
    assert batch is not None
    assert (batch.litres, batch.batches_a_coat) == (pytest.approx(0.4), 5)
    # One that has set before it may be used.
    slow = Working.model_validate(
        {"temps": ["20 °C"], "pot_life": ["20 min"], "induction": ["20 min"]}
    )
    batch = batch_for(sheet.model_copy(update={"working": slow}), step, job, 2.0, None)
    assert batch is not None
    assert batch.batches_a_coat is None
    assert batch_for(get_sheet("oil-varnish").sheet, step, job, 2.0, None) is None


def test_keeping() -> None:
    storage = Storage.model_validate(
        {"min": "5 °C", "frost_spoils": True, "shelf_life": "1 year", "shelf_life_opened": "30 d"}
    )
    march = datetime(2027, 3, 1, tzinfo=UTC)
    tins = [Tin(sheet="x", bought=date(2026, 1, 1)), Tin(sheet="x", bought=date(2026, 11, 1))]
    found = {each.kind: each for each in keeping_of(storage, tins, NOW, march, WORDS)}
    assert "keep from frost" in found
    assert "two tins" in found  # opened in November, used in March
    assert WORDS.local(found["tin too old"].time("at")).date() == date(2027, 1, 1)
    assert WORDS.local(found["tin there"].time("until")).date() == date(2027, 11, 1)
    late = keeping_of(storage, [], None, datetime(2028, 1, 1, tzinfo=UTC), WORDS)
    assert "too old by then" in [each.kind for each in late]


def test_by_job_without_a_plan(boat: Path) -> None:
    supplies = supplies_for(boat, NOW)
    assert supplies.plan_made is None
    by_job = {group.title: group for group in supplies.groups}
    # Two coats of 9 m² at 7 m²/L: 2.57 L, bought as 2.6 L, three parts to one.
    primer = by_job["forepeak frames"].products[0]
    assert (primer.sheet, primer.coats, primer.litres) == ("two-part-epoxy-primer-winter", 2, 2.6)
    assert [part.amount for part in primer.mix] == [1.95, 0.65]
    # Coats that the record has are not bought again: three of five are on.
    assert by_job["saloon doors"].products[0].coats == 2
    # Rust off 9 m²: nine sheets.
    assert by_job["forepeak frames"].counts[-1].what.startswith("pair")


def test_by_week_with_a_plan(boat: Path) -> None:
    def day(number: int) -> datetime:
        return datetime(2026, 12, number, 10, tzinfo=UTC)

    steps = [
        _step(day(1), "chart table", 2, 1),
        _step(day(8), "chart table", 2, 2),
        _step(day(30), "pump well", 2, 1),
    ]
    plan = Plan(
        boat="b",
        time_zone="Europe/Amsterdam",
        temperature_unit="°C",
        as_of=NOW,
        made_at=NOW,
        steps=steps,
    )
    store(boat, KeptPlan(plan=plan))
    supplies = supplies_for(boat, NOW, weeks=3)
    weeks = [group.week for group in supplies.groups]
    assert weeks == [date(2026, 11, 30), date(2026, 12, 7), None]
    assert supplies.groups[0].title == "next week, from Mon 30 Nov"
    assert [p.coats for p in supplies.groups[0].products] == [1]
    assert supplies.later == ["Bilge and locker paint, one-part alkyd, from Wed 30 Dec"]
    assert supplies.groups[-1].title == "not in the plan"


def test_near_to_the_hour_and_far_by_weeks(boat: Path) -> None:
    """Sat 5 Dec ends the forecast: 09:30 of Fri is told, beyond it the weeks alone."""
    known = datetime(2026, 12, 5, tzinfo=UTC)
    friday = datetime(2026, 12, 4, 8, 30, tzinfo=UTC)
    far = [
        _later(date(2026, 12, 7), "chart table", 2, 2),
        _later(date(2026, 12, 14), "chart table", 2, 3),
        _later(date(2026, 12, 14), "pump well", 2, 1),
    ]
    plan = Plan(
        boat="b",
        time_zone="Europe/Amsterdam",
        temperature_unit="°C",
        as_of=NOW,
        made_at=NOW,
        known_until=known,
        steps=[_step(friday, "chart table", 2, 1)],
        later=far,
    )
    store(boat, KeptPlan(plan=plan))
    supplies = supplies_for(boat, NOW, weeks=6)
    near, beyond = supplies.groups[:2]
    assert (near.week, beyond.week) == (date(2026, 11, 30), None)
    assert [p.needed_by for p in near.products] == [friday]
    varnish = beyond.products[0]
    assert (varnish.coats, varnish.needed_by) == (2, None)
    assert (varnish.from_week, varnish.until_week) == (date(2026, 12, 7), date(2026, 12, 14))
    assert all(s.first_needed is None for p in beyond.products for s in p.shares)
    for more in ((), ("--full",)):
        text = " ".join(
            run("buy", "--boat", boat, "--at", AT, "--weeks", "6", *more).stdout.split()
        )
        assert "needed by Fri 4 Dec 09:30" in text
        assert "needed from the week of 7 Dec until that of 14 Dec" in text
        told, _ = text.split("beyond the forecast".upper())[1].split("NOT IN THE PLAN")
        assert not re.search(r"\d\d:\d\d", told)
    short = run("buy", "--boat", boat, "--at", AT, "--weeks", "2").stdout
    assert "Bilge and locker paint, one-part alkyd, from the week of 14 Dec" in short


def test_the_command(boat: Path) -> None:
    said = run("buy", "--boat", boat, "--at", AT)
    assert said.exit_code == 0, said.output
    assert "no plan yet" in said.stdout
    assert "common practice, no source" in said.stdout
    schema = json.loads(run("schema", "--answer", "buy").stdout)
    answer = run("buy", "--boat", boat, "--at", AT, "--json")
    jsonschema.Draft202012Validator(schema).validate(json.loads(answer.stdout))
    wrong = run("buy", "--boat", boat, "--weeks", "0")
    assert wrong.exit_code == 2
    assert len(wrong.stderr.strip().splitlines()) == 1
    (boat / "work.toml").write_text("format = 1\njob = 3\n", encoding="utf-8")
    wrong = run("buy", "--boat", boat)
    assert wrong.exit_code == 3
    assert len(wrong.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("sheet", "by", "inside", "filters", "air_fed"),
    [
        ("alkyd-enamel", "brush", True, 2, 0),  # three coats of three hours: nine, eight a pair
        ("two-part-polyurethane-topcoat", "brush", True, 2, 1),
        ("two-part-polyurethane-topcoat", "brush", False, 2, 0),
        ("two-part-polyurethane-topcoat", "spray", False, 2, 1),
        ("polyurethane-sealant", "cartridge", True, 0, 0),
        ("waterborne-acrylic-varnish", "brush", True, 0, 0),
    ],
)
def test_masks_stand_beside_the_gloves(
    sheet: str, by: str, inside: bool, filters: int, air_fed: int
) -> None:
    """Filters against vapour, no filter against isocyanate in a closed space: common practice."""
    step = {
        "do": "coat",
        "sheet": sheet,
        "coats": 3,
        "hands_on": "3 h",
        "between": "sand",
        "by": by,
    }
    place = {"space": "saloon"} if inside else {"outdoors": True}
    job = Job.model_validate({"name": "table", "step": [step], **place})
    left = [
        Left(job=job, number=1, step=job.step[0], coat=coat, planned=None) for coat in (1, 2, 3)
    ]
    found = {each.what: each.count for each in counts_of(left, {sheet: get_sheet(sheet).sheet}, {})}
    of = {key: sum(n for what, n in found.items() if key in what) for key in ("filters", "air-fed")}
    assert of == {"filters": filters, "air-fed": air_fed}
    assert found["fine dust masks (P3)"] == 2
    assert found["pairs of gloves"] == 3
