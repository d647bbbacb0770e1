"""The JSON interface fuzzed by its own description (schemathesis): no 500, and what it promised.

In the slow run; ``tests/benchmarks/fuzz_page.py`` spends a larger budget.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.page.fuzzing import fuzzed
from tests.page.hands import Caller, served

EXAMPLES = 12


@pytest.fixture(scope="module")
def address(
    packaged: Path, tmp_path_factory: pytest.TempPathFactory, reader: Caller
) -> Iterator[str]:
    """A page on this machine that may be written to."""
    folder = tmp_path_factory.mktemp("fuzzed") / "boat"
    shutil.copytree(packaged, folder)
    worked = reader.app.state.site.current.worked
    with served(folder, work=lambda *_: worked, between_s=3600.0) as (base, _):
        yield base


@pytest.mark.slow
def test_answers_as_described(address: str) -> None:
    faults = fuzzed(address, EXAMPLES)
    assert not faults, "\n\n".join(faults)
