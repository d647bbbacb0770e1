"""Next step and coat, derived from the record."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from curewindow.boat.schema import Job
from curewindow.judgement.progress import next_of
from curewindow.record.entries import Coat, Done

AT = datetime(2026, 5, 1, 12, tzinfo=UTC)
JOB = Job.model_validate(
    {
        "name": "door",
        "step": [
            {"do": "sand"},
            {"do": "coat", "sheet": "x", "coats": 2, "between": "sand"},
            {"do": "fit"},
        ],
    }
)


def coat(number: int, step: int = 2, job: str = "door") -> Coat:
    at = AT + timedelta(days=number)
    return Coat(job, step, number, at, at + timedelta(hours=1), "x")


@pytest.mark.parametrize(
    ("coats", "done", "step", "number", "sands"),
    [
        ([], [], 1, None, False),
        ([], [1], 2, 1, False),
        ([coat(1)], [1], 2, 2, True),
        ([coat(1), coat(2)], [1], 3, None, False),
        # the log may begin in the middle: coat 2 on means coat 1 was
        ([coat(2)], [1], 3, None, False),
        # what other jobs did does not count
        ([coat(1, job="hatch")], [1], 2, 1, False),
        # a step written down as done needs no more coats
        ([coat(1)], [1, 2], 3, None, False),
    ],
)
def test_next(
    coats: list[Coat], done: list[int], step: int, number: int | None, sands: bool
) -> None:
    found = next_of(JOB, coats, [Done("door", n, AT) for n in done])
    assert found is not None
    assert (found.step_number, found.coat, found.sands_first) == (step, number, sands)


def test_all_done() -> None:
    assert next_of(JOB, [coat(1), coat(2)], [Done("door", 1, AT), Done("door", 3, AT)]) is None


def test_later_step_shows_that_earlier_ones_were_done() -> None:
    found = next_of(JOB, [coat(1)], [])
    assert found is not None
    assert found.step_number == 2
    assert [(note.kind, note.texts("names")) for note in found.notes] == [
        ("steps not logged", ("1 (sand)",))
    ]
