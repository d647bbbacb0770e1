"""From the outbox to the channels: one thread a channel, so that a slow one holds up no other."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from curewindow.errors import CurewindowError
from curewindow.wording import WEEKDAYS
from curewindow_service.channels import Destination, Message, Outcome, send
from curewindow_service.clock import Clock
from curewindow_service.notices import Notice, Sending
from curewindow_service.outbox import LONGEST_PAUSE, Outbox

log = logging.getLogger(__name__)

# Later than this after it was due a notice says so.
LATE = timedelta(minutes=15)
_FIRST_PAUSE = timedelta(minutes=1)

Send = Callable[[Destination, Message, Callable[[], None]], Outcome]


@dataclass(frozen=True, slots=True)
class BoatSignature:
    """What a message says of the boat it is from."""

    name: str
    zone: ZoneInfo


def pause_after(attempts: int, asked: timedelta | None = None) -> timedelta:
    """How long to wait after so many attempts: 1, 2, 4 ... minutes, or as long as was asked."""
    own: timedelta = _FIRST_PAUSE * (1 << min(max(attempts - 1, 0), 10))
    return min(max(own, asked or timedelta(0)), LONGEST_PAUSE)


def message_for(notice: Notice, sending: Sending, boat: BoatSignature, clock: Clock) -> Message:
    """The notice in the words it goes out in now."""
    now = clock()
    lines = []
    if now - notice.due > LATE:
        due = notice.due.astimezone(boat.zone)
        lines.append(f"Late: this was due {WEEKDAYS[due.weekday()]} {due:%H:%M}.")
    if sending.doubt:
        lines.append("Sent again after a stop: you may have it already.")
    return Message(
        boat=boat.name,
        key=notice.key,
        kind=notice.kind,
        level=notice.level,
        title=notice.title,
        body="\n".join([*lines, notice.body]).strip(),
        due=notice.due,
        at=now.astimezone(boat.zone),
        message_id=sending.message_id,
    )


def send_waiting(
    outbox: Outbox,
    ways: Sequence[Destination],
    boat: BoatSignature,
    clock: Clock,
    *,
    only: str | None = None,
    send: Send = send,
    stop: Callable[[], bool] = lambda: False,
    unsettled: dict[int, Outcome] | None = None,
) -> int:
    """Send what is to be sent now.

    Parameters
    ----------
    outbox : Outbox
        Of this thread.
    ways : sequence of Destination
        All there are; a sending whose channel is gone fails.
    boat : BoatSignature
    clock : callable
    only : str, optional
        This channel alone.
    send : callable
        What sends.
    stop : callable
        Asked between two: true, and the rest waits.
    unsettled : dict, optional
        Outcomes that could not be written down, by sending; they are written down first.

    Returns
    -------
    int
        How many were sent.

    Raises
    ------
    RecordError
        What was done cannot be written down. Nothing is given away in that case, unless the
        disk failed in the very moment after.
    """
    by_name = {way.name: way for way in ways}
    owed = {} if unsettled is None else unsettled
    for id in list(owed):
        _settle(outbox, id, 0, owed[id])
        del owed[id]
    done = 0
    gone: set[str] = set()
    for notice, sending in outbox.to_send():
        if stop():
            break
        name = sending.channel
        if (only is not None and name != only) or name in gone:
            continue
        if not outbox.begin(sending.id):
            continue
        way = by_name.get(name)
        if way is None:
            outbox.failed(sending.id, "no such channel in boat.toml any more")
            continue
        outcome = _attempt(outbox, way, notice, sending, boat, clock, send, owed)
        if outcome.state == "sent":
            done += 1
        elif not outcome.reachable:
            gone.add(name)
    return done


def _attempt(
    outbox: Outbox,
    way: Destination,
    notice: Notice,
    sending: Sending,
    boat: BoatSignature,
    clock: Clock,
    send: Send,
    owed: dict[int, Outcome],
) -> Outcome:
    message = message_for(notice, sending, boat, clock)
    # what stands if nothing can be written down any more before it is given away
    owed[sending.id] = Outcome("later", "it could not be written down that it goes out")
    try:
        outcome = send(way, message, lambda: outbox.hand_over(sending.id))
    except CurewindowError:
        raise  # not given away
    except Exception as bad:
        log.exception("channel '%s' failed in a way nobody thought of", way.name)
        outcome = Outcome("later", f"a fault: {type(bad).__name__}", doubt=True, reachable=False)
    owed[sending.id] = outcome
    _settle(outbox, sending.id, sending.attempts, outcome)
    del owed[sending.id]
    if outcome.state == "sent":
        log.info("told by '%s': %s", way.name, notice.title)
    elif outcome.state == "refused":
        log.warning("'%s' refuses '%s': %s", way.name, notice.title, outcome.said)
    else:
        log.warning("'%s' did not take '%s' yet: %s", way.name, notice.title, outcome.said)
    return outcome


def _settle(outbox: Outbox, id: int, attempts: int, outcome: Outcome) -> None:
    """Write down what came of an attempt."""
    if outcome.state == "sent":
        outbox.sent(id, outcome.said)
    elif outcome.state == "refused":
        outbox.failed(id, outcome.said)
    else:
        pause = pause_after(attempts + 1, outcome.pause)
        outbox.later(id, outcome.said, pause, doubt=outcome.doubt)


class Senders:
    """At most one sending thread a channel, started where there is something to send.

    Parameters
    ----------
    path : Path
        The boat's record.
    clock, send : callable
    """

    def __init__(self, path: Path, clock: Clock, send: Send = send) -> None:
        self.path = path
        self.clock = clock
        self.send = send
        self._threads: dict[str, threading.Thread] = {}
        self._stop = threading.Event()
        self._unsettled: dict[str, dict[int, Outcome]] = {}

    def start(self, ways: Sequence[Destination], boat: BoatSignature, wanted: set[str]) -> None:
        """Send what waits on these channels, on those that are not at it already."""
        known = {way.name for way in ways}
        for name in sorted(wanted | {name for name, owed in self._unsettled.items() if owed}):
            thread = self._threads.get(name)
            if thread is not None and thread.is_alive():
                continue
            self._threads[name] = threading.Thread(
                target=self._run,
                args=(ways, boat, name),
                name=f"channel {name}" if name in known else "lost channel",
                daemon=True,
            )
            self._threads[name].start()

    def _run(self, ways: Sequence[Destination], boat: BoatSignature, name: str) -> None:
        try:
            with Outbox(self.path, clock=self.clock) as outbox:
                send_waiting(
                    outbox,
                    ways,
                    boat,
                    self.clock,
                    only=name,
                    send=self.send,
                    stop=self._stop.is_set,
                    unsettled=self._unsettled.setdefault(name, {}),
                )
        except CurewindowError as bad:
            log.error("nothing can be sent by '%s': %s", name, bad)

    def busy(self) -> bool:
        """Is any at it?"""
        return any(thread.is_alive() for thread in self._threads.values())

    def wait(self, timeout_s: float) -> None:
        """Let those that are at it finish what they have begun."""
        self._stop.set()
        for thread in self._threads.values():
            thread.join(timeout_s)
