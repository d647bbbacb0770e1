"""Each dangerous boat is told of as dangerous in every face, each harmless one is left alone.

What is dangerous is common practice of the trade and of safety data sheets, no single source.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.probes.all import ALL
from tests.probes.scene import Probe, asked, wrong

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("probe", ALL, ids=lambda probe: probe.name)
def test_a_careful_answer(probe: Probe, tmp_path: Path) -> None:
    assert wrong(probe, asked(probe, tmp_path)) == []
