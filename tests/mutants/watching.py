"""Two pytest plugins: one notes which test ran which line, one runs the tests chosen, in order."""

from __future__ import annotations

import json
import os
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import TypedDict

import coverage
import pytest
from hypothesis import Phase, settings


class Ran(TypedDict):
    """What the tests of a room did when it was sound.

    Attributes
    ----------
    lines : dict
        File, line (as text): the tests that ran it, or were set up by it.
    seconds : dict
        Test: what it took of the processor.
    """

    lines: dict[str, dict[str, list[str]]]
    seconds: dict[str, float]


class Watching:
    """Notes for each test what it took and which lines of some files it ran."""

    def __init__(self, root: Path, globs: tuple[str, ...], kept: Path) -> None:
        self._root, self._kept = root, kept
        self._seconds: dict[str, float] = {}
        # Made here, begun when the tests are: in the process that runs them.
        self._lines = coverage.Coverage(
            data_file=None, config_file=False, include=[str(root / each) for each in globs]
        )
        self._lines.set_option("run:disable_warnings", ["no-data-collected"])

    def pytest_sessionstart(self) -> None:
        self._lines.start()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self._lines.switch_context(item.nodeid)
        began = sum(os.times()[:4])
        came = yield
        self._seconds[item.nodeid] = sum(os.times()[:4]) - began
        self._lines.switch_context("")
        return came

    def pytest_sessionfinish(self) -> None:
        self._lines.stop()
        data = self._lines.get_data()
        lines: dict[str, dict[str, list[str]]] = defaultdict(dict)
        for file in data.measured_files():
            name = Path(file).relative_to(self._root).as_posix()
            for line, tests in data.contexts_by_lineno(file).items():
                lines[name][str(line)] = [each for each in tests if each]
        self._kept.write_text(json.dumps(Ran(lines=lines, seconds=self._seconds)), "utf-8")


class Choosing:
    """Runs the tests chosen (all, if none are) and says which failed; looks for no least case."""

    def __init__(self, chosen: tuple[str, ...], kept: Path) -> None:
        self._place = {name: at for at, name in enumerate(chosen)}
        self._kept = kept

    @pytest.hookimpl(trylast=True)
    def pytest_configure(self) -> None:
        plain = [Phase.explicit, Phase.generate]
        for name in ("quick", "slow"):
            settings.register_profile(name, settings.get_profile(name), phases=plain)
        settings.load_profile("quick")

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        if self._place:
            items[:] = [item for item in items if item.nodeid in self._place]
            items.sort(key=lambda item: self._place[item.nodeid])

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self._kept.write_text(report.nodeid, "utf-8")
