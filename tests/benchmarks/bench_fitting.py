"""How well fitted cabins are predicted, over 50 made-up ones whose true values are known.

Run apart from the tests: ``python tests/benchmarks/bench_fitting.py [CABINS]``. A week of
six readings a day is fitted; the next three days are predicted from the last reading as
the tool does it, with the weather as it came: the forecast's own error is not in these
figures. Beside them stands the same prediction from the description alone. 'Plain'
cabins are ones the model could describe, 'rough' ones are not (see tests/fitting/trial.py).
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import click
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "fitting"))

from trial import errors_ahead, make

from curewindow.conditions import space_conditions
from curewindow.fitting import learn

AIR_K, ABOVE_DEW_K, BETTER = 1.0, 1.0, 2.0
TOLD = 0.2
NOMINAL = {1.0: 68.3, 2.0: 95.4}
WITHIN_POINTS = 5.0


def run(cabins: int, *, rough: bool) -> bool:
    """Measure, print, and tell whether the targets are met."""
    rows, off, took = [], [], []
    for seed in range(cabins):
        trial = make(seed, rough=rough)
        begun = time.perf_counter()
        lesson = learn(trial.boat, trial.space, trial.forecast, trial.readings, trial.now)
        took.append(time.perf_counter() - begun)
        asked = (trial.boat, trial.space, trial.forecast, trial.readings, trial.now)
        before = errors_ahead(trial, space_conditions(*asked))
        kept = {trial.space.name: lesson.learned}
        after = errors_ahead(trial, space_conditions(*asked, learned=kept))
        rows.append((before.air_k, after.air_k, before.above_dew_k, after.above_dew_k))
        for found in lesson.found:
            away = np.log(trial.true_values[found.key] / found.value) / np.log(found.factor)
            off.append((found.key, found.told, float(away)))
    table = np.array(rows)
    click.echo(f"\n{cabins} {'rough' if rough else 'plain'} cabins, the three days ahead, RMS")
    held = True
    for name, column, bound in (("air", 0, AIR_K), ("above dew point", 2, ABOVE_DEW_K)):
        unfitted, fitted = table[:, column], table[:, column + 1]
        pooled = [float(np.sqrt(np.mean(values**2))) for values in (unfitted, fitted)]
        within = int(np.sum(fitted <= bound))
        twice = int(np.sum(fitted * BETTER <= unfitted))
        ratio = pooled[0] / pooled[1]
        held &= pooled[1] <= bound and ratio >= BETTER
        click.echo(
            f"  {name:<16} all: as described {pooled[0]:.2f} K, fitted {pooled[1]:.2f} K "
            f"({ratio:.1f} times better); worst fitted {fitted.max():.2f} K; "
            f"{within} of {cabins} within {bound:.1f} K; {twice} at least twice as good; "
            f"{int(np.sum(fitted > unfitted))} worse"
        )
    held &= _coverage(off)
    click.echo(f"  a fit takes {np.median(took):.1f} s (median), {max(took):.1f} s at most")
    return held


def _coverage(off: list[tuple[str, float, float]]) -> bool:
    """Do as many true values lie within what is stated as a normal law says?

    The covariance is made of guesses and readings together, so it has to hold for all
    values, told by the readings or not; those that are told are printed beside.
    """
    right = True
    away = np.abs([away for _, _, away in off])
    told = np.array([share >= TOLD for _, share, _ in off])
    for bound, nominal in NOMINAL.items():
        share, among = (100.0 * float(np.mean(some <= bound)) for some in (away, away[told]))
        right &= abs(share - nominal) <= WITHIN_POINTS
        click.echo(
            f"  true values within {bound:.0f} stated spread{'s' if bound > 1 else ''}: "
            f"{share:.0f} % of {away.size}, {among:.0f} % of the {int(told.sum())} told "
            f"(a normal law: {nominal:.0f} %)"
        )
    return right


def main() -> int:
    """Both kinds of cabin; the exit code tells of the plain ones."""
    cabins = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    held = run(cabins, rough=False)
    run(cabins, rough=True)
    click.echo(f"\ntargets (plain): {'held' if held else 'MISSED'}")
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
