"""Past winters of the demo boat, made up: drawn from a random process stated here.

Day by day a winter's temperature is the mean of the season (a cosine over the year, 3 °C
in mid-January, 17 °C in July), a surplus of that winter (normal, 1.2 K), and a spell that
dies away by a sixth a day (first-order autoregression, 3.2 K). The day's course is a
cosine with its top at 14 h, wider in clear weather and in spring. The dew point lies
below the temperature by less in rain, and by more in dry spells,
on clear afternoons and towards summer. Rain comes and goes by chance every three
hours (a two-state Markov chain, wet a tenth of the time), wind is a spell as the
temperature is. All of it is invented.
"""

from __future__ import annotations

import math
import random
from datetime import UTC, date, datetime, timedelta

WINTERS = 20
PER_FILE = 10
"""A file of past weather holds no more than 4000 days."""
FILES = ("winters-1.csv", "winters-2.csv")
_BEFORE, _AFTER = 18, 205  # days about the morning
_STEP_H = 3
_HEAD = """# Twenty winters at the demo boat's place: all made up, drawn by chance.
# Nobody measured any of it. Times are UTC.
time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct
"""


def winters(today: date, base: date) -> dict[str, str]:
    """The text of each file of past winters.

    Parameters
    ----------
    today : date
        The day the demo is written for; the winters lie so many years before it.
    base : date
        The day of the year that stands for it: in a demo of July it is winter too.
    """
    shift = base - today
    texts: dict[str, str] = {}
    for number, name in enumerate(FILES):
        years = range((number + 1) * PER_FILE, number * PER_FILE, -1)
        texts[name] = _HEAD + "".join(_winter(_back(today, back), shift, back) for back in years)
    return texts


def _back(day: date, years: int) -> date:
    """The same day so many years ago; the 29th of February goes to the 28th."""
    last = 28 if (day.month, day.day) == (2, 29) else day.day
    return date(day.year - years, day.month, last)


def _winter(day: date, shift: timedelta, number: int) -> str:
    # A seed of the winter's own: the demo is the same whenever it is written.
    chance = random.Random(7919 * number)
    surplus = chance.gauss(0.0, 1.2)
    spell, breeze, dry, raining = chance.gauss(0.0, 3.2), 0.0, 0.0, False
    keep = 5.0 / 6.0
    fresh = math.sqrt(1.0 - keep**2)
    start = datetime(day.year, day.month, day.day, tzinfo=UTC)
    lines: list[str] = []
    for offset in range(-_BEFORE, _AFTER):
        spell = keep * spell + fresh * chance.gauss(0.0, 3.2)
        breeze = keep * breeze + fresh * chance.gauss(0.0, 1.6)
        dry = keep * dry + fresh * chance.gauss(0.0, 1.0)
        when = start + timedelta(days=offset)
        of_year = (when + shift).timetuple().tm_yday
        season = math.cos(2.0 * math.pi * (of_year - 15) / 365.0)
        clear = chance.random() ** 2  # mostly overcast
        swing = (1.0 + 3.5 * clear) * (1.0 - 0.55 * season)
        mean = 10.0 - 7.0 * season + surplus + spell - 1.5 * clear * season
        for hour in range(0, 24, _STEP_H):
            raining = chance.random() < (0.7 if raining else 0.05) and clear < 0.6
            course = math.cos(2.0 * math.pi * (hour - 14) / 24.0)
            temp = mean + swing * course
            noon = max(course + 0.3, 0.0)
            air = 1.9 + 1.3 * dry + 2.5 * max(0.5 - season, 0.0)
            below = 0.6 if raining else max(0.6, air + 0.8 * clear + 0.9 * swing * noon)
            wind = max(0.3, 3.6 + breeze + 0.5 * course)
            rain = 0.3 + chance.expovariate(1.2) if raining else 0.0
            cloud = 100.0 if raining else 100.0 * (1.0 - 0.8 * clear)
            lines.append(
                f"{when.date().isoformat()}T{hour:02d}:00Z,{temp:.1f},{temp - below:.1f},"
                f"{wind:.1f},{rain:.1f},{cloud:.0f}\n"
            )
    return "".join(lines)
