"""The smallest set that cannot all be kept, on cases worked out by hand.

Aboard from 08:00 to 18:00, in slots of half an hour. A coat of varnish is half an hour's work,
and the next one goes on it 24 h after its start, the slats over it 24 h after that of the last.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from curewindow.order.conflict import conflict, held_too_soon
from curewindow.order.fewer import that_fits, without_jobs
from curewindow.order.problem import Precedence, Problem, Task
from curewindow.order.slots import lay_slots
from curewindow.order.solve import solve
from curewindow.order.tables import hands_mode
from curewindow.wording import Wording

NOW = datetime(2026, 11, 26, 7, 30, tzinfo=UTC)  # a Thursday
WORDS = Wording(ZoneInfo("UTC"), NOW, False)
DAY = 48  # slots
COAT_3, COAT_4, SLATS, SHELF = range(4)


def on(day: int, hour: float) -> datetime:
    return datetime(2026, 11, day, tzinfo=UTC) + timedelta(hours=hour)


def laid(days: float, *work: tuple[str, int | None, float]) -> Problem:
    """Tasks of so many hours without rows between them."""
    count = 10 * 144 + 1
    times = np.datetime64("2026-11-26T00:00:00") + np.arange(count) * np.timedelta64(600, "s")
    hour = (np.arange(count) / 6.0) % 24.0
    aboard = (hour >= 8.0) & (hour <= 18.0)
    slots = lay_slots(NOW, NOW + timedelta(days=days), times, aboard, "UTC")
    free = np.ones(slots.count, np.bool_)
    tasks = []
    for number, (job, coat, hours) in enumerate(work):
        hands = round(hours * 2)
        tasks.append(
            Task(
                number=number,
                job=job,
                step=1,
                coat=coat,
                sitting=1,
                of_sittings=1,
                do="fit" if coat is None else "coat",
                sheet=None,
                space=None,
                hands=hands,
                hands_h=hours,
                modes=(hands_mode(slots, hands, free),),
            )
        )
    return Problem(
        slots=slots,
        tasks=tuple(tasks),
        links=(),
        reach={None: frozenset([None])},
        heaters=(),
        done_by=None,
        known_until=slots.count,
        left_out=(),
        notes=(),
        now=NOW,
    )


@pytest.fixture
def saloon() -> Problem:
    problem = laid(
        7.0, ("varnish", 3, 0.5), ("varnish", 4, 0.5), ("slats", None, 4.0), ("shelf", None, 1.0)
    )
    rows = tuple(
        Precedence(before, after, kind, (problem.tasks[before].modes[0].starts + DAY,))
        for before, after, kind in ((COAT_3, COAT_4, "recoat"), (COAT_4, SLATS, "cured"))
    )
    return replace(problem, links=rows)


def slots_of(problem: Problem, held: dict[int, datetime]) -> dict[int, int]:
    return {number: problem.slots.at_or_after(when) for number, when in held.items()}


def test_coat_4_comes_too_late_for_the_slats(saloon: Problem) -> None:
    """Coat 3 on Saturday 28 November at 09:00: coat 4 on Sunday at 09:00 at the soonest, and the
    slats over it on Monday at 09:00. It is held for Sunday at 13:00; the shelf disturbs nobody.
    By their rows alone each of the three could begin when it is held: only a search sees it."""
    pins = slots_of(saloon, {COAT_3: on(28, 9), SLATS: on(29, 13), SHELF: on(27, 9)})
    assert held_too_soon(saloon, WORDS, pins) is None
    assert conflict(saloon, WORDS, pins=pins) == [
        "'varnish' coat 3 is fixed for Sat 09:00",
        "'slats', fit is fixed for Sun 13:00",
        "'varnish' coat 4 comes after 'varnish' coat 3 and cannot be before Sun 09:00",
        "'slats', fit comes after 'varnish' coat 4 and cannot be before Mon 09:00",
    ]
    # smallest: without either of the two held things all of it fits
    for dropped in (COAT_3, SLATS):
        left = {number: slot for number, slot in pins.items() if number != dropped}
        assert conflict(saloon, WORDS, pins=left) is None
        assert solve(saloon, seconds=20, pins=left).order is not None


def test_one_thing_held_before_its_own_row_allows(saloon: Problem) -> None:
    """From Thursday 08:00: coat 4 on Friday, the slats on Saturday, each at 08:00."""
    pins = slots_of(saloon, {SLATS: on(27, 8)})
    assert conflict(saloon, WORDS, pins=pins) == [
        "'slats', fit cannot be before Sat 08:00: 'varnish' coat 4 before it",
        "'slats', fit is fixed for tomorrow 08:00",
    ]


def test_two_things_at_once(saloon: Problem) -> None:
    """The shelf takes the hour from 09:00 to 10:00, and coat 3 is held for 09:30."""
    pins = slots_of(saloon, {SHELF: on(27, 9), COAT_3: on(27, 9.5), SLATS: on(30, 8)})
    found = conflict(saloon, WORDS, pins=pins)
    assert found == [
        "'varnish' coat 3 is fixed for tomorrow 09:30",
        "'shelf', fit is fixed for tomorrow 09:00",
    ]


def test_hours_that_are_not_enough() -> None:
    """Two pieces of six hours in one day of ten: neither alone is at fault."""
    problem = laid(0.9, ("shelf", None, 6.0), ("slats", None, 6.0))
    found = conflict(problem, WORDS)
    assert found is not None
    assert len(found) == 1
    assert found[0].startswith("hands: the hours aboard up to")
    assert conflict(laid(1.9, ("shelf", None, 6.0), ("slats", None, 6.0)), WORDS) is None


def test_what_does_not_fit_is_left_out_and_named_and_the_rest_is_planned() -> None:
    """Ten hours a day: one of six and one of three, or of three of four the first two."""
    six = laid(0.9, ("shelf", None, 6.0), ("slats", None, 6.0), ("hooks", None, 3.0))
    fits = that_fits(six)
    assert fits is not None
    assert [job for job, _ in fits.left_out] == ["shelf"]
    assert {task.job for task in fits.tasks} == {"slats", "hooks"}
    assert solve(fits).order is not None
    four = laid(0.9, *((name, None, 4.0) for name in ("shelf", "slats", "hooks", "rail", "sole")))
    fits = that_fits(four)
    assert fits is not None
    assert {task.job for task in fits.tasks} == {"shelf", "slats"}
    assert that_fits(laid(0.9, ("shelf", None, 11.0))) is None


def test_what_waits_for_a_job_that_is_left_out_is_left_out_with_it(saloon: Problem) -> None:
    """And what is left is bound together as it was."""
    named = replace(
        saloon,
        tasks=tuple(
            replace(t, sanding_of=COAT_3) if t.number == COAT_4 else t for t in saloon.tasks
        ),
    )
    fewer = without_jobs(named, ["shelf"])
    assert [(link.before, link.after) for link in fewer.links] == [(0, 1), (1, 2)]
    assert fewer.tasks[1].sanding_of == 0
    none = without_jobs(named, ["varnish"])
    assert [task.job for task in none.tasks] == ["shelf"]
    assert none.tasks[0].number == 0
    assert dict(none.left_out)["slats"] == "waits for 'varnish', which cannot be planned"
    assert not none.links
