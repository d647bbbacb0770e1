"""Each dangerous boat is told of as dangerous in every face, each harmless one is left alone.

What is dangerous is common practice of the trade and of safety data sheets, no single source.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.probes.all import ALL
from tests.probes.scene import Probe, asked, wrong

pytestmark = pytest.mark.slow
# The gate, which has twenty minutes for everything, asks every fifth: see .ci/run.
STEP = int(os.environ.get("CUREWINDOW_PROBES_STEP", "1"))


@pytest.mark.parametrize("probe", ALL[::STEP], ids=lambda probe: probe.name)
def test_a_careful_answer(probe: Probe, tmp_path: Path) -> None:
    assert wrong(probe, asked(probe, tmp_path)) == []
