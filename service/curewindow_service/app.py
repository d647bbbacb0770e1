"""The service itself: looks when it is time, keeps the outbox, sends what is due."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from curewindow.boat.folder import BOAT_FILE, RECORD_FILE, SHEETS_FOLDER, WORK_FILE, load_boat
from curewindow.boat.schema import Boat as Described
from curewindow.boat.service import LEVELS
from curewindow.errors import CurewindowError, RecordError
from curewindow.record.entries import Reading
from curewindow.record.opening import open_to_read
from curewindow.record.trouble import plain_words
from curewindow.reminders.daily import morning_key, morning_notice, morning_of
from curewindow_service.apart import end_all
from curewindow_service.channels import Destination, Message, read_destinations, send
from curewindow_service.channels.destination import keep_from_logs, one_line
from curewindow_service.clock import Clock, system_clock
from curewindow_service.look import Look, Looked, look_apart
from curewindow_service.night import FROM_HOUR, Night
from curewindow_service.outbox import Outbox
from curewindow_service.sending import BoatSignature, Send, Senders
from curewindow_service.watching import Watch

if TYPE_CHECKING:  # loaded where there is a sensor
    from curewindow_service.sensors import SensorsStatus

log = logging.getLogger(__name__)

# A look this long before the morning notice, so that it is fresh.
_BEFORE_MORNING = timedelta(minutes=3)
_AFTER_FAILURE = timedelta(minutes=5)
# Something was logged or a file changed: looked again, but not at every stroke of a key.
_AFTER_CHANGE = timedelta(seconds=45)
# A sensor tells that something wet leaves its limits: at once, but no look right after another.
_AFTER_READING = timedelta(minutes=2)
# So long without a day sheet, and the morning notice goes out without one.
_WITHOUT_SHEET = timedelta(minutes=10)
# So long without a record that can be written, and somebody is told.
_TROUBLE_TOLD = timedelta(minutes=10)
_PLAN, _NIGHT = "plan", "night"


@dataclass(frozen=True, slots=True)
class Status:
    """How the service is."""

    looked_at: datetime | None
    next_look: datetime | None
    look_problem: str
    record_problem: str
    boat_problem: str
    weather: str
    weather_age_h: float | None

    @property
    def well(self) -> bool:
        """Nothing is in the way of the notices."""
        return not (self.look_problem or self.record_problem or self.boat_problem)


class Service:
    """One boat's service; :meth:`tick` does all that is to be done at a moment.

    Parameters
    ----------
    folder : Path
        The boat folder.
    clock : callable
        What time it is, aware UTC.
    look : callable
        What works out the day; else in a process of its own.
    send : callable
        What sends a message.
    environ : mapping, optional
        Where channel addresses named by ``address_env`` are; else the environment.
    night : callable, optional
        What is done once a night, in a thread; see :mod:`curewindow_service.night`.

    Raises
    ------
    CurewindowError
        boat.toml or a channel cannot be used.
    """

    def __init__(
        self,
        folder: Path,
        *,
        clock: Clock = system_clock,
        look: Look = look_apart,
        send: Send = send,
        environ: Mapping[str, str] | None = None,
        night: Night | None = None,
    ) -> None:
        self.folder = folder
        self.record = folder / RECORD_FILE
        self.clock = clock
        self.senders = Senders(self.record, clock, send)
        self.after_look: Callable[[Looked], None] | None = None
        self.sensors: Callable[[], SensorsStatus] | None = None
        self._watch = Watch()
        self._heard_news = False
        self._look = look
        self._send = send
        self._environ = environ
        self._night = night
        self._boat: Described
        self._ways: list[Destination]
        self._boat_stamp: object = None
        self._read_boat(first=True)
        self._recovered = self._closing = False
        self._looked: Looked | None = None
        self._unnoted: Looked | None = None
        self._tried_at: datetime | None = None
        self._next_look: datetime | None = None
        self._stamp: object = None
        self._problems = {"look": "", "record": "", "boat": ""}
        self._no_record_since: datetime | None = None
        self._trouble_told: set[str] = set()

    # ---- at every moment -----------------------------------------------------------

    def tick(self) -> None:
        """Look if it is time, give out what is due, send what waits.

        Raises
        ------
        BrokenOffError
            :meth:`close` was called in the middle of a look. Nothing else foreseen.
        """
        now = self.clock()
        self._read_boat()
        try:
            with Outbox(self.record, clock=self.clock) as outbox:
                if not self._recovered:
                    again = outbox.recover()
                    self._recovered = True
                    if again:
                        log.warning("%d notices were cut off while going out; sent again", again)
                if self._look_is_due(now):
                    self._look_now(outbox, now)
                self._note(outbox)
                self._give_out(outbox)
                waiting = outbox.waiting_channels()
                self._look_back(outbox, now)
            self._said("record", "")
            self._no_record_since = None
        except RecordError as bad:
            self._said("record", str(bad))
            self._no_record(now, str(bad))
            return
        self.senders.start(self._ways, self._name(), waiting)

    def _give_out(self, outbox: Outbox) -> None:
        given = outbox.give_out([(way.name, way.level) for way in self._ways])
        for notice in given:
            log.info("due: %s", notice.title)
        if self._looked is not None and any(
            notice.kind in ("morning", "plan changed") for notice in given
        ):
            outbox.remember(_PLAN, self._looked.plan)

    def status(self) -> Status:
        """How the service is; from any thread."""
        looked = self._looked
        return Status(
            looked_at=None if looked is None else looked.as_of,
            next_look=self._next_look,
            look_problem=self._problems["look"],
            record_problem=self._problems["record"],
            boat_problem=self._problems["boat"],
            weather="" if looked is None else looked.weather,
            weather_age_h=None if looked is None else looked.weather_age_h,
        )

    def plan(self) -> dict[str, Any] | None:
        """The plan as the last look found it, see :func:`curewindow.reminders.changed.plan_of`."""
        return None if self._looked is None else self._looked.plan

    def heard(self, reading: Reading) -> None:
        """A sensor's reading is in the record; from any thread.

        One by which something wet nears its limits, or leaves them, does not wait for the
        regular look.
        """
        if self._watch.is_news(reading, self.clock()):
            self._heard_news = True

    def close(self, wait_s: float = 20.0) -> None:
        """Let what is being sent be sent, no more; a look under way is broken off."""
        self._closing = True
        end_all()
        self.senders.wait(wait_s)

    # ---- looking -------------------------------------------------------------------

    def _look_is_due(self, now: datetime) -> bool:
        if self._closing:
            return False
        if self._next_look is None or self._tried_at is None or now >= self._next_look:
            return True
        if now < self._tried_at:
            return True  # the clock was set back
        if self._heard_news and now - self._tried_at >= _AFTER_READING:
            return True
        return now - self._tried_at >= _AFTER_CHANGE and self._files() != self._stamp

    def _look_now(self, outbox: Outbox, now: datetime) -> None:
        self._tried_at, self._stamp = now, self._files()
        self._heard_news = False
        kept = outbox.recall(_PLAN)
        try:
            found = self._look(self.folder, now, None if kept is None else kept[1])
        except CurewindowError as bad:
            self._said("look", str(bad))
            self._next_look = min(now + _AFTER_FAILURE, self._next_regular(now))
            self._morning_without(outbox, now, str(bad))
            return
        self._said("look", "")
        self._looked = self._unnoted = found
        self._watch.know(found.wet)
        self._next_look = self._next_regular(now)
        if self.after_look is not None:
            self.after_look(found)

    def _look_back(self, outbox: Outbox, now: datetime) -> None:
        """Once a day by the boat's clock, at night if the service runs by then."""
        here = now.astimezone(self._name().zone)
        if self._night is None or self._looked is None or here.hour < FROM_HOUR:
            return
        kept, day = outbox.recall(_NIGHT), str(here.date())
        if kept is not None and kept[1]["day"] == day:
            return
        outbox.remember(_NIGHT, {"day": day})
        Thread(target=self._night, args=(self.folder, now), name="night", daemon=True).start()

    def _note(self, outbox: Outbox) -> None:
        """Put what the last look found into the outbox, at the next try if not at this."""
        if self._unnoted is None:
            return
        outbox.sync(self._unnoted.reminders)
        if outbox.recall(_PLAN) is None:
            outbox.remember(_PLAN, self._unnoted.plan)
        self._unnoted = None

    def _next_regular(self, now: datetime) -> datetime:
        settings, zone = self._boat.service, self._name().zone
        regular = now + timedelta(hours=settings.refresh)
        for day in (now, now + timedelta(days=1)):
            before = morning_of(day, settings.morning, zone) - _BEFORE_MORNING
            if now < before < regular:
                return before
        return regular

    def _morning_without(self, outbox: Outbox, now: datetime, why: str) -> None:
        """The morning notice comes, whatever stands in the way of the day sheet."""
        zone = self._name().zone
        due = morning_of(now, self._boat.service.morning, zone)
        if now < due + _WITHOUT_SHEET or outbox.find(morning_key(due, zone)) is not None:
            return
        ahead = [notice for notice in outbox.notices(since=now) if notice.state == "waiting"]
        day = f"{due.astimezone(zone):%d %b}".lstrip("0")
        lines = [f"It cannot be worked out: {one_line(why)}"]
        lines += [f"still noted: {notice.title}" for notice in ahead[:4]]
        outbox.add(morning_notice(due, zone, f"{day}: no day sheet this morning", lines))

    def _files(self) -> object:
        """What the day rests on: another value whenever one of the files, or the log, is."""
        own = sorted((self.folder / SHEETS_FOLDER).glob("*.toml"))
        files = [self.folder / BOAT_FILE, self.folder / WORK_FILE, *own]
        return (*(_stamp(file) for file in files), self._entries())

    def _entries(self) -> int:
        try:
            with plain_words(self.record):
                connection = open_to_read(self.record, 1.0)
                try:
                    # what sensors send every few minutes waits for the regular look
                    row = connection.execute(
                        "SELECT max(id) FROM entries WHERE by_person = 1"
                    ).fetchone()
                finally:
                    connection.close()
        except RecordError:
            return -1
        return int(row[0] or 0)

    # ---- the boat and its channels -----------------------------------------------------

    @property
    def boat_name(self) -> str:
        """As boat.toml has it."""
        return self._boat.name

    @property
    def channels(self) -> list[str]:
        """Names of the channels reminders go out by."""
        return [way.name for way in self._ways]

    def _name(self) -> BoatSignature:
        return BoatSignature(self._boat.name, ZoneInfo(self._boat.place.time_zone))

    def _read_boat(self, *, first: bool = False) -> None:
        """Read boat.toml where it is another one; a bad one leaves the last good one standing."""
        stamp = _stamp(self.folder / BOAT_FILE)
        if stamp == self._boat_stamp:
            return
        self._boat_stamp = stamp
        try:
            boat = load_boat(self.folder)
            ways = read_destinations(boat.channel, self.folder, self._environ)
        except CurewindowError as bad:
            if first:
                raise
            self._said("boat", f"{bad}; going on with what it said before")
            return
        self._boat, self._ways = boat, ways
        keep_from_logs(ways)
        if not first:
            self._said("boat", "")
            self._next_look = None

    # ---- trouble -------------------------------------------------------------------

    def _said(self, what: str, problem: str) -> None:
        """Keep a problem, and log it once."""
        if problem and problem != self._problems[what]:
            log.error("%s", problem)
        elif not problem and self._problems[what]:
            log.info("well again: %s", self._problems[what])
        self._problems[what] = problem

    def _no_record(self, now: datetime, why: str) -> None:
        """Without its record the service cannot count what it told: say that, once a day.

        What is told here is known to this process alone; a mailbox tells a second copy
        after a restart by its Message-ID.
        """
        self._no_record_since = min(self._no_record_since or now, now)
        day = f"{now.astimezone(self._name().zone).date()}"
        if now - self._no_record_since < _TROUBLE_TOLD or day in self._trouble_told:
            return
        self._trouble_told.add(day)
        mark = hashlib.sha256(f"{self.folder}|{day}".encode()).hexdigest()[:32]
        message = Message(
            boat=self._boat.name,
            key=f"trouble|{day}",
            kind="trouble",
            level="urgent",
            title=f"{self._boat.name}: no notices until this is put right",
            body=one_line(why),
            due=now,
            at=now.astimezone(self._name().zone),
            message_id=mark,
        )
        for way in self._ways:
            if LEVELS.index(way.level) <= LEVELS.index(message.level):
                outcome = self._send(way, message, lambda: None)
                log.warning("trouble told by '%s': %s", way.name, outcome.said)


def _stamp(file: Path) -> tuple[str, int, int]:
    try:
        about = file.stat()
    except OSError:
        return (file.name, -1, -1)
    return (file.name, about.st_mtime_ns, about.st_size)
