"""Is confidence right as often as it claims? On weather whose truth is known.

What is fair: where members are drawn as the truth is drawn, the stated confidence itself
must hold, whichever hand draws them. Where members lie too close together, nothing in a
forecast shows it; there what was learned from earlier windows must make it hold. More
cases, and the figures, in ``tests/benchmarks/bench_confidence.py``.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from curewindow.trust import Trust

WITHIN = 0.05
ENOUGH = 270
"""Cases of a tenth at which 5 points are more than luck: 0.05 is 1.7 standard errors at 50 %."""


def _synthetic() -> ModuleType:
    path = Path(__file__).with_name("synthetic.py")
    spec = importlib.util.spec_from_file_location("curewindow_tests_synthetic", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    import sys

    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


made = _synthetic()


def run(draw: Callable[..., Any], seed: int, trials: int) -> list[Any]:
    rng = np.random.default_rng(seed)
    found: list[Any] = made.cases(draw(rng) for _ in range(trials))
    return found


@pytest.mark.slow
@pytest.mark.parametrize("name", ["own", "other"])
def test_stated_confidence_holds_in_every_decile_with_enough_cases(name: str) -> None:
    """Sixteen members, as a forecast of one member is given; the tool's hand and another's."""
    found = run(lambda rng: getattr(made, name)(rng, 16), 11, 330)
    off = made.off_by_decile(found, ENOUGH)
    assert len(off) >= 2
    assert all(abs(gap) <= WITHIN for _, gap in off.values()), off


@pytest.mark.slow
def test_members_too_close_together_are_found_out_and_mended() -> None:
    """Half as wide as the truth: at first off by more than 10 points, then within 5."""
    found = run(lambda rng: made.other(rng, 16, narrow=0.5), 21, 440)
    past = [case for case in found if case.day < 270]
    later = [case for case in found if case.day >= 270]
    before = made.off_by_decile(later, 80)
    assert min(gap for _, gap in before.values()) < -0.10
    trust = made.correction(past)
    assert trust is not None
    shown = [replace(c, stated=trust.corrected(c.stated, c.lead_h)) for c in later]
    after = made.off_by_decile(shown, ENOUGH)
    assert after
    assert all(abs(gap) <= WITHIN for _, gap in after.values()), after
    score = np.mean([(c.stated - c.held) ** 2 for c in later])
    assert np.mean([(c.stated - c.held) ** 2 for c in shown]) < 0.97 * score


def test_windows_show_the_corrected_confidence() -> None:
    trust = Trust(-0.5, 0.6, 1.1, -0.05, -0.9, 0.6, 1.1, 0.1, 3.0, 400, 120)
    rng = np.random.default_rng(5)
    draws = [made.other(rng, 16) for _ in range(5)]
    plain = made.cases(iter(draws))
    shown = made.cases(iter(draws), trust=trust)
    assert len(plain) == len(shown) > 10
    for before, after in zip(plain, shown, strict=True):
        wanted = trust.corrected(before.stated, before.lead_h)
        assert after.stated == pytest.approx(wanted, abs=0.002)
