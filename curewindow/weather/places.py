"""How a place is named to a service and in the cache."""

from __future__ import annotations

import hashlib
import math
from pathlib import Path

from curewindow.boat.schema import Place, WeatherChoice
from curewindow.weather.cache import Cache


def coordinate(degrees: float) -> str:
    """Degrees cut (not rounded) to four decimals, some 10 m.

    MET Norway's terms ask for no more, so that neighbours share an answer, and
    refuse five decimals.
    """
    # A little room first: 52.3702 is 52.37019999… in binary and stays 52.3702.
    cut = math.trunc(degrees * 1e4 + math.copysign(1e-6, degrees)) / 1e4
    return f"{cut:.4f}"


def past_path(cache: Cache, place: Place, choice: WeatherChoice) -> Path:
    """The file of past hours of a place, whichever feed they came from."""
    key = f"{coordinate(place.latitude)},{coordinate(place.longitude)},{choice.base_address or ''}"
    return cache.folder / f"past-{hashlib.sha256(key.encode()).hexdigest()[:16]}.json"
