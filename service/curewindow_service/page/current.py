"""What is known now: worked out once for all who look, and anew when something has changed."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import time
from collections import OrderedDict
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

from curewindow.boat.folder import BOAT_FILE, RECORD_FILE, SHEETS_FOLDER, WORK_FILE
from curewindow.conditions.learned_file import LEARNED_FILE
from curewindow.errors import CurewindowError
from curewindow_service.page.room import Workroom
from curewindow_service.page.settings import PageSettings
from curewindow_service.page.workings import Worked, first_look, last_entry, work_out

log = logging.getLogger(__name__)
AnswerT = TypeVar("AnswerT")

LOOKED_S = 1800.0
"""Somebody looks as long as the last look is not older [s]."""
ASKED_KEPT = 64

Stamp = tuple[tuple[str, int, int], ...]


class Current:
    """The newest answers, the files they rest on, and those who wait for newer ones.

    Parameters
    ----------
    folder : Path
        The boat folder.
    clock : callable
        The moment it is, aware UTC.
    settings : PageSettings

    Attributes
    ----------
    worked : Worked or None
        None before the first round has ended well.
    problem : str
        Why the last round did not; '' where it did.
    behind : bool
        Something has changed since ``worked``: a new round is due or under way.
    version : int
        Another one whenever any of the above is.
    notices : int
        Another one whenever the record has changed at all.
    ended : bool
        It is kept fresh no longer.
    rounds, failures : int
        So far.
    first_look, work_out : callable
        What works it out.
    """

    def __init__(
        self, folder: Path, *, clock: Callable[[], datetime], settings: PageSettings
    ) -> None:
        self.folder = folder
        self.clock = clock
        self.settings = settings
        self.room = Workroom(own_process=settings.own_process)
        self.worked: Worked | None = None
        self.problem = ""
        self.behind = False
        self.version = 0
        self.notices = 0
        self.rounds = 0
        self.failures = 0
        self.looking = 0
        self.first_look: Callable[[Path, datetime], Worked] = first_look
        self.work_out: Callable[[Path, datetime], Worked] = work_out
        self._looked_at = time.monotonic()
        self._seen: Stamp = ()
        self._entry: tuple[str, int, int] = ("entries", 0, 0)
        self._marks = 0
        self._tried_at: datetime | None = None
        self._record_seen: Stamp = ()
        self._poked = asyncio.Event()
        self._news = asyncio.Event()
        self._asked: OrderedDict[tuple[object, ...], asyncio.Future[Any]] = OrderedDict()
        self._loop: asyncio.AbstractEventLoop | None = None
        self.ended = False

    # ---- for those who show it -------------------------------------------------

    def look(self) -> None:
        """Somebody looks: keep it fresh."""
        idle = time.monotonic() - self._looked_at > LOOKED_S
        self._looked_at = time.monotonic()
        if idle:
            self._poked.set()

    async def news(self, version: int, notices: int, wait_s: float) -> bool:
        """Wait until there is something newer; False where there is not for so long."""
        give_up = time.monotonic() + wait_s
        while (self.version, self.notices) == (version, notices) and not self.ended:
            left = give_up - time.monotonic()
            if left <= 0.0:
                return False
            try:
                await asyncio.wait_for(self._news.wait(), left)
            except TimeoutError:
                return False
        return True

    async def ask(self, work: Callable[..., AnswerT], *given: Any) -> AnswerT:
        """Work something out that is not at hand; asked again at the same state, it is.

        ``work`` is called with the boat folder, the moment the rest goes by, and ``given``.
        """
        now = self.clock() if self.worked is None else self.worked.sheet.as_of
        key = (work, *given, now, self._seen)
        found = self._asked.get(key)
        if found is None:
            found = asyncio.ensure_future(self.room.run(work, self.folder, now, *given))
            self._asked[key] = found
            while len(self._asked) > ASKED_KEPT:
                self._asked.popitem(last=False)
        self._asked.move_to_end(key)
        try:
            answer: AnswerT = await asyncio.shield(found)
        except BaseException:
            if found.done():
                self._asked.pop(key, None)
            raise
        return answer

    def changed(self) -> None:
        """Something it rests on is another one now; may be called from any thread."""
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self._mark_behind)

    # ---- keeping it ------------------------------------------------------------

    async def keep(self) -> None:
        """Keep it fresh until cancelled."""
        self._loop = asyncio.get_running_loop()
        try:
            while not self.ended:
                self._saw(*await asyncio.to_thread(self._read_files))
                if self._due():
                    await self._round()
                    await asyncio.sleep(self.settings.between_s)
                else:
                    with contextlib.suppress(TimeoutError):
                        await asyncio.wait_for(self._poked.wait(), self.settings.poll_s)
                self._poked.clear()
        finally:
            self.room.end()

    def end(self) -> None:
        """Keep it fresh no longer, and let those go who wait for news; from any thread.

        Called before the server closes: open pages would hold it up.
        """
        self.ended = True  # a cancelled wait alone may get lost (Python 3.11)
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._poked.set)
            self._loop.call_soon_threadsafe(self._announce)

    async def _round(self) -> None:
        marks = self._marks
        try:
            if self.worked is None:
                self.worked = await self.room.run(self.first_look, self.folder, self.clock())
                self.problem, self.behind = "", True
                self.version += 1
                self._announce()
            self.worked = await self.room.run(self.work_out, self.folder, self.clock())
            self.problem = ""
        except CurewindowError as bad:
            self._failed(bad.for_page(self.folder))
        except Exception:  # whatever it is, the page says so and goes on trying
            log.exception("the day sheet could not be worked out")
            self._failed("the day sheet could not be worked out; the service's log says why")
        self.rounds += 1
        self._tried_at = self.clock()
        self.behind = self._marks != marks
        self._asked.clear()
        self.version += 1
        self._announce()

    def _failed(self, text: str) -> None:
        self.failures += 1
        if text != self.problem:
            log.warning("the page is not up to date: %s", text)
        self.problem = text

    def _due(self) -> bool:
        if self.behind or self._tried_at is None:
            return True
        looked = time.monotonic() - self._looked_at < LOOKED_S or self.looking > 0
        every = self.settings.refresh_s if looked else self.settings.idle_refresh_s
        # a clock set back is a reason as well
        return abs((self.clock() - self._tried_at).total_seconds()) >= every

    def _read_files(self) -> tuple[Stamp, Stamp]:
        """What the boat's files are like: all that counts, and the record's own file."""
        files = [self.folder / name for name in (BOAT_FILE, WORK_FILE, LEARNED_FILE)]
        files += sorted((self.folder / SHEETS_FOLDER).glob("*.toml"))
        record = _stamp([self.folder / RECORD_FILE, self.folder / f"{RECORD_FILE}-wal"])
        entry = self._entry
        if record != self._record_seen:
            try:
                # notices stand in the same file and change nothing here
                entry = ("entries", last_entry(self.folder), 0)
            except CurewindowError:
                entry = ("entries", -1, 0)
        return (*_stamp(files), entry), record

    def _saw(self, seen: Stamp, record: Stamp) -> None:
        self._entry = seen[-1]
        if seen != self._seen:
            self._seen = seen
            if self._tried_at is not None:
                self._mark_behind()
        if record != self._record_seen:
            self._record_seen = record
            self.notices += 1
            self._announce()

    def _mark_behind(self) -> None:
        self._marks += 1
        if not self.behind:
            self.version += 1  # what is shown says so; nobody is woken for it
        self.behind = True
        self._poked.set()

    def _announce(self) -> None:
        news, self._news = self._news, asyncio.Event()
        news.set()


def _stamp(files: list[Path]) -> Stamp:
    found = []
    for file in files:
        try:
            told = file.stat()
        except OSError:
            continue
        found.append((file.name, told.st_mtime_ns, told.st_size))
    return tuple(found)
