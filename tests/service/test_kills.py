"""kill −9 during sending: nothing is lost, nothing shows twice.

1,000 kills run apart: ``python tests/benchmarks/bench_kills.py``.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.service.killing import kill_again_and_again
from tests.service.sink import Sink


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and kill -9")
def test_killed_while_sending(folder: Path, sink: Sink) -> None:
    came = kill_again_and_again(folder, sink, kills=25)
    assert came.kills == 25
    assert came.lost == 0
    assert came.doubled == 0
    # a copy with the same Message-ID is possible only where the kill fell between giving the
    # mail away and writing that down, and every such sending is marked
    assert came.unexplained == 0
    assert came.copies <= came.during.get("handing over", 0)
