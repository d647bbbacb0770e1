"""Kill a sending service again and again, then count what its mail server has."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from curewindow_service.outbox import Outbox

from tests.service.sink import Sink

NURSERY = Path(__file__).with_name("nursery.py")


@dataclass(frozen=True, slots=True)
class Killed:
    """What came of it.

    Attributes
    ----------
    kills : int
        Services killed while alive.
    lost : int
        Notices no mail came of.
    doubled : int
        Notices a mailbox that tells copies by their Message-ID shows more than once.
    copies : int
        Mails the server took beyond the first of their Message-ID.
    unexplained : int
        Of these, those whose sending was not marked as doubtful.
    during : dict
        In which state of the sending under way the kills fell.
    """

    kills: int
    lost: int
    doubled: int
    copies: int
    unexplained: int
    during: dict[str, int]
    mails: int


def kill_again_and_again(
    folder: Path, sink: Sink, *, kills: int, per_tick: int = 8, seed: int = 1
) -> Killed:
    """Run a service on a boat until everything is told, killing it so many times on the way."""
    rng = random.Random(seed)
    notices = kills * 4 + 40
    sink.wait_s = lambda: rng.choice((0.0, 0.0, 0.002, 0.006))
    environ = {
        **os.environ,
        "T_MAIL": f"mailto://127.0.0.1:{sink.port}/?from=boat@example.org&to=owner@example.org",
    }
    with (folder / "boat.toml").open("a", encoding="utf-8") as file:
        file.write(
            '\n[service]\nrefresh = "1 h"\n[[channel]]\nname = "m"\naddress_env = "T_MAIL"\n'
        )
    during: Counter[str] = Counter()
    nursery = subprocess.Popen(
        [sys.executable, str(NURSERY), str(folder), str(notices), str(per_tick)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=environ,
        text=True,
    )
    assert nursery.stdin is not None
    assert nursery.stdout is not None
    done = 0
    try:
        while True:
            nursery.stdin.write("go\n")
            nursery.stdin.flush()
            child = int(nursery.stdout.readline())
            if done < kills:
                time.sleep(rng.uniform(0.0, 0.12))
                os.kill(child, signal.SIGKILL)
            ended = int(nursery.stdout.readline())
            if ended == 0:
                break
            assert ended == -signal.SIGKILL, f"a service ended by itself with {ended}"
            done += 1
            if (folder / "record.db").exists():
                with Outbox(folder / "record.db") as outbox:
                    counts = outbox.counts()
                during[
                    next((s for s in ("handing over", "sending") if counts.get(s)), "between two")
                ] += 1
    finally:
        nursery.stdin.close()
        nursery.wait(10.0)
        nursery.stdout.close()
    return _counted(folder, sink, notices, done, dict(during))


def _counted(folder: Path, sink: Sink, notices: int, kills: int, during: dict[str, int]) -> Killed:
    box = sink.mailbox()
    shown = Counter(str(copies[0]["Subject"]) for copies in box.values())
    with Outbox(folder / "record.db") as outbox:
        told = {n.title: n for n in outbox.notices()}
    assert set(shown) <= set(told)
    unexplained = sum(
        len(copies) - 1
        for copies in box.values()
        if len(copies) > 1 and not told[str(copies[0]["Subject"])].sendings[0].doubt
    )
    return Killed(
        kills=kills,
        lost=sum(f"notice {number}" not in shown for number in range(notices)),
        doubled=sum(times > 1 for times in shown.values()),
        copies=len(sink.taken) - len(box),
        unexplained=unexplained,
        during=during,
        mails=len(sink.taken),
    )
