"""The demo boat's page, to be called."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from curewindow.demo import files as demofiles
from tests.fewer_jobs import only_jobs, weather_until
from tests.page.hands import MORNING, Caller, client_of

# Enough of the demo boat to show every state of a job, quickly worked out.
JOBS = (
    "saloon doors",
    "chart table",
    "forepeak frames",
    "wet locker primer",
    "wet locker slats",
)
WEATHER_BEFORE = "2026-11-28"


@pytest.fixture(scope="session")
def packaged(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Part of the demo boat on its own day, to be copied."""
    folder = tmp_path_factory.mktemp("packaged") / "demo-boat"
    demofiles.write(folder, MORNING)
    weather_until(folder, WEATHER_BEFORE)
    only_jobs(folder, *JOBS)
    return folder


@pytest.fixture(scope="session")
def reader(packaged: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Caller]:
    """A page that is only read."""
    folder = tmp_path_factory.mktemp("read") / "boat"
    shutil.copytree(packaged, folder)
    with client_of(folder) as client:
        yield client


@pytest.fixture(scope="session")
def own_place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where each test's own boat lies in its turn: kept plans know a boat by its place."""
    return tmp_path_factory.mktemp("own") / "boat"


@pytest.fixture
def boat(packaged: Path, own_place: Path) -> Path:
    """A boat of one's own."""
    shutil.rmtree(own_place, ignore_errors=True)
    shutil.copytree(packaged, own_place)
    return own_place


@pytest.fixture
def writer(boat: Path, reader: Caller) -> Iterator[Caller]:
    """A page that may be written to; what it shows of the day is the reader's."""
    worked = reader.app.state.site.current.worked
    with client_of(boat, work=lambda *_: worked) as client:
        yield client
