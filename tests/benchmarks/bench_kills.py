"""1,000 times kill −9 of a sending service: ``python tests/benchmarks/bench_kills.py [KILLS]``."""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.service.conftest import BOAT
from tests.service.killing import kill_again_and_again
from tests.service.sink import Sink


def main() -> None:
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        (folder / "boat.toml").write_text(BOAT, encoding="utf-8")
        (folder / "work.toml").write_text("", encoding="utf-8")
        sink = Sink()
        try:
            came = kill_again_and_again(folder, sink, kills=kills)
        finally:
            sink.close()
    took = time.monotonic() - began
    print(f"{came.kills} kills, {came.mails} mails taken, {took:.0f} s")
    print(f"lost {came.lost}, shown twice {came.doubled}")
    print(f"copies with the same Message-ID {came.copies}, unexplained {came.unexplained}")
    print(f"kills fell: {came.during}")
    sys.exit(bool(came.lost or came.doubled or came.unexplained))


if __name__ == "__main__":
    main()
