"""For every test: no network beyond this machine, a cache of its own, a weather service to ask."""

from __future__ import annotations

import contextlib
import gc
import importlib.util
import inspect
import os
import socket
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from tests import cases

# The workers share the cores already: the matrix library's own threads only get in their way.
for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")

# Else every worker, and every process that a test starts, compiles all it imports anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

HERE = Path(__file__).resolve().parent
_LOOPBACK = {"localhost", "127.0.0.1", "::1", "0.0.0.0", "::", "testserver", ""}


def pytest_configure(config: pytest.Config) -> None:
    """Choose how many cases the laws are tried on, before they are read."""
    cases.choose(cases.SLOW if _slow_alone(config) else cases.QUICK)


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """One more than there are cores: some tests only wait, for a broker or a browser."""
    return (os.cpu_count() or 1) + 1


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The laws belong to the slow run too: there they are tried on more cases."""
    if _slow_alone(config):
        for item in items:
            if getattr(getattr(item, "obj", None), "is_hypothesis_test", False):
                item.add_marker("slow")


def pytest_collection_finish(session: pytest.Session) -> None:
    """What is loaded stays: to look through it for garbage takes a fifth of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 50)


def _slow_alone(config: pytest.Config) -> bool:
    return str(config.getoption("-m")) == "slow"


def _is_here(host: object) -> bool:
    if isinstance(host, bytes):
        host = host.decode()
    return host is None or str(host) in _LOOPBACK or str(host).startswith("127.")


@pytest.fixture(autouse=True)
def no_network(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A connection or look-up beyond this machine fails the test, even where it is caught."""
    tried: list[str] = []
    connect, connect_ex = socket.socket.connect, socket.socket.connect_ex
    getaddrinfo = socket.getaddrinfo

    def refuse(host: object) -> None:
        tried.append(str(host))
        pytest.fail(f"the test reaches out to {host}")

    def guarded(call: Any) -> Any:
        def inner(self: socket.socket, address: Any) -> Any:
            if self.family != getattr(socket, "AF_UNIX", None) and not _is_here(address[0]):
                refuse(address[0])
            return call(self, address)

        return inner

    def look_up(host: Any, *args: Any, **kwargs: Any) -> Any:
        if not _is_here(host):
            refuse(host)
        return getaddrinfo(host, *args, **kwargs)

    monkeypatch.setattr(socket.socket, "connect", guarded(connect))
    monkeypatch.setattr(socket.socket, "connect_ex", guarded(connect_ex))
    monkeypatch.setattr(socket, "getaddrinfo", look_up)
    yield
    if tried:
        pytest.fail(f"the test reached out to {', '.join(tried)}")


@pytest.fixture(scope="session")
def worked_out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What no test need work out twice: runs and plans, each found by all it was made from.

    Of all workers together, where there are several; of this session only.
    """
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "worked-out"
    for name in ("heat", "aired", "runs"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    return folder


@pytest.fixture(scope="session", autouse=True)
def cache_of_fixtures(tmp_path_factory: pytest.TempPathFactory, worked_out: Path) -> Iterator[None]:
    """What a fixture of a module or of the session works out goes where all find it."""
    cache = tmp_path_factory.mktemp("cache")
    share(cache, worked_out)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("CUREWINDOW_CACHE", str(cache))
        patch.delenv("CUREWINDOW_BOAT", raising=False)
        yield


def share(cache: Path, worked_out: Path) -> None:
    """A cache has in it what others have worked out."""
    for kept in worked_out.iterdir():
        (cache / kept.name).symlink_to(kept)


@pytest.fixture(autouse=True)
def own_cache(
    request: pytest.FixtureRequest,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path_factory: pytest.TempPathFactory,
    worked_out: Path,
) -> Path:
    """Kept forecasts go to the test's own folder; no contact address or boat from outside.

    What was worked out is shared with other tests, except where a test asks for this cache by
    name or is marked ``alone``: there it is empty at first.
    """
    folder = tmp_path_factory.mktemp("cache")
    monkeypatch.setenv("CUREWINDOW_CACHE", str(folder))
    monkeypatch.delenv("CUREWINDOW_CONTACT", raising=False)
    monkeypatch.delenv("CUREWINDOW_BOAT", raising=False)
    for name in ("HTTP_PROXY", "HTTPS_PROXY", "ALL_PROXY"):
        monkeypatch.delenv(name, raising=False)
        monkeypatch.delenv(name.lower(), raising=False)
    asked_for = "own_cache" in inspect.signature(getattr(request, "function", _nothing)).parameters
    if not asked_for and request.node.get_closest_marker("alone") is None:
        share(folder, worked_out)
        for module, names in _ROOM_FOR.items():
            for name in names if module in sys.modules else ():
                monkeypatch.setattr(sys.modules[module], name, 100_000)
    return folder


# Where a cache makes room for what is newer; what is shared must not go.
_ROOM_FOR = {
    "curewindow.conditions.kept": ("KEPT",),
    "curewindow.judgement.kept": ("KEPT", "KEPT_ARRAYS"),
}


def _nothing() -> None:
    """For what has no function: a doctest, say."""


@pytest.fixture(scope="session")
def demo_day(worked_out: Path) -> Path:
    """The demo boat on its own day, in one place for all: read it, copy it, do not change it.

    Its forecast is cut short, to a week: what is to be worked out takes half as long.
    """
    from tests.fewer_jobs import weather_until

    return _demo_boat(worked_out.parent / "week", lambda boat: weather_until(boat, "2026-12-04"))


@pytest.fixture(scope="session")
def whole_demo(worked_out: Path) -> Path:
    """The demo boat with all of its forecast, else the same."""
    return _demo_boat(worked_out.parent / "whole", lambda boat: None)


def _demo_boat(place: Path, change: Callable[[Path], None]) -> Path:
    from datetime import UTC, datetime

    from curewindow.demo import files

    folder = place / "demo-boat"
    if not folder.exists():
        made = Path(tempfile.mkdtemp(dir=place.parent)) / "demo-boat"
        files.write(made, datetime(2026, 11, 25, 7, 30, tzinfo=UTC))
        change(made)
        place.mkdir(exist_ok=True)
        with contextlib.suppress(OSError):  # another worker was quicker
            made.rename(folder)
    return folder


def _module(path: Path) -> ModuleType:
    """A test module by its path: the tests are no package."""
    name = f"curewindow_tests_{path.stem}"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]


@pytest.fixture(scope="session")
def replay_module() -> ModuleType:
    """tests/weather/replay.py: answers in the feeds' shape, and the server that gives them."""
    return _module(HERE / "weather" / "replay.py")


@pytest.fixture
def replay(replay_module: ModuleType) -> Iterator[Any]:
    """A running weather service; give boat.toml its ``base_address``, then ``weather(now)``."""
    server = replay_module.Replay()
    yield server
    server.close()
