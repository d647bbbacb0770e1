"""A coat that was found spoilt is due again before any later one; nothing of the record is lost."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from curewindow.boat.schema import Job
from curewindow.judgement.progress import Progress, next_of
from curewindow.record.entries import Coat, Done, Inspection
from curewindow.record.spoilt import counting, still_done, with_spoilt
from tests.cases import cases

START = datetime(2026, 5, 4, 8, tzinfo=UTC)
DAY = timedelta(days=1)
STEPS = st.lists(
    st.one_of(
        st.just({"do": "sand"}),
        st.builds(
            lambda coats: {"do": "coat", "sheet": "oil-varnish", "coats": coats},
            st.integers(1, 3),
        ),
    ),
    min_size=1,
    max_size=5,
)


class Told:
    """A job whose owner logs what is told, a day a time."""

    def __init__(self, steps: list[dict[str, Any]]) -> None:
        self.job = Job.model_validate({"name": "hatch", "outdoors": True, "step": steps})
        self.coats: list[Coat] = []
        self.dones: list[Done] = []
        self.seen: list[Inspection] = []
        self.days = 0

    def next(self) -> Progress | None:
        return next_of(self.job, with_spoilt(self.coats, self.seen), self.dones)

    def obey(self) -> bool:
        """Log the next step; False where all is done."""
        told = self.next()
        if told is None:
            return False
        self.days += 1
        at = START + self.days * DAY
        number = len(self.coats) + len(self.dones) + 1
        if told.coat is None:
            self.dones.append(Done("hatch", told.step_number, at, id=number))
        else:
            end = at + timedelta(hours=1)
            coat = Coat("hatch", told.step_number, told.coat, at, end, "oil-varnish", id=number)
            self.coats.append(coat)
        return True


@cases(60)
@given(steps=STEPS, logged=st.integers(1, 12), which=st.integers(0, 11), data=st.data())
def test_what_is_told_after_a_spoilt_coat_is_no_later_one(
    steps: list[dict[str, Any]], logged: int, which: int, data: st.DataObject
) -> None:
    told = Told(steps)
    for _ in range(logged):
        told.obey()
    if not told.coats:
        return
    before = told.next()
    bad = told.coats[which % len(told.coats)]
    found = Inspection("hatch", bad.step, bad.coat, START + (told.days + 0.5) * DAY, "spoilt")
    told.seen.append(found)
    again = told.next()
    assert again is not None
    assert (again.step_number, again.coat) == (bad.step, bad.coat)
    # what was on top lies there all the same, until it is taken off
    assert again.last_coat is not None
    assert again.last_coat.id == told.coats[-1].id
    # obeyed, the work ends, every coat once that counts
    if data.draw(st.booleans()):
        told.obey()
        told.seen.append(
            Inspection("hatch", bad.step, bad.coat, START + (told.days + 0.5) * DAY, "spoilt")
        )
    for _ in range(40):
        if not told.obey():
            break
    assert told.next() is None
    marked = with_spoilt(told.coats, told.seen)
    on = [(coat.step, coat.coat) for coat in counting(marked)]
    planned = [
        (number, coat)
        for number, step in enumerate(steps, 1)
        for coat in range(1, step.get("coats", 0) + 1)
    ]
    assert sorted(on) == planned
    assert len(marked) == len(told.coats)
    by_hand = {done.step for done in still_done(marked, told.dones)}
    assert by_hand == {number for number, step in enumerate(steps, 1) if step["do"] == "sand"}
    # taken back at once, all is as it was
    told = Told(steps)
    for _ in range(logged):
        told.obey()
    assert told.next() == before
