"""Winters of real weather gone through: by the advice, and by simpler owners.

    python tests/benchmarks/bench_winter.py        two winters, one boat, all owners (long)
    python tests/benchmarks/bench_winter.py --winters 6 --boats 3 --jobs 2
    python tests/benchmarks/bench_winter.py --invented --winters 1 --only foresight,thermometer
    python tests/benchmarks/bench_winter.py --weather DIR --owner weekend

The true weather is that of ``data/`` (see its README), of the .csv and .epw files of DIR, or
invented. An owner sees each morning the truth with errors that grow with lead time. The cabin is
a model of its own (``winter/cabin.py``), drawn around what the boat's description says, and a
tin hardens in 0.8 to 1.25 times the printed hours. A coat is spoilt when a limit of its sheet is
broken by more than 1 K or 5 % of humidity from the first stroke until it has set; wood moisture
and the tin's own temperature are not looked at. Who is led, and who has foresight, airs a coat
until it is touch dry by as much as its vapour asks for; the others have their hatches ajar (4
air changes an hour while it goes on, then 1). 'foresight' knows all that comes but lays the work
greedily, one coat ahead: it is a mark to go by, not the best there is. Lines come as the
runs end, so that a long call may be cut.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.winter.run import OWNERS, Asked, Ran, run
from tests.benchmarks.winter.weather import invented, stored, winters


def asked_for(options: argparse.Namespace) -> list[Asked]:
    """Every run that the options ask for, a winter after the other."""
    if options.invented:
        chosen = [invented(number, options.seed) for number in range(options.winters)]
    else:
        files = stored()
        if options.weather is not None:
            files = sorted(p for p in options.weather.iterdir() if p.suffix in (".csv", ".epw"))
        chosen = winters(files, options.winters)
    if not chosen:
        raise SystemExit("no weather: name a folder of .csv or .epw files, or say --invented")
    if options.winter is not None:
        chosen = [winter for winter in chosen if options.winter in winter.name]
    weekend = options.owner == "weekend"
    cap = options.cap or (120 if weekend else 80)
    boats = [options.boat] if options.boat is not None else list(range(options.boats))
    return [
        Asked(
            winter,
            boat,
            owner,
            weekend,
            options.seed,
            cap,
            options.seconds,
            options.replan_days,
            options.keep,
            options.live,
            options.airing,
        )
        for winter in chosen
        for boat in boats
        for owner in options.only.split(",")
    ]


def ran(asked: list[Asked], jobs: int) -> Iterator[Ran]:
    """The runs as they end."""
    if jobs < 2:
        yield from map(run, asked)
        return
    with ProcessPoolExecutor(jobs) as pool:
        for done in as_completed([pool.submit(run, each) for each in asked]):
            yield done.result()


def line(one: Ran) -> str:
    done = "not done" if one.days is None else f"{one.days:5.1f} d"
    return (
        f"{one.winter:28} {one.boat:18} {one.owner:21} {done:>8}  "
        f"{one.coats}/{one.coats_of} coats, {len(one.spoilt)} spoilt, {one.missed} missed, "
        f"{one.kwh:.0f} kWh, {one.days_aboard} days aboard, {one.cpu_s:.0f} s"
    )


def table(all_: list[Ran]) -> str:
    """An owner a line."""
    head = (
        f"{'owner':21} {'runs':>4} {'done':>5} {'median':>7} {'worst':>6} {'coats':>6} "
        f"{'spoilt':>6} {'missed':>6} {'soon':>5} {'kWh':>5} {'aboard':>6} {'moved/wk':>8}"
    )
    lines = [head]
    for owner in OWNERS.values():
        own = [one for one in all_ if one.owner == owner]
        if not own:
            continue
        days = sorted(1e9 if one.days is None else one.days for one in own)
        done = [one for one in own if one.days is not None]

        def shown(value: float) -> str:
            return "never" if value > 1e8 else f"{value:.1f}"

        weeks = sum(one.days_looked for one in own) / 7.0
        moved = sum(one.figures.get("steps_moved", 0.0) for one in own)
        led = any(one.figures for one in own)
        lines.append(
            f"{owner:21} {len(own):4} {len(done):5} {shown(median(days)):>7} "
            f"{shown(days[-1]):>6} {sum(one.coats for one in own):6} "
            f"{sum(len(one.spoilt) for one in own):6} {sum(one.missed for one in own):6} "
            f"{sum(one.too_soon for one in own):5} {median(one.kwh for one in own):5.0f} "
            f"{median(one.days_aboard for one in own):6.0f} "
            + (f"{moved / weeks:8.1f}" if led else f"{'-':>8}")
        )
    told = [each for one in all_ for each in one.told]
    if told:
        lines.append("\nchance stated for a coat that was put on, and the share that held:")
        for low, high in ((0.0, 0.7), (0.7, 0.85), (0.85, 0.95), (0.95, 1.01)):
            those = [each for each in told if low <= each[0] < high]
            if those:
                stated = sum(chance for chance, _ in those) / len(those)
                held = sum(kept for _, kept in those) / len(those)
                lines.append(f"  {len(those):4} coats: stated {stated:.2f}, held {held:.2f}")
    reasons: Counter[str] = Counter()
    for one in all_:
        reasons.update(one.reasons)
    if reasons:
        lines.append(
            "\nmornings of a job not done, by what day sheet and plan said of its next step:"
        )
        lines += [f"  {count:4} {what}" for what, count in reasons.most_common(20)]
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--weather", type=Path, help="folder of .csv or .epw files")
    parser.add_argument("--invented", action="store_true", help="weather made up, no file")
    parser.add_argument("--winters", type=int, default=2)
    parser.add_argument("--winter", help="only those whose name holds this")
    parser.add_argument("--boats", type=int, default=1, help="1 to 3")
    parser.add_argument("--boat", type=int, help="only this one, from 0")
    parser.add_argument("--owner", choices=("daily", "weekend"), default="daily")
    parser.add_argument("--only", default=",".join(OWNERS), help="owners, by commas")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=4.0, help="search time of a plan")
    parser.add_argument("--replan-days", type=int, default=1)
    parser.add_argument(
        "--airing",
        type=float,
        default=1.0,
        help="a coat with solvent is aired so many times as much",
    )
    parser.add_argument("--cap", type=int, help="days; else 80, weekends 120")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    parser.add_argument("--keep", type=Path, help="copy each led morning's boat folder to here")
    parser.add_argument("--diary", action="store_true", help="what was done when")
    parser.add_argument("--live", action="store_true", help="the diary as it happens, on stderr")
    parser.add_argument("--json", type=Path, help="write everything here")
    options = parser.parse_args()
    for name in options.only.split(","):
        if name not in OWNERS:
            parser.error(f"no owner '{name}': there are {', '.join(OWNERS)}")
    done: list[Ran] = []
    for one in ran(asked_for(options), options.jobs):
        done.append(one)
        print(line(one), flush=True)
        for spoilt in one.spoilt:
            print(f"    spoilt: {spoilt}", flush=True)
        for error in one.errors:
            print(f"    error: {error}", flush=True)
        if options.diary:
            print("    " + "\n    ".join(one.diary), flush=True)
        if options.json is not None:
            options.json.write_text(json.dumps([asdict(each) for each in done], indent=1), "utf-8")
    print("\n" + table(done))


if __name__ == "__main__":
    main()
