"""Ask every probe and print what the faces say: 'python -m tests.probes [WORD]'."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.probes.all import ALL
from tests.probes.scene import asked, wrong

if __name__ == "__main__":
    bad = 0
    words = sys.argv[1:]
    for probe in ALL:
        if words and not any(word in probe.name for word in words):
            continue
        with tempfile.TemporaryDirectory() as folder:
            answered = asked(probe, Path(folder))
        faults = wrong(probe, answered)
        bad += bool(faults)
        lines = [f"{'WRONG' if faults else 'ok':5} {probe.name} | {answered.row()}"]
        lines += [f"      {fault}" for fault in faults]
        sys.stdout.write("\n".join(lines) + "\n")
    sys.stdout.write(f"{len(ALL)} probes, {bad} wrong\n")
