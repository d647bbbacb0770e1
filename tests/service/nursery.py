"""Services to be killed: each 'go' on standard input forks one off, which serves until it dies.

``python nursery.py FOLDER NOTICES PER_TICK``; prints the process number of each child and, once
it is gone, how it ended. A child's clock goes on where that of the last one stopped (a file keeps
it); it ends by itself with 0 once everything has been told.
"""

from __future__ import annotations

import os
import sys
import time
import traceback
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from curewindow_service.app import Service
from curewindow_service.channels import Message, mail
from curewindow_service.look import Looked
from curewindow_service.outbox import Outbox

from curewindow.boat.folder import load_boat
from curewindow.reminders import Reminder

START = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
STEP = timedelta(minutes=10)
SAMPLE = Message("boat", "key", "milestone", "low", "title", "body", START, START, "id")


def reminders(notices: int, per_tick: int, now: datetime) -> list[Reminder]:
    """So many notices due at each step of the clock, of no use only after a year."""
    return [
        Reminder(
            key=f"notice {number}",
            kind="milestone",
            level="normal",
            due=START + (number // per_tick) * STEP,
            expires=START + timedelta(days=365),
            title=f"notice {number}",
            body=f"{number}",
        )
        for number in range(notices)
        # far enough ahead and back that none is ever withdrawn
        if abs(START + (number // per_tick) * STEP - now) < timedelta(hours=8)
    ]


def serve(folder: Path, notices: int, per_tick: int) -> int:
    """Live until everything is told."""
    kept = folder / "clock"
    now = [datetime.fromisoformat(kept.read_text()) if kept.exists() else START]

    def look(_: Path, at: datetime, plan: Mapping[str, Any] | None) -> Looked:
        return Looked(
            as_of=at,
            boat="test boat",
            time_zone="Europe/Amsterdam",
            reminders=reminders(notices, per_tick, at),
            plan={},
            weather="",
            weather_age_h=0.0,
        )

    service = Service(folder, clock=lambda: now[0], look=look)
    end = START + (notices // per_tick) * STEP
    while True:
        service.tick()
        while service.senders.busy():
            time.sleep(0.0005)
        with Outbox(service.record, clock=lambda: now[0]) as outbox:
            counts = outbox.counts()
        left = counts.get("waiting", 0)
        if now[0] > end and left == 0:
            return 0
        if left < 4 * per_tick:
            now[0] += STEP
            part = kept.with_name("clock.part")
            part.write_text(now[0].isoformat())
            os.replace(part, kept)


def _warm(folder: Path) -> None:
    """Load and build what a child would else spend its short life on."""
    from email.message import EmailMessage

    load_boat(folder)
    box = mail.read_mailbox(os.environ["T_MAIL"])
    assert isinstance(EmailMessage(), EmailMessage)
    mail.write_mail(box, SAMPLE)
    reminders(1, 1, START)


def main() -> None:
    folder, notices, per_tick = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    _warm(folder)
    for _ in sys.stdin:
        child = os.fork()
        if child == 0:
            try:
                os._exit(serve(folder, notices, per_tick))
            except BaseException:
                traceback.print_exc()
                os._exit(70)
        sys.stdout.write(f"{child}\n")
        sys.stdout.flush()
        _, status = os.waitpid(child, 0)
        sys.stdout.write(f"{os.waitstatus_to_exitcode(status)}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
