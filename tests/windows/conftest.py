"""A plain sheet and a plain cabin that each test changes in one place."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from curewindow.series import SurfaceSeries
from curewindow.sheets.schema import Sheet

STEP_MIN = 10


@pytest.fixture
def start() -> datetime:
    """Monday, midnight UTC: first point of every grid."""
    return datetime(2026, 1, 12, tzinfo=UTC)


@pytest.fixture
def sheet() -> Callable[..., Sheet]:
    """A varnish: 6 h to touch dry, recoat 12 h to 48 h, all at 10 °C; keywords replace tables."""

    def made(**tables: Any) -> Sheet:
        data: dict[str, Any] = {
            "name": "test varnish",
            "kind": "varnish",
            "chemistry": "oxidation",
            "basis": "data sheet of January 2026",
            "applying": {"surface": {"min": "8 °C"}, "above_dew_point": "3 K"},
            "setting": {"surface": {"min": "5 °C"}, "until": "touch dry"},
            "cure": {
                "temps": ["10 °C"],
                "touch_dry": ["6 h"],
                "closed_up": ["60 h"],
                "full_cure": ["90 h"],
            },
            "recoat": [{"from": ["12 h"], "until": ["48 h"], "after": "sand"}],
        }
        return Sheet.model_validate(data | tables)

    return made


@pytest.fixture
def cabin(start: datetime) -> Callable[..., SurfaceSeries]:
    """Still air at 10 °C, dew point 2 °C; keywords replace fields, (T,) or (M, T)."""

    def made(hours: float = 96.0, members: int = 1, **fields: Any) -> SurfaceSeries:
        points = round(hours * 60 / STEP_MIN) + 1
        shape = (members, points)

        def rows(name: str, default: float | None) -> Any:
            given = fields.pop(name, default)
            return None if given is None else np.broadcast_to(given, shape).astype(np.float64)

        values = {
            "air_c": rows("air_c", 10.0),
            "rh_pct": rows("rh_pct", 57.5),
            "dew_point_c": rows("dew_point_c", 2.0),
            "surface_c": rows("surface_c", 10.0),
            **{name: rows(name, None) for name in ("wood_moisture_pct", "wind_ms", "rain_mm_h")},
            "sun_w_m2": rows("sun_w_m2", None),
            "measured": np.broadcast_to(fields.pop("measured", False), points),
            "lead_h": np.broadcast_to(fields.pop("lead_h", 0.0), points).astype(np.float64),
        }
        # Unless told otherwise the tin has stood there for long.
        fields.setdefault("tin_c", values["air_c"])
        first = np.datetime64(start.replace(tzinfo=None), "s")
        return SurfaceSeries(
            space=fields.pop("space", "saloon"),
            surface=fields.pop("surface", "hull side"),
            times=first + np.arange(points) * np.timedelta64(STEP_MIN, "m"),
            **values,
            **fields,
        )

    return made
