"""A coat as it is told: odd times, areas and films are written down and asked about."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from curewindow.boat.aboard import Aboard
from curewindow.boat.schema import Boat, Job
from curewindow.findings import Finding
from curewindow.logbook.odd import oddities
from curewindow.record.entries import Coat
from curewindow.wording import Wording

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def aboard(folder: Path) -> Aboard:
    boat = Boat.model_validate(
        {"name": "a", "place": {"latitude": 52.0, "longitude": 5.0, "time_zone": "UTC"}}
    )
    return Aboard(folder=folder, boat=boat, now=NOW, wording=Wording(ZoneInfo("UTC"), NOW))


def job(*sheets: str, substrate: str = "") -> Job:
    steps = [{"do": "coat", "sheet": each, "coats": 2, "hands_on": "1 h"} for each in sheets]
    return Job.model_validate(
        {"name": "door", "area": "6 m²", "substrate": substrate, "step": steps}
    )


def coat(
    end: datetime,
    sheet: str = "alkyd-enamel",
    *,
    hours: float = 1.0,
    number: int = 1,
    step: int = 1,
    area_m2: float | None = None,
) -> Coat:
    return Coat("door", step, number, end - hours * HOUR, end, sheet, area_m2=area_m2)


def asked(folder: Path, made: Coat, *before: Coat, work: Job | None = None) -> list[Finding]:
    return oddities(aboard(folder), work or job("alkyd-enamel"), before, made)


def test_a_coat_like_any_other_is_not_asked_about(tmp_path: Path) -> None:
    first = coat(NOW - 48 * HOUR)
    assert asked(tmp_path, first) == []
    assert asked(tmp_path, coat(NOW, number=2), first) == []
    assert asked(tmp_path, coat(NOW, area_m2=6.0)) == []
    # a long day at a big job, as planned, is none either
    assert asked(tmp_path, coat(NOW, hours=9.0)) == []


@pytest.mark.parametrize(
    ("made", "kind"),
    [
        (coat(NOW, hours=40.0), "coat took long"),
        (coat(NOW - timedelta(days=365)), "coat long ago"),
        (coat(NOW, area_m2=3.0), "coat on part"),
    ],
)
def test_odd_times_and_areas_are_asked_about(tmp_path: Path, made: Coat, kind: str) -> None:
    (found,) = asked(tmp_path, made)
    assert found.kind == kind


def test_two_hours_after_the_last_is_asked_about(tmp_path: Path) -> None:
    """Alkyd enamel: its sheet wants 30 h at 20 °C."""
    (found,) = asked(tmp_path, coat(NOW, number=2), coat(NOW - 3 * HOUR))
    assert found.kind == "coat too soon"
    assert found.number("hours") == pytest.approx(2.0)
    assert found.number("other_hours") == pytest.approx(30.0)


def test_what_never_goes_on_what_is_below_is_said_when_it_is_on(tmp_path: Path) -> None:
    work = job("alkyd-enamel", "two-part-epoxy-primer")
    below = coat(NOW - 60 * HOUR)
    made = coat(NOW, "two-part-epoxy-primer", step=2)
    assert [each.kind for each in asked(tmp_path, made, below, work=work)] == ["does not go on"]
    steel = job("two-part-epoxy-primer", substrate="bare steel")
    assert asked(tmp_path, coat(NOW, "two-part-epoxy-primer"), work=steel) == []
