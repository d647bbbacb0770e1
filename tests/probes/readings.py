"""Readings that cannot be, and odd ones that are true: used, or doubted and said to be."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta

from curewindow.record.entries import Reading
from curewindow.record.store import Record
from tests.probes.scene import NOW, Probe, job, space, step

WORK = job(step("coat", "waterborne-acrylic-varnish"), more='substrate = "bare wood"')
Course = Callable[[float], tuple[float, float]]
"""Air and humidity, by hours before now."""


def _read(course: Course, hours: float = 12.0) -> Callable[[Record], None]:
    def write(record: Record) -> None:
        steps = int(hours * 6)
        for back in range(steps, -1, -1):
            air, humidity = course(back / 6.0)
            at = NOW - timedelta(minutes=10 * back)
            record.add_reading(Reading("cabin", at, air_c=air, rh_pct=humidity))

    return write


def _wave(back: float) -> float:
    return 0.3 * (back % 3.0)


LIES: tuple[tuple[str, Course], ...] = (
    ("both frozen for forty hours", lambda back: (17.37, 51.26)),
    ("a jump of 13 K in ten minutes", lambda back: (29.5 if back < 0.01 else 16.5, 50.0)),
)
NEVER: tuple[tuple[str, Course], ...] = (
    ("air of 62 °C that was 62 °F", lambda back: (62.0 + _wave(back), 55.0)),
    ("air and humidity swapped", lambda back: (55.0 + _wave(back), 17.0 + _wave(back))),
)
TRUE: tuple[tuple[str, Course], ...] = (
    ("as is usual", lambda back: (16.5 + _wave(back), 50.0 + 2.0 * _wave(back))),
    ("a heater just lit", lambda back: (16.5 + max(0.0, 8.0 - 8.0 * back), 50.0 - _wave(back))),
    ("whole degrees of a cheap sensor", lambda back: (float(16 + (back > 3.0)), 50.0 + back // 2)),
)


def probes() -> Iterator[Probe]:
    """Hours of readings, one every ten minutes."""
    for name, course in NEVER:
        yield Probe(
            f"readings: {name}", space("cabin"), WORK, misread="is not likely", log=_read(course)
        )
    for lies, courses in ((True, LIES), (False, TRUE)):
        for name, course in courses:
            yield Probe(
                f"readings: {name}",
                space("cabin", more="slept_in = false"),
                WORK,
                says=("not used",) if lies else (),
                silent=() if lies else ("not used",),
                log=_read(course, 40.0 if lies else 12.0),
                swing_k=6.0 if lies else 0.0,
            )
