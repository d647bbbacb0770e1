"""The order of work with the weather switched off, on published instances with known optima.

- ``j30...`` and ``j60...``: 30 and 60 activities, four renewable resources, of the sets J30 and
  J60 of PSPLIB (Kolisch and Sprecher, European Journal of Operational Research 96 (1997)
  205-216); optimal makespans by the library's own lists of optima. Its sets with several modes are
  left out: there a mode has its own use of resources, some of which are used up, and no work
  aboard is like that.
- ``ft06``: six jobs on six machines (Fisher and Thompson 1963, in Muth and Thompson,
  Industrial Scheduling); optimal makespan 55, proven many times since.
- One machine with heads and tails, worked out on paper beside its test.

Resources are tools of which there are several, held from start to end; a slot is a day,
and someone is aboard all the time.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from curewindow.order.problem import Bound, Mode, Precedence, Problem, Task
from curewindow.order.settle import fits
from curewindow.order.slots import Slots
from curewindow.order.solve import solve

DATA = Path(__file__).parent / "data"


def problem_of(
    durations: list[int],
    follows: list[tuple[int, int]],
    uses: list[dict[str, int]],
    counts: dict[str, int],
    horizon: int,
    *,
    hands: bool = False,
    heads: list[int] | None = None,
    tails: list[int] | None = None,
) -> Problem:
    """Activities as tasks without weather: any slot is a start."""
    count = horizon + 1
    whole = np.arange(count, dtype=np.int64)
    slots = Slots(datetime(2026, 1, 1, tzinfo=UTC), 1440, np.ones(count, np.bool_), whole, whole)
    tasks = []
    for number, long in enumerate(durations):
        starts = whole[: count - long]
        ends = starts + long
        hard = np.minimum(ends + (tails[number] if tails else 0), count)
        mode = Mode(None, starts, ends, ends, ends, hard, ends, starts, starts)
        bounds = () if heads is None else (Bound(heads[number], "delivery", "head"),)
        tasks.append(
            Task(
                number=number,
                job=f"activity {number + 1}",
                step=1,
                coat=None,
                sitting=1,
                of_sittings=1,
                do="fit",
                sheet=None,
                space=None,
                hands=long if hands else 0,
                hands_h=24.0 * long,
                modes=(mode,),
                bounds=bounds,
                tools=tuple((name, n) for name, n in uses[number].items() if n),
            )
        )
    links = tuple(
        Precedence(before, after, "job", tuple(mode.ends for mode in tasks[before].modes))
        for before, after in follows
    )
    return Problem(
        slots=slots,
        tasks=tuple(tasks),
        links=links,
        reach={None: frozenset([None])},
        heaters=(),
        done_by=None,
        known_until=count,
        left_out=(),
        notes=(),
        now=slots.first,
        tool_counts=counts,
    )


def read_sm(path: Path) -> Problem:
    """The library's own form: successors, then durations and requests, then availabilities."""
    lines = path.read_text(encoding="ascii").splitlines()

    def block(title: str, skip: int) -> list[list[int]]:
        begin = next(i for i, line in enumerate(lines) if line.startswith(title)) + skip
        rows = []
        for line in lines[begin:]:
            if line.startswith("*"):
                break
            rows.append([int(word) for word in line.split()])
        return rows

    follows = [(row[0] - 1, after - 1) for row in block("PRECEDENCE", 2) for after in row[3:]]
    requests = block("REQUESTS", 3)
    available = block("RESOURCEAVAILABILITIES", 2)[0]
    uses = [{f"R{k + 1}": n for k, n in enumerate(row[3:])} for row in requests]
    counts = {f"R{k + 1}": n for k, n in enumerate(available)}
    horizon = next(int(line.split(":")[1]) for line in lines if line.startswith("horizon"))
    return problem_of([row[2] for row in requests], follows, uses, counts, horizon)


def read_job_shop(path: Path) -> Problem:
    """Rows of (machine, duration) pairs; a machine is a tool of which there is one."""
    rows = [[int(word) for word in line.split()] for line in path.read_text().splitlines()][1:]
    durations: list[int] = []
    uses: list[dict[str, int]] = []
    follows: list[tuple[int, int]] = []
    for row in rows:
        for k in range(0, len(row), 2):
            if k:
                follows.append((len(durations) - 1, len(durations)))
            uses.append({f"machine {row[k]}": 1})
            durations.append(row[k + 1])
    return problem_of(durations, follows, uses, {}, 100)


@pytest.mark.parametrize(
    ("problem", "optimum"),
    [
        pytest.param(read_sm(DATA / "j301_1.sm"), 43, id="j301_1"),
        pytest.param(read_sm(DATA / "j305_1.sm"), 53, id="j305_1"),
        pytest.param(read_sm(DATA / "j3017_4.sm"), 49, id="j3017_4"),
        pytest.param(read_sm(DATA / "j601_1.sm"), 77, id="j601_1"),
        pytest.param(read_sm(DATA / "j602_1.sm"), 65, id="j602_1"),
        pytest.param(read_job_shop(DATA / "ft06.txt"), 55, id="ft06"),
    ],
)
def test_a_published_instance_is_solved_to_its_published_optimum(
    problem: Problem, optimum: int
) -> None:
    found = solve(problem, seconds=60.0, aims=("date",))
    assert found.order is not None
    assert found.steps[0].proven
    assert found.order.finish == optimum
    assert fits(problem, found.order)


def test_one_pair_of_hands_with_heads_and_tails() -> None:
    """1 | r_j, q_j | Cmax with three tasks: heads 0, 2, 3; times 4, 2, 3; tails 1, 6, 2.

    By hand, whichever is first. Task 2 first, from 2 to 4: then 3 (to 7) and 1 (to 11, tail 1)
    end at 12, or 1 (to 8) and 3 (to 11, tail 2) at 13. Task 1 first, from 0 to 4: then 2 (to 6,
    tail 6) ends at 12 and 3 (to 9, tail 2) at 11; with 3 before 2 it is 15. Task 3 first, from 3 to
    6: then 2 (to 8) ends at 14. So 12.
    """
    problem = problem_of(
        [4, 2, 3], [], [{}, {}, {}], {}, 30, hands=True, heads=[0, 2, 3], tails=[1, 6, 2]
    )
    found = solve(problem, seconds=20.0, aims=("date",))
    assert found.order is not None
    assert found.steps[0].proven
    assert found.order.finish == 12
