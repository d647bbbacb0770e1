"""Times and temperatures in words.

Clock changes: Directive 2000/84/EC (last Sundays of March and October, 01:00 UTC).
Fahrenheit: NIST SP 811, B.8: t/°C = (t/°F - 32) / 1.8, a difference has no zero point.
"""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.errors import QuantityError
from curewindow.wording import Wording, moment, span
from tests.cases import cases

AMSTERDAM = ZoneInfo("Europe/Amsterdam")
NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)  # Wednesday 08:30
WORDS = Wording(AMSTERDAM, NOW)
IN_F = Wording(AMSTERDAM, NOW, fahrenheit=True)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2026-11-25 08:00", datetime(2026, 11, 25, 7, tzinfo=UTC)),
        ("2026-11-25T08:00", datetime(2026, 11, 25, 7, tzinfo=UTC)),
        ("2026-11-25T08:00Z", datetime(2026, 11, 25, 8, tzinfo=UTC)),
        ("2026-11-25 08:00+05:00", datetime(2026, 11, 25, 3, tzinfo=UTC)),
        ("2026-07-01 08:00", datetime(2026, 7, 1, 6, tzinfo=UTC)),
        ("17:10", datetime(2026, 11, 25, 16, 10, tzinfo=UTC)),
        ("7.05", datetime(2026, 11, 25, 6, 5, tzinfo=UTC)),
        ("today 17:10", datetime(2026, 11, 25, 16, 10, tzinfo=UTC)),
        ("tomorrow 8:00", datetime(2026, 11, 26, 7, tzinfo=UTC)),
        ("yesterday 16:30", datetime(2026, 11, 24, 15, 30, tzinfo=UTC)),
        ("Thu 17:10", datetime(2026, 11, 26, 16, 10, tzinfo=UTC)),
        ("wednesday 17:10", datetime(2026, 11, 25, 16, 10, tzinfo=UTC)),
        ("2026-11-27", datetime(2026, 11, 26, 23, tzinfo=UTC)),
        ("now", NOW),
        # the hour that comes twice: the first of the two
        ("2026-10-25 02:30", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
    ],
)
def test_moments(text: str, expected: datetime) -> None:
    assert moment(text, AMSTERDAM, NOW) == expected


@pytest.mark.parametrize(
    "text", ["", "soon", "25:00", "8", "2026-13-01 08:00", "12:60", "Xyz 8:00"]
)
def test_no_moment(text: str) -> None:
    with pytest.raises(QuantityError, match="is not a time; write"):
        moment(text, AMSTERDAM, NOW)


def test_hour_the_clock_skips() -> None:
    with pytest.raises(QuantityError, match="the clock skips that hour"):
        moment("2026-03-29 02:30", AMSTERDAM, NOW)


def test_tomorrow_over_the_clock_change_is_the_same_time_of_day() -> None:
    eve = datetime(2026, 3, 28, 9, tzinfo=UTC)
    assert moment("tomorrow 10:00", AMSTERDAM, eve) == datetime(2026, 3, 29, 8, tzinfo=UTC)


@pytest.mark.parametrize(
    ("at", "text"),
    [
        (datetime(2026, 11, 25, 16, 10, tzinfo=UTC), "today 17:10"),
        (datetime(2026, 11, 25, 23, 30, tzinfo=UTC), "tomorrow 00:30"),
        (datetime(2026, 11, 24, 15, 0, tzinfo=UTC), "yesterday 16:00"),
        (datetime(2026, 11, 28, 7, 0, tzinfo=UTC), "Sat 08:00"),
        (datetime(2026, 12, 2, 7, 0, tzinfo=UTC), "Wed 2 Dec 08:00"),
        (datetime(2026, 11, 20, 7, 0, tzinfo=UTC), "Fri 20 Nov 08:00"),
        (datetime(2027, 3, 29, 7, 0, tzinfo=UTC), "Mon 29 Mar 2027 09:00"),
    ],
)
def test_when(at: datetime, text: str) -> None:
    assert WORDS.when(at) == text


def test_the_hour_that_comes_twice_says_which() -> None:
    words = Wording(AMSTERDAM, datetime(2026, 10, 24, 12, tzinfo=UTC))
    assert words.clock(datetime(2026, 10, 25, 0, 30, tzinfo=UTC)) == "02:30 CEST"
    assert words.clock(datetime(2026, 10, 25, 1, 30, tzinfo=UTC)) == "02:30 CET"
    assert words.clock(datetime(2026, 10, 25, 2, 30, tzinfo=UTC)) == "03:30"


def test_degrees() -> None:
    assert WORDS.temp(-0.04) == "0 °C"
    assert WORDS.temp(-4.0) == "−4 °C"
    assert IN_F.temp(10.0) == "50 °F"
    assert IN_F.temp(-40.0) == "−40 °F"
    # a difference of 3 K is 5.4 °F, not 37.4 °F
    assert IN_F.difference(3.0) == "5.4 °F"
    assert WORDS.difference(3.0) == "3 °C"


def test_sentences_in_the_boats_degrees() -> None:
    said = "hull side less than 3 K above dew point from Thu 22:00, air below 10 °C"
    assert WORDS.sentence(said).startswith("hull side less than 3 °C above")
    assert IN_F.sentence(said) == (
        "hull side less than 5.4 °F above dew point from Thu 22:00, air below 50 °F"
    )
    assert IN_F.sentence("dew for 12 h, 390 kJ/K, −4 °C") == "dew for 12 h, 390 kJ/K, 24.8 °F"


@pytest.mark.parametrize(
    ("hours", "text"),
    [(0.0, "0 min"), (0.34, "20 min"), (1.25, "1.25 h"), (5.0, "5 h"), (26.0, "26 h"), (72, "3 d")],
)
def test_spans(hours: float, text: str) -> None:
    assert span(hours) == text


@cases(60)
@given(
    st.datetimes(min_value=datetime(2020, 1, 1), max_value=datetime(2035, 1, 1)).map(  # noqa: DTZ001
        lambda at: at.replace(second=0, microsecond=0, tzinfo=UTC)
    ),
    st.sampled_from(["Europe/Amsterdam", "America/New_York", "Australia/Lord_Howe", "UTC"]),
)
def test_what_is_written_reads_back(at: datetime, zone_name: str) -> None:
    """Law: a local time as text is the same moment, up to the hour that comes twice."""
    zone = ZoneInfo(zone_name)
    local = at.astimezone(zone)
    read = moment(f"{local:%Y-%m-%d %H:%M}", zone, at)
    twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
    assert read == at or twice
