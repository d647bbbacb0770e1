"""The limits of several jobs in one picture: each level once, with the jobs that ask for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from curewindow.charts.limits import limits_text, strictest
from curewindow.charts.scene import Scene
from curewindow.rules.asked import Bound
from curewindow.rules.limits import DEW
from curewindow.wording import Wording


@dataclass(frozen=True, slots=True)
class Level:
    """A temperature that jobs ask for, at least or at most."""

    bound: Bound
    value_c: float
    jobs: tuple[str, ...]

    def short(self, words: Wording) -> str:
        """'≥ 10 °C'."""
        sign = "≥" if self.bound == "min" else "≤"
        return f"{sign} {words.temp(self.value_c)}"


def levels_of(jobs: Sequence[Scene]) -> list[Level]:
    """The strictest limits of temperature of each job, equal ones together."""
    found: dict[tuple[Bound, float], list[str]] = {}
    bounds: tuple[Bound, ...] = ("min", "max")
    for scene in jobs:
        for bound in bounds:
            limit = strictest(scene.limits, bound)
            if limit is not None:
                found.setdefault((bound, limit.value), []).append(scene.job)
    return [Level(bound, value, tuple(names)) for (bound, value), names in sorted(found.items())]


def strictest_above_dew(jobs: Sequence[Scene]) -> float | None:
    """So far above the dew point the surface has to be, by the strictest of the jobs [K]."""
    asked = [limit.value for scene in jobs for limit in scene.limits if limit.kind is DEW]
    return max(asked, default=0.0) or None


def levels_text(scene: Scene, levels: Sequence[Level], jobs: Sequence[Scene]) -> str:
    """The limits in words: of one job all of them, of several the temperatures drawn."""
    if scene.job:
        return limits_text(scene.limits, scene.words)
    parts = [f"{level.short(scene.words)} {', '.join(level.jobs)}" for level in levels]
    above = strictest_above_dew(jobs)
    if above is not None:
        parts.append(f"shaded above the dew point: {scene.words.difference(above)}, the most asked")
    return f"limits: {'; '.join(parts)}" if parts else ""
