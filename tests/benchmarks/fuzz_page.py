"""A longer fuzz of the JSON interface than the tests have; the argument: calls of each kind."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from curewindow.demo import files as demofiles
from tests.page.fuzzing import fuzzed
from tests.page.hands import MORNING, served


def main() -> int:
    """Print what went wrong, and how much was tried."""
    examples = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    with tempfile.TemporaryDirectory() as place:
        os.environ["CUREWINDOW_CACHE"] = f"{place}/cache"
        folder = Path(place) / "boat"
        demofiles.write(folder, MORNING)
        began = time.perf_counter()
        # worked out once, in a process of its own, which 'why' and 'picture' use as well
        with served(folder, own_process=True, between_s=3600.0) as (base, app):
            faults = fuzzed(base, examples)
            text = app.state.site.figures.written()[0].decode()
        calls = [
            line for line in text.splitlines() if line.startswith("curewindow_requests_total{")
        ]
        statuses: dict[str, float] = {}
        for line in calls:
            status = line.partition('status="')[2][:3]
            statuses[status] = statuses.get(status, 0.0) + float(line.rpartition(" ")[2])
    print(f"{sum(statuses.values()):.0f} requests in {time.perf_counter() - began:.0f} s")
    print("by status:", ", ".join(f"{s}: {n:.0f}" for s, n in sorted(statuses.items())))
    for fault in faults:
        print(fault)
    print(f"{len(faults)} operations with faults")
    return bool(faults)


if __name__ == "__main__":
    sys.exit(main())
