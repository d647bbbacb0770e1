"""kill −9 during sending: nothing is lost, nothing shows twice.

A few in the quick run, a thousand in the slow one.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.service.killing import kill_again_and_again
from tests.service.sink import Sink

MANY = int(os.environ.get("CUREWINDOW_KILLS", "1000"))


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and kill -9")
@pytest.mark.parametrize("kills", [5, pytest.param(MANY, marks=pytest.mark.slow)])
def test_killed_while_sending(folder: Path, sink: Sink, kills: int) -> None:
    came = kill_again_and_again(folder, sink, kills=kills)
    assert came.kills == kills
    assert came.lost == 0
    assert came.doubled == 0
    # a copy with the same Message-ID is possible only where the kill fell between giving the
    # mail away and writing that down, and every such sending is marked
    assert came.unexplained == 0
    assert came.copies <= came.during.get("handing over", 0)
