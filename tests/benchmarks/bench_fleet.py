"""What a season of daily planning costs for many boats, on a few, and how it is spread.

    python tests/benchmarks/bench_fleet.py                     three boats, four mornings each
    python tests/benchmarks/bench_fleet.py --boats 50 --mornings 2
    python tests/benchmarks/bench_fleet.py --dask              the same by Dask's local cluster
    python tests/benchmarks/bench_fleet.py --memory            what one process takes of memory

The boats are the demo boat with another share of its jobs each; on each morning they are planned
anew, what was planned for the day before having been logged as planned. The first morning knows
no plan, the others have that of the day before. Processor time of each boat's own process; a
season of 120 mornings for a thousand boats is those figures times their number: an upper bound,
as the work that is left grows less.

Dask is no dependency: where it is not installed the script says so and leaves it out.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import random
import resource
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path

from curewindow.demo import files as demofiles
from curewindow.fleet.models import FleetBoat
from curewindow.fleet.run import Asked, plan_all
from curewindow.order.kept import load
from curewindow.order.plan import PlannedStep
from curewindow.record.entries import Coat, Done
from curewindow.record.store import Record

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
DAY = timedelta(days=1)
SEASON_DAYS, SEASON_BOATS = 120, 1000
SEED = 7
Spread = Callable[[list[Path], Asked], Iterator[FleetBoat]]


def made_up(place: Path, count: int) -> list[Path]:
    """So many boats, each with another share of the demo's jobs."""
    first = place / "boat-000"
    demofiles.write(first, NOW)
    head, *jobs = (first / "work.toml").read_text(encoding="utf-8").split("[[job]]")
    linked = [job for job in jobs if "after" in job]
    rng = random.Random(SEED)
    found = []
    for number in range(count):
        folder = place / f"boat-{number:03d}"
        if number:
            shutil.copytree(first, folder)
            free = [job for job in jobs if job not in linked]
            gone = rng.sample(free, rng.randrange(max(len(free) - 1, 1)))
            named = [job.split('"')[1] for job in gone]
            kept = [
                job
                for job in jobs
                if job not in gone and not any(f'"{name}"' in job for name in named)
            ]
            (folder / "work.toml").write_text("[[job]]".join([head, *kept]), encoding="utf-8")
        found.append(folder)
    return found


def obeyed(folder: Path, since: datetime, until: datetime) -> int:
    """Log what the kept plan had for a day as it was planned; how many steps."""
    plan = load(folder).plan
    steps = [] if plan is None else [s for s in plan.steps if since <= s.start and s.end <= until]
    with Record(folder / "record.db", now=lambda: until) as record:
        for step in sorted(steps, key=lambda each: each.start):
            _log(record, folder, step)
    return len(steps)


def _log(record: Record, folder: Path, step: PlannedStep) -> None:
    if step.sanding_for_missed:
        return
    if step.coat is None:
        record.add_done(Done(step.job, step.step, step.end))
        return
    from curewindow.boat.folder import load_boat, load_work

    job = next(j for j in load_work(folder, load_boat(folder)).job if j.name == step.job)
    sheet = job.step[step.step - 1].sheet or ""
    record.add_coat(Coat(step.job, step.step, step.coat, step.start, step.end, sheet))


def by_dask(folders: list[Path], asked: Asked, *, as_it_comes: bool) -> Iterator[FleetBoat]:
    """The same by Dask: a task a boat, one at a time in each worker."""
    import dask
    from dask.distributed import Client, LocalCluster, as_completed

    from curewindow.fleet.one import planned

    if not as_it_comes:
        # Its workers give every freed array back to the system at once and fault it in anew
        # (MALLOC_TRIM_THRESHOLD_), and sample every stack a hundred times a second: for many
        # short arrays that is half of all the work.
        threads = {"OMP_NUM_THREADS": 1, "OPENBLAS_NUM_THREADS": 1}
        dask.config.set({"distributed.nanny.pre-spawn-environ": threads})
        dask.config.set({"distributed.worker.profile.enabled": False})
    with (
        LocalCluster(threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        tasks = client.map(
            planned,
            folders,
            at=asked.at,
            seconds=asked.seconds,
            days=asked.days,
            in_time=asked.in_time,
            kept=asked.kept,
            pure=False,  # it writes the plan into its folder
        )
        for task in as_completed(tasks):
            yield task.result()


def season(folders: list[Path], mornings: int, seconds: float, spread: Spread) -> None:
    """Plan all boats on each morning, and print what that took."""
    print(" morning  boats   left  cpu s a boat   most  clock s", flush=True)
    first, later = [], []
    for morning in range(mornings):
        now = NOW + morning * DAY
        if morning:
            for folder in folders:
                obeyed(folder, now - DAY, now)
        begun = time.monotonic()
        at = now.isoformat(timespec="minutes")
        answers = list(spread(folders, Asked(at, seconds)))
        clock = time.monotonic() - begun
        wrong = [each.problem for each in answers if each.problem]
        took = [each.seconds for each in answers]
        (later if morning else first).extend(took)
        left = sum(len(load(f).plan.steps) for f in folders if load(f).plan) / len(folders)
        mean, most = sum(took) / len(took), max(took)
        row = f"{morning:>8} {len(took):>6} {left:>6.0f} {mean:>13.1f} {most:>6.1f} {clock:>8.1f}"
        print(row, flush=True)
        for problem in wrong:
            print(f"         {problem}")
    daily = sum(later or first) / len(later or first)
    once = sum(first) / len(first)
    whole_h = SEASON_BOATS * (once + (SEASON_DAYS - 1) * daily) / 3600.0
    print(f"first plan {once:.1f} s, every later morning {daily:.1f} s of processor a boat")
    print(
        f"{SEASON_BOATS} boats: {SEASON_BOATS * daily / 3600.0:.1f} core hours a morning, "
        f"{whole_h:.0f} in a season of {SEASON_DAYS}"
    )


def _peak_mb(folder: Path, at: str, seconds: float, answer_to: Connection) -> None:
    """In a process of its own: what planning one boat takes of memory."""
    from curewindow.fleet.one import planned

    planned(folder, at, seconds=seconds, days=None, in_time=False, kept=False)
    answer_to.send(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0)


def memory_of(folder: Path, seconds: float) -> float:
    """Peak memory of a process that plans a boat [MB], all it imports counted."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    at = NOW.isoformat(timespec="minutes")
    process = context.Process(target=_peak_mb, args=(folder, at, seconds, there))
    process.start()
    found: float = here.recv()
    process.join()
    return found


def main() -> None:
    """As the module says."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--boats", type=int, default=3)
    parser.add_argument("--mornings", type=int, default=4)
    parser.add_argument("--seconds", type=float, default=10.0, help="to search, at the most")
    parser.add_argument("--memory", action="store_true", help="that of one process alone")
    parser.add_argument("--dask", action="store_true", help="by Dask's local cluster")
    parser.add_argument("--as-it-comes", action="store_true", help="Dask with its own settings")
    asked = parser.parse_args()
    spread: Spread = plan_all
    if asked.dask:
        try:
            import dask.distributed  # noqa: F401
        except ImportError:
            print("dask.distributed is not installed: left out (pip install 'dask[distributed]')")
            return
        spread = partial(by_dask, as_it_comes=asked.as_it_comes)
    with tempfile.TemporaryDirectory() as place:
        folders = made_up(Path(place), asked.boats)
        if asked.memory:
            print(f"at most {memory_of(folders[0], asked.seconds):.0f} MB")
            return
        print(f"{len(folders)} boats on {os.cpu_count()} cores, {'Dask' if asked.dask else 'own'}")
        season(folders, asked.mornings, asked.seconds, spread)


if __name__ == "__main__":
    main()
