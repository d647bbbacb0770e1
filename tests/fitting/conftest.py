"""Makes the made-up cabins importable from the tests beside them, and fits each once."""

import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from trial import Trial, make

from curewindow.fitting import Lesson, learn


@pytest.fixture(scope="session")
def fitted() -> Callable[[int], tuple[Trial, Lesson]]:
    """A made-up cabin by its number, and what was learned of it."""

    @cache
    def found(seed: int) -> tuple[Trial, Lesson]:
        trial = make(seed)
        lesson = learn(trial.boat, trial.space, trial.forecast, trial.readings, trial.now)
        return trial, lesson

    return found
