"""Made-up work lists on the demo boat, none of it begun: twelve jobs, or any number."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)

# name, where, area, steps (do, sheet, coats, hands-on, between), more lines
JOBS: list[tuple[str, str, str, list[tuple[str, str, int, str, str]], str]] = [
    (
        "doors",
        'space = "saloon"',
        "5 m²",
        [
            ("sand", "", 1, "3 h", ""),
            ("coat", "one-part-urethane-varnish", 5, "75 min", "as is"),
        ],
        "",
    ),
    (
        "table",
        'space = "saloon"',
        "1.4 m²",
        [
            ("sand", "", 1, "1 h", ""),
            ("coat", "waterborne-acrylic-varnish", 4, "30 min", "sand"),
        ],
        "",
    ),
    (
        "forepeak frames",
        'space = "forepeak"\npanel = "hull sides"',
        "9 m²",
        [
            ("prepare", "", 1, "6 h", ""),
            ("coat", "two-part-epoxy-primer-winter", 2, "100 min", "as is"),
            ("coat", "bilge-and-locker-paint", 1, "90 min", "as is"),
        ],
        "",
    ),
    (
        "locker primer",
        'space = "saloon"\npanel = "locker side"',
        "4 m²",
        [
            ("prepare", "", 1, "2 h", ""),
            ("coat", "two-part-epoxy-primer-winter", 2, "45 min", "as is"),
        ],
        "",
    ),
    (
        "cork",
        'space = "saloon"\npanel = "locker side"',
        "4 m²",
        [("bond", "low-temperature-panel-adhesive", 1, "2 h", "")],
        'after_cured = ["locker primer"]',
    ),
    (
        "slats",
        'space = "saloon"\npanel = "locker side"',
        "4 m²",
        [("fit", "", 1, "5 h", "")],
        'after_cured = ["cork"]\n\n[[job.delivery]]\nwhat = "larch"\n'
        "earliest = 2026-11-27\nlatest = 2026-12-01",
    ),
    (
        "trim",
        'space = "wheelhouse"',
        "1 m²",
        [
            ("sand", "", 1, "90 min", ""),
            ("coat", "one-part-urethane-varnish", 3, "45 min", "sand"),
        ],
        "",
    ),
    (
        "shelf",
        'space = "forepeak"',
        "1 m²",
        [
            ("sand", "", 1, "1 h", ""),
            ("coat", "waterborne-acrylic-varnish", 2, "30 min", "as is"),
        ],
        "",
    ),
    (
        "fittings",
        "outdoors = true",
        "1 m²",
        [("seal", "hybrid-sealant", 1, "45 min", "")],
        "",
    ),
    (
        "locker lids",
        'space = "saloon"',
        "2 m²",
        [("sand", "", 1, "1 h", ""), ("coat", "alkyd-enamel", 3, "40 min", "sand")],
        "",
    ),
    (
        "benches",
        'space = "saloon"',
        "6 m²",
        [("sand", "", 1, "2 h", ""), ("coat", "wood-oil", 3, "60 min", "as is")],
        'after = ["doors"]',
    ),
    (
        "steps",
        'space = "saloon"',
        "1 m²",
        [
            ("sand", "", 1, "1 h", ""),
            ("coat", "waterborne-acrylic-varnish", 3, "30 min", "as is"),
        ],
        'after_touch_dry = ["benches"]',
    ),
]


# Done again under other names in a longer list: a boat has more lids than forepeaks.
SMALL = ("doors", "table", "locker lids", "benches", "steps", "fittings")


def work_text(count: int = len(JOBS), done_by: str = "2027-03-20") -> str:
    """A work list of so many jobs: the twelve, then the small ones again under other names."""
    lines = ["format = 1", f"done_by = {done_by}", ""]
    for number in range(count):
        small = [job for job in JOBS if job[0] in SMALL]
        turn = 0 if number < len(JOBS) else 1 + (number - len(JOBS)) // len(small)
        again = small[(number - len(JOBS)) % len(small)]
        name, where, area, steps, more = JOBS[number] if turn == 0 else again
        mark = f" {turn + 1}" if turn else ""
        for other in [job[0] for job in JOBS]:
            more = more.replace(f'"{other}"', f'"{other}{mark}"')
        first, _, rest = more.partition("\n\n")
        lines += ["[[job]]", f'name = "{name}{mark}"', where, f'area = "{area}"', first, "", rest]
        for do, sheet, coats, hands_on, between in steps:
            lines += ["[[job.step]]", f'do = "{do}"', f'hands_on = "{hands_on}"']
            if sheet:
                lines += [f'sheet = "{sheet}"', f"coats = {coats}"]
            if between:
                lines.append(f'between = "{between}"')
            lines.append("")
    return "\n".join(lines)


def write_boat(folder: Path, count: int = len(JOBS), *, one_heater: bool = True) -> Path:
    """The demo boat with a work list of so many jobs and nothing done yet."""
    from curewindow.demo import files as demofiles

    demofiles.write(folder, NOW)
    for name in ("record.db", "record.db-wal", "record.db-shm"):
        (folder / name).unlink(missing_ok=True)
    (folder / "work.toml").write_text(work_text(count), encoding="utf-8")
    if one_heater:
        boat = (folder / "boat.toml").read_text(encoding="utf-8")
        boat = boat.replace('power = "5 kW"', 'power = "5 kW"\nat_once = 1')
        if "outlet_of" not in boat:
            boat = boat.replace('power = "2 kW"', 'power = "2 kW"\noutlet_of = "saloon"')
        (folder / "boat.toml").write_text(boat, encoding="utf-8")
    return folder


def workshop(tasks: int):
    """Tasks without weather on hours from eight to six: every third waits for the one before."""
    from datetime import timedelta

    import numpy as np

    from curewindow.order.problem import Precedence, Problem, Task
    from curewindow.order.slots import lay_slots
    from curewindow.order.tables import hands_mode

    times = np.datetime64("2026-11-25T00:00:00") + np.arange(10 * 144 + 1) * np.timedelta64(
        600, "s"
    )
    hour = (np.arange(times.size) / 6.0) % 24.0
    aboard = (hour >= 8.0) & (hour <= 18.0)
    slots = lay_slots(NOW, NOW + timedelta(days=9), times, aboard, "UTC")
    free = np.ones(slots.count, np.bool_)
    made = []
    for number in range(tasks):
        hands = 2 + number * 5 % 7
        made.append(
            Task(
                number=number,
                job=f"job {number}",
                step=1,
                coat=None,
                sitting=1,
                of_sittings=1,
                do="fit",
                sheet=None,
                space=None,
                hands=hands,
                hands_h=hands / 2.0,
                modes=(hands_mode(slots, hands, free),),
            )
        )
    links = tuple(
        Precedence(n - 1, n, "job", (made[n - 1].modes[0].ends,))
        for n in range(tasks)
        if n % 3 == 2
    )
    return Problem(
        slots=slots,
        tasks=tuple(made),
        links=links,
        reach={None: frozenset([None])},
        heaters=(),
        done_by=None,
        known_until=slots.count,
        left_out=(),
        notes=(),
        now=NOW,
    )
