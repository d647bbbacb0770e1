"""Day sheets made by hand, and calendars read back with another library than wrote them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest

from curewindow.answers import After, NextStep, Window
from curewindow.daysheet.models import DaySheet, JobAhead, Provenance, WindowsAhead
from curewindow.findings import finding


def _provenance(now: datetime) -> Provenance:
    return Provenance(
        weather="made up",
        attribution="",
        issued_at=None,
        fetched_at=now,
        weather_age_h=0.0,
        weather_until=now,
        last_reading=None,
        typical_sheets=[],
        own_sheets=[],
    )


@pytest.fixture(scope="session")
def sheet_at() -> Callable[..., DaySheet]:
    """A day sheet of a moment; whatever is given goes into it."""

    def made(now: datetime, zone: str = "Europe/Amsterdam", **more: Any) -> DaySheet:
        content: dict[str, Any] = {
            "boat": "Tin Heron",
            "place": "",
            "time_zone": zone,
            "temperature_unit": "°C",
            "as_of": now,
            "day": now.date(),
            "jobs": [],
            "clocks": [],
            "spaces": [],
            "outdoors": None,
            "cautions": [],
            "provenance": _provenance(now),
        }
        return DaySheet.model_validate({**content, **more})

    return made


@pytest.fixture(scope="session")
def window() -> Callable[..., Window]:
    """A window by its first and last start."""

    def made(opens: datetime, closes: datetime, chance: float = 0.9) -> Window:
        return Window(
            opens=opens,
            closes=closes,
            opens_because=finding("open already"),
            closes_because=finding("nobody aboard", begins=closes),
            tightest=None,
            best_start=opens,
            confidence=chance,
            after=After(start=opens, applied=opens),
        )

    return made


@pytest.fixture(scope="session")
def ahead() -> Callable[..., WindowsAhead]:
    """Windows of one job, coat 2 of 3 of its step 2."""

    def made(now: datetime, windows: list[Window], *, coat: int = 2) -> WindowsAhead:
        step = NextStep(
            step=2,
            of_steps=2,
            do="coat",
            sheet="oil-varnish",
            product="Oil varnish",
            coat=coat,
            of_coats=3,
            hands_on_h=1.0,
        )
        job = JobAhead(
            job="chart table",
            where="saloon",
            space="saloon",
            status="go",
            verdict=finding("done"),
            next=step,
            windows=windows,
        )
        return WindowsAhead(
            boat="Tin Heron",
            time_zone="Europe/Amsterdam",
            temperature_unit="°C",
            as_of=now,
            until=now,
            jobs=[job],
            provenance=_provenance(now),
        )

    return made


@pytest.fixture(scope="session")
def read() -> Callable[[bytes], list[Any]]:
    """Events of a calendar, by the library 'ical'."""
    from ical.calendar_stream import IcsCalendarStream

    def events(written: bytes) -> list[Any]:
        return list(IcsCalendarStream.calendar_from_ics(written.decode("utf-8")).events)

    return events
