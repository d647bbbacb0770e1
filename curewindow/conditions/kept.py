"""Runs of the balance kept on disk: the same space in the same weather is worked out once.

What a run gives follows from its arguments alone, so a kept one is found by them, to the
last bit, and by the state of the program; it is never a guess. A file that cannot be
read or written is a line in the log and the run is made.
"""

from __future__ import annotations

import hashlib
import io
import logging
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from pathlib import Path

import numpy as np

import curewindow
from curewindow.conditions.model import Described
from curewindow.files import write_whole
from curewindow.physics.balance import Outside, SpaceResult
from curewindow.series import FloatArray
from curewindow.weather.cache import cache_folder

log = logging.getLogger(__name__)

KEPT = 24
"""Runs kept; the oldest go first."""
LARGEST_BYTES = 32_000_000
_FIXED = 4  # rows of the kept array before the panels'; then three of each panel


@dataclass(frozen=True, slots=True, eq=False)
class BalanceRun:
    """What is needed of a run.

    Attributes
    ----------
    air_c, dew_point_c, mass_c, heat_w : ndarray, shape (M, T)
    surface_c, lying_kg_m2, frost_kg_m2 : ndarray, shape (P, M, T)
        Water lying on a panel, frost included, and how much of it is frost.
    """

    air_c: FloatArray
    dew_point_c: FloatArray
    mass_c: FloatArray
    heat_w: FloatArray
    surface_c: FloatArray
    lying_kg_m2: FloatArray
    frost_kg_m2: FloatArray

    @staticmethod
    def of(made: SpaceResult, *, frost_told: bool) -> BalanceRun:
        """What is needed of a result; frost that it does not tell is what lies below 0 °C."""
        lying = made.condensate_kg_m2
        frost = made.frost_kg_m2 if frost_told else np.where(made.surface_c < 0.0, lying, 0.0)
        return BalanceRun(
            made.air_c, made.dew_point_c, made.mass_c, made.heat_w, made.surface_c, lying, frost
        )


def kept_or_run(
    described: Described,
    outside: Outside,
    step_h: float,
    given: tuple[FloatArray | float | None, ...],
    make: Callable[[], BalanceRun],
) -> BalanceRun:
    """The kept run with these arguments, or a new one that is then kept.

    Parameters
    ----------
    described : Described
    outside : Outside
    step_h : float
    given : tuple of array_like
        Everything else the run depends on.
    make : callable
        Makes the run.
    """

    made: BalanceRun | None = None

    def stacked() -> FloatArray:
        nonlocal made
        made = make()
        if (_FIXED + 3 * len(made.surface_c)) * made.air_c.nbytes > LARGEST_BYTES:
            return np.zeros((0, 0, 0))  # too much to keep
        rows = (made.air_c, made.dew_point_c, made.mass_c, made.heat_w)
        return np.stack([*rows, *made.surface_c, *made.lying_kg_m2, *made.frost_kg_m2])

    kept = kept_or_made(mark_of(described, outside, step_h, given), stacked)
    if made is not None:
        return made
    surface, lying, frost = np.split(kept[_FIXED:], 3)
    return BalanceRun(kept[0], kept[1], kept[2], kept[3], surface, lying, frost)


def kept_or_made(name: str, make: Callable[[], FloatArray]) -> FloatArray:
    """The array kept under a name, or a new one that is then kept, shape (R, M, T)."""
    path = cache_folder() / "runs" / f"{name}.npy"
    kept = _load(path)
    if kept is None:
        kept = make()
        if 0 < kept.nbytes <= LARGEST_BYTES:
            _store(path, kept)
    return kept


def mark_of(
    described: Described,
    outside: Outside,
    step_h: float,
    given: tuple[FloatArray | float | None, ...],
) -> str:
    """A name that is another one as soon as anything the run depends on is."""
    told = hashlib.sha256(repr((_program(), described, step_h)).encode())
    for each in fields(outside):
        value = getattr(outside, each.name)
        parts = sorted(value.items()) if each.name == "neighbour_c" else [(each.name, value)]
        for name, array in parts:
            told.update(b"".join(_bytes(name, array)))
    for number, array in enumerate(given):
        told.update(b"".join(_bytes(str(number), array)))
    return told.hexdigest()[:32]


def _bytes(name: str, value: FloatArray | float | None) -> Iterator[bytes]:
    yield name.encode()
    if value is not None:
        array = np.asarray(value, dtype=np.float64)
        yield repr(array.shape).encode()
        yield array.tobytes()


def _program() -> tuple[str, int]:
    """Version and, for who changes the program, when its formulas were last written."""
    package = Path(curewindow.__file__).parent
    files = [*package.glob("physics/**/*.py"), *package.glob("conditions/*.py")]
    return curewindow.__version__, max(file.stat().st_mtime_ns for file in files)


def _load(path: Path) -> FloatArray | None:
    try:
        kept = np.load(io.BytesIO(path.read_bytes()), allow_pickle=False)
    except FileNotFoundError:
        return None
    except (OSError, ValueError, EOFError) as bad:
        log.warning("the kept run %s cannot be read (%s); working it out anew", path, bad)
        return None
    if not isinstance(kept, np.ndarray) or kept.ndim != 3 or kept.dtype != np.float64:
        log.warning("the kept run %s is of another form; working it out anew", path)
        return None
    return kept


def _store(path: Path, run: FloatArray) -> None:
    """Write whole or not at all."""
    written = io.BytesIO()
    np.save(written, run, allow_pickle=False)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, written.getvalue(), lasting=False)
        old = sorted(path.parent.glob("*.npy"), key=lambda file: file.stat().st_mtime)
        for file_gone in old[:-KEPT]:
            file_gone.unlink(missing_ok=True)
    except OSError as bad:
        log.warning("the run cannot be kept in %s: %s", path.parent, bad.strerror)
