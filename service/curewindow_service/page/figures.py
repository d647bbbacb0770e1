"""Figures for those who watch: requests, rounds, how old everything is, and the cabins."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from curewindow_service.page.current import Current

_KIND = "text/plain; version=0.0.4; charset=utf-8"
_BUCKETS = (0.002, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 5.0)


class Figures:
    """Counts of one application, in a registry of its own.

    Parameters
    ----------
    current : Current
        Whose state is told.
    """

    def __init__(self, current: Current) -> None:
        self.registry = CollectorRegistry()
        self.requests = Counter(
            "curewindow_requests_total",
            "Requests answered.",
            ("route", "status"),
            registry=self.registry,
        )
        self.seconds = Histogram(
            "curewindow_request_seconds",
            "Time until an answer began.",
            registry=self.registry,
            buckets=_BUCKETS,
        )
        self.wrong_logins = Counter(
            "curewindow_wrong_logins_total", "Wrong tokens entered.", registry=self.registry
        )
        self.registry.register(_CurrentFigures(current))

    def written(self) -> tuple[bytes, str]:
        """All of it as text, and its media type."""
        return generate_latest(self.registry), _KIND

    def middleware(self, app: ASGIApp) -> ASGIApp:
        """ASGI middleware that counts."""

        async def counted(scope: Scope, receive: Receive, send: Send) -> None:
            if scope["type"] != "http":
                await app(scope, receive, send)
                return
            began = time.perf_counter()

            async def sending(message: Message) -> None:
                if message["type"] == "http.response.start":
                    # the route's own form: what visitors make up is not kept
                    route = getattr(scope.get("route"), "path", "none")
                    self.requests.labels(route, str(message["status"])).inc()
                    self.seconds.observe(time.perf_counter() - began)
                await send(message)

            await app(scope, receive, sending)

        return counted


class _CurrentFigures:
    """What stands at the moment it is asked for."""

    def __init__(self, current: Current) -> None:
        self._current = current

    def collect(self) -> Iterator[GaugeMetricFamily]:
        now = self._current
        yield _one("rounds", "Rounds of working everything out.", now.rounds)
        yield _one("rounds_failed", "Rounds that could not be ended.", now.failures)
        yield _one("looking", "Pages open that wait for news.", now.looking)
        worked = now.worked
        if worked is None:
            return
        sheet = worked.sheet
        basis = sheet.provenance
        age_s = (now.clock() - sheet.as_of).total_seconds()
        yield _one("round_seconds", "How long the last round took.", worked.took_s)
        yield _one("sheet_age_seconds", "Age of the day sheet.", age_s)
        yield _one("weather_age_seconds", "Age of the forecast.", basis.weather_age_h * 3600.0)
        if basis.last_reading is not None:
            age_s = (now.clock() - basis.last_reading).total_seconds()
            yield _one("reading_age_seconds", "Age of the last reading.", age_s)
        jobs = GaugeMetricFamily("curewindow_jobs", "Jobs by how they stand.", labels=["status"])
        for status in ("go", "wait", "blocked", "refused", "done"):
            jobs.add_metric([status], sum(day.status == status for day in sheet.jobs))
        yield jobs
        yield from _spaces(sheet.spaces)


def _spaces(spaces: list[Any]) -> Iterator[GaugeMetricFamily]:
    for name, help_text, key in (
        ("air_celsius", "Air of a space.", "air_c"),
        ("humidity_percent", "Relative humidity of a space.", "rh_pct"),
        ("above_dew_kelvin", "Coldest surface above the dew point.", "coldest_above_dew_k"),
    ):
        family = GaugeMetricFamily(f"curewindow_space_{name}", help_text, labels=["space"])
        for space in spaces:
            value = getattr(space, key)
            if value is not None:
                family.add_metric([space.where], value)
        yield family


def _one(name: str, help_text: str, value: float) -> GaugeMetricFamily:
    family = GaugeMetricFamily(f"curewindow_{name}", help_text)
    family.add_metric([], value)
    return family
