"""Times and temperatures in words.

Clock changes: Directive 2000/84/EC (last Sundays of March and October, 01:00 UTC).
Fahrenheit: NIST SP 811, B.8: t/°C = (t/°F - 32) / 1.8, a difference has no zero point.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
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
        ("today 24:00", datetime(2026, 11, 25, 23, tzinfo=UTC)),
        ("Thu 3 Dec 12:20", datetime(2026, 12, 3, 11, 20, tzinfo=UTC)),
        ("3 December, 12:20", datetime(2026, 12, 3, 11, 20, tzinfo=UTC)),
        ("Fri 3 Dec 2027 12:20", datetime(2027, 12, 3, 11, 20, tzinfo=UTC)),
        ("Fri 1 Jan 8:00", datetime(2027, 1, 1, 7, tzinfo=UTC)),  # in 2026 that is a Thursday
        ("2026-11-25T08:00:30", datetime(2026, 11, 25, 7, 0, 30, tzinfo=UTC)),
        ("2026-10-25 02:30 CEST", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        ("2026-10-25 02:30 CET", datetime(2026, 10, 25, 1, 30, tzinfo=UTC)),
        # the hour that comes twice: the first of the two
        ("2026-10-25 02:30", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
    ],
)
def test_moments(text: str, expected: datetime) -> None:
    assert moment(text, AMSTERDAM, NOW) == expected


@pytest.mark.parametrize(
    "text",
    ["", "soon", "25:00", "8", "2026-13-01 08:00", "12:60", "Xyz 8:00", "24:01", "8:00 8:00 x"],
)
def test_no_moment(text: str) -> None:
    with pytest.raises(QuantityError, match="is not a time; write"):
        moment(text, AMSTERDAM, NOW)


@pytest.mark.parametrize(
    ("text", "after", "before"),
    [  # on a Wednesday, 08:30
        ("7:00", "2026-11-26 07:00", "2026-11-25 07:00"),
        ("8:30", "2026-11-25 08:30", "2026-11-25 08:30"),
        ("9:00", "2026-11-25 09:00", "2026-11-25 09:00"),
        ("Wed 0:50", "2026-12-02 00:50", "2026-11-25 00:50"),
        ("Wed 15:00", "2026-11-25 15:00", "2026-11-18 15:00"),
        ("Tue 15:00", "2026-12-01 15:00", "2026-11-24 15:00"),
        ("3 Dec 12:00", "2026-12-03 12:00", "2025-12-03 12:00"),
        ("29 Feb 12:00", "2028-02-29 12:00", "2024-02-29 12:00"),
        ("today 7:00", "2026-11-25 07:00", "2026-11-25 07:00"),
    ],
)
def test_of_several_days_the_one_that_is_asked_for(text: str, after: str, before: str) -> None:
    coming, over = (moment(each, AMSTERDAM, NOW) for each in (after, before))
    assert moment(text, AMSTERDAM, NOW, after=NOW) == coming
    assert moment(text, AMSTERDAM, NOW, before=NOW) == over


def test_a_date_is_no_other_weekday() -> None:
    with pytest.raises(QuantityError, match="3 Dec 2026 is a Thu"):
        moment("Mon 3 Dec 12:00", AMSTERDAM, NOW)


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


@pytest.mark.parametrize(
    ("hours", "text"),
    [(0.0, "0 min"), (0.34, "20 min"), (1.25, "1.25 h"), (5.0, "5 h"), (26.0, "26 h"), (72, "3 d")],
)
def test_spans(hours: float, text: str) -> None:
    assert span(hours) == text


_SECONDS = st.datetimes(
    min_value=datetime(2020, 1, 1),  # noqa: DTZ001
    max_value=datetime(2035, 1, 1),  # noqa: DTZ001
).map(lambda at: at.replace(microsecond=0, tzinfo=UTC))
_ZONES = st.sampled_from(
    ["Europe/Amsterdam", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata", "UTC"]
).map(ZoneInfo)


@cases(200)
@given(
    now=_SECONDS,
    away=st.one_of(st.integers(-300, 300), st.integers(-60 * 24 * 9, 60 * 24 * 300)),
    zone=_ZONES,
    form=st.sampled_from(["when", "near", "weekday", "date", "about"]),
)
def test_a_time_as_printed_is_a_time_accepted(
    now: datetime, away: int, zone: ZoneInfo, form: str
) -> None:
    """Law: what is to come and what is over read back to the minute, in every form there is."""
    at = now + timedelta(minutes=away)
    if form == "weekday" and not -6 <= _days_away(at, now, zone) <= 6:
        form = "when"
    days = form if form in ("weekday", "date") else "relative"
    words = Wording(zone, now, days=days)  # type: ignore[arg-type]
    text = words.near(at) if form == "near" else words.when(at)
    text = f"~{text}" if form == "about" else text
    asked = {"after": now} if away >= 0 else {"before": now}
    assert moment(text, zone, now, **asked) == at.replace(second=0)


def _days_away(at: datetime, now: datetime, zone: ZoneInfo) -> int:
    return (at.astimezone(zone).date() - now.astimezone(zone).date()).days


@cases(60)
@given(at=_SECONDS, now=_SECONDS, zone=_ZONES)
def test_a_date_with_its_year_needs_no_direction(
    at: datetime, now: datetime, zone: ZoneInfo
) -> None:
    words = Wording(zone, now)
    for text in (f"{words.date(at)} {words.clock(at)}", at.isoformat(), f"{at:%Y-%m-%dT%H:%M:%SZ}"):
        assert moment(text, zone, now).replace(second=0) == at.replace(second=0)
