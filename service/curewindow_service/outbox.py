"""The outbox: what is to be told and how far it has come, kept in the boat's record.

A notice waits until it is due, is then given to each way out it is for (a *sending*), and each
sending goes its own way::

    waiting → sending → handing over → sent
       ↑         │            │
       └─────────┴────────────┴──→ failed, expired

Every arrow is one transaction that is on the disk before anything follows from it. 'sending' is
written before the connection is made and 'handing over' before the one thing that gives the
message away (for mail the final dot). So after a crash a sending that stands at 'sending' was
certainly not given away and goes out again; one at 'handing over' may have arrived. Nobody can
ask the other side, so it goes out again under the same Message-ID: never lost, and a mailbox
that drops second copies by their id shows it once (RFC 1047 tells why no sender can do better).
"""

from __future__ import annotations

import json
import sqlite3
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from curewindow.errors import NotFoundError
from curewindow.readback import loaded
from curewindow.record.opening import open_to_write
from curewindow.record.trouble import plain_words
from curewindow.reminders import LEVELS, Level, Reminder
from curewindow.transaction import transaction
from curewindow_service.clock import Clock, system_clock
from curewindow_service.notices import (
    Notice,
    Sending,
    checked_row,
    moment,
    notice,
    seconds,
    sending,
)
from curewindow_service.outboxrows import bring, drop, drop_stale, settle, state_now, stop_sending

WAIT_S = 5.0
# No sending is put off for longer; a clock that was set back must not strand one.
LONGEST_PAUSE = timedelta(hours=1)

_WITH_OUT = (
    "SELECT n.*, EXISTS (SELECT 1 FROM sendings AS s WHERE s.notice = n.id) AS out "
    "FROM notices AS n"
)


class Outbox:
    """The outbox of one boat, open for as long as the ``with`` lasts.

    One connection each: give every thread an ``Outbox`` of its own.

    Parameters
    ----------
    path : path or str
        The boat's ``record.db``; made if it is not there.
    clock : callable, optional
        What time it is, aware UTC.
    wait_s : float
        How long to wait for another writer.

    Raises
    ------
    RecordError
        It cannot be opened or written, is damaged, not ours or newer than this program.
    """

    def __init__(self, path: Path | str, *, clock: Clock = system_clock, wait_s: float = WAIT_S):
        self.path = Path(path)
        self.clock = clock
        with plain_words(self.path):
            self._connection = open_to_write(self.path, wait_s)
        self._connection.row_factory = checked_row

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        with plain_words(self.path):
            self._connection.close()

    # ---- what ought to be told ---------------------------------------------------

    def sync(self, reminders: Iterable[Reminder]) -> None:
        """Bring the waiting notices to what has just been worked out, all of it or nothing.

        New ones are added, waiting ones brought up to date, those that are no longer worked
        out are withdrawn. What was told stays as it was told.

        Parameters
        ----------
        reminders : iterable of Reminder
            All that ought to be told from now on.
        """
        now = self.clock()
        wanted = {reminder.key: reminder for reminder in reminders}
        with self._writing() as write:
            known = {row["key"]: row for row in write.execute(_WITH_OUT)}
            for key, reminder in wanted.items():
                bring(write, reminder, known.get(key), now)
            for key, row in known.items():
                if row["state"] == "waiting" and key not in wanted:
                    drop(write, row, known, now)
            drop_stale(write, known, wanted, now)

    def add(self, reminder: Reminder) -> None:
        """Add one, or bring it up to date, and leave all others as they are."""
        with self._writing() as write:
            row = write.execute(f"{_WITH_OUT} WHERE key = ?", (reminder.key,)).fetchone()
            bring(write, reminder, row, self.clock())

    # ---- telling -----------------------------------------------------------------

    def give_out(self, channels: Sequence[tuple[str, Level]]) -> list[Notice]:
        """Give what is due to the ways out it is for; drop what has expired.

        Parameters
        ----------
        channels : sequence of (str, Level)
            Names, and the level from which each wants notices.

        Returns
        -------
        list of Notice
            Those given out just now.
        """
        now = self.clock()
        stamp = seconds(now)
        with plain_words(self.path):
            quiet = self._connection.execute(
                "SELECT 1 FROM notices WHERE state = 'waiting' AND min(due, expires) <= ? LIMIT 1",
                (stamp,),
            ).fetchone()
        if quiet is None:
            return []
        given: list[int] = []
        with self._writing() as write:
            write.execute(
                "UPDATE notices SET state = 'expired', settled_at = ? "
                "WHERE state = 'waiting' AND expires <= ?",
                (stamp, stamp),
            )
            due = write.execute(
                "SELECT * FROM notices WHERE state = 'waiting' AND due <= ? ORDER BY due, id",
                (stamp,),
            ).fetchall()
            for row in due:
                state = state_now(write, row, stamp)
                settle(write, row["id"], state, now)
                if state != "told":
                    continue
                given.append(row["id"])
                last = write.execute(
                    "SELECT max(round) FROM sendings WHERE notice = ?", (row["id"],)
                ).fetchone()[0]
                write.executemany(
                    "INSERT INTO sendings (notice, round, channel, state, next_try, message_id) "
                    "VALUES (?, ?, ?, 'waiting', ?, ?)",
                    [
                        (row["id"], (last or 0) + 1, name, stamp, uuid.uuid4().hex)
                        for name, least in channels
                        if LEVELS.index(row["level"]) >= LEVELS.index(least)
                    ],
                )
        return self._chosen(given)

    def to_send(self) -> list[tuple[Notice, Sending]]:
        """What is to be sent now, most urgent first; sendings past their use are dropped."""
        stamp = seconds(self.clock())
        with plain_words(self.path):
            waiting = self._connection.execute(
                "SELECT s.*, n.expires, n.level, n.due FROM sendings AS s "
                "JOIN notices AS n ON n.id = s.notice WHERE s.state = 'waiting'"
            ).fetchall()
        far = stamp + int(LONGEST_PAUSE.total_seconds())
        over = [row for row in waiting if row["expires"] <= stamp]
        for row in over:
            self._move(row["id"], ("waiting",), "expired", row["result"] or "too late to be of use")
        # a next try further away than any pause was set by a clock that was wrong
        ready = [
            row
            for row in waiting
            if row["expires"] > stamp and (row["next_try"] <= stamp or row["next_try"] > far)
        ]
        ready.sort(key=lambda row: (-LEVELS.index(row["level"]), row["due"], row["id"]))
        by_id = {found.id: found for found in self._chosen({row["notice"] for row in ready})}
        return [(by_id[row["notice"]], sending(row)) for row in ready]

    def begin(self, id: int) -> bool:
        """Mark a sending as begun; False where it is no longer waiting."""
        with self._writing() as write:
            done = write.execute(
                "UPDATE sendings SET state = 'sending', attempts = attempts + 1 "
                "WHERE id = ? AND state = 'waiting'",
                (id,),
            )
            return done.rowcount == 1

    def hand_over(self, id: int) -> None:
        """Mark that the other side is about to have it. On the disk when this returns."""
        self._move(id, ("sending",), "handing over", None)

    def sent(self, id: int, said: str = "") -> None:
        """Mark a sending as sent."""
        self._move(id, ("sending", "handing over"), "sent", said)

    def failed(self, id: int, said: str) -> None:
        """Mark a sending as refused for good."""
        self._move(id, ("sending", "handing over"), "failed", said)

    def later(self, id: int, said: str, pause: timedelta, *, doubt: bool = False) -> None:
        """Mark a sending to be tried again after a pause.

        ``doubt``: the other side may have it already.
        """
        again = seconds(self.clock() + min(pause, LONGEST_PAUSE))
        with self._writing() as write:
            write.execute(
                "UPDATE sendings SET state = 'waiting', next_try = ?, result = ?, "
                "doubt = max(doubt, ?) WHERE id = ? AND state IN ('sending', 'handing over')",
                (again, said, int(doubt), id),
            )

    def recover(self) -> int:
        """Resolve what a stop cut off; only for whoever holds the service's lock.

        Returns
        -------
        int
            How many sendings may have arrived and will go out again.
        """
        stamp = seconds(self.clock())
        with plain_words(self.path):
            cut = self._connection.execute(
                "SELECT 1 FROM sendings WHERE state IN ('sending', 'handing over') LIMIT 1"
            ).fetchone()
        if cut is None:
            return 0
        with self._writing() as write:
            write.execute(
                "UPDATE sendings SET state = 'waiting', next_try = ?, "
                "result = 'cut off before it was given away' WHERE state = 'sending'",
                (stamp,),
            )
            doubtful = write.execute(
                "UPDATE sendings SET state = 'waiting', next_try = ?, doubt = 1, "
                "result = 'cut off while handing over' WHERE state = 'handing over'",
                (stamp,),
            )
            return doubtful.rowcount

    def _move(self, id: int, given: tuple[str, ...], state: str, said: str | None) -> None:
        final = state in ("sent", "failed", "expired")
        with self._writing() as write:
            write.execute(
                "UPDATE sendings SET state = ?, result = coalesce(?, result), settled_at = ? "
                f"WHERE id = ? AND state IN ({', '.join('?' * len(given))})",
                (state, said, seconds(self.clock()) if final else None, id, *given),
            )

    # ---- the owner's word ----------------------------------------------------------

    def acknowledge(self, id: int) -> None:
        """Take note of a notice: it goes out no more.

        Raises
        ------
        NotFoundError
            There is no such notice.
        """
        now = self.clock()
        with self._writing() as write:
            row = self._row(write, id)
            write.execute("UPDATE notices SET acknowledged_at = ? WHERE id = ?", (seconds(now), id))
            if row["state"] == "waiting":
                settle(write, id, "withdrawn", now)
            stop_sending(write, id, "acknowledged", now)

    def snooze(self, id: int, until: datetime) -> None:
        """Tell a notice again at a later time; it then holds for at least an hour.

        Raises
        ------
        NotFoundError
            There is no such notice.
        ValueError
            ``until`` is not aware or not ahead.
        """
        now = self.clock()
        if until.tzinfo is None or until <= now:
            raise ValueError(f"snooze until a time ahead, not {until.isoformat()}")
        with self._writing() as write:
            row = self._row(write, id)
            expires = max(row["expires"], seconds(until + timedelta(hours=1)))
            write.execute(
                "UPDATE notices SET state = 'waiting', settled_at = NULL, due = ?, expires = ?, "
                "snoozed_until = ?, acknowledged_at = NULL WHERE id = ?",
                (seconds(until), expires, seconds(until), id),
            )
            stop_sending(write, id, "snoozed", now)

    def _row(self, write: sqlite3.Connection, id: int) -> sqlite3.Row:
        row: sqlite3.Row | None = write.execute(
            "SELECT * FROM notices WHERE id = ?", (id,)
        ).fetchone()
        if row is None:
            raise NotFoundError(f"there is no notice {id}")
        return row

    # ---- reading -------------------------------------------------------------------

    def notices(self, *, since: datetime | None = None) -> list[Notice]:
        """All notices by the time they are due, or those due since a time or still waiting."""
        stamp = 0 if since is None else seconds(since)
        return self._read("due >= ? OR state = 'waiting'", (stamp,))

    def find(self, key: str) -> Notice | None:
        """The notice of a key, or None."""
        with plain_words(self.path):
            row = self._connection.execute(
                "SELECT id FROM notices WHERE key = ?", (key,)
            ).fetchone()
        return None if row is None else self._chosen([row["id"]])[0]

    def counts(self) -> dict[str, int]:
        """How many sendings there are by state, all rounds."""
        with plain_words(self.path):
            rows = self._connection.execute(
                "SELECT state, count(*) AS n FROM sendings GROUP BY state"
            ).fetchall()
        return {row["state"]: row["n"] for row in rows}

    def waiting_channels(self) -> set[str]:
        """Channels on which a sending waits, whether its time has come or not."""
        with plain_words(self.path):
            rows = self._connection.execute(
                "SELECT DISTINCT channel FROM sendings WHERE state = 'waiting'"
            ).fetchall()
        return {row["channel"] for row in rows}

    def _chosen(self, ids: Iterable[int]) -> list[Notice]:
        wanted = list(ids)
        return self._read(f"id IN ({', '.join('?' * len(wanted))})", wanted) if wanted else []

    def _read(self, which: str, given: Sequence[int]) -> list[Notice]:
        with plain_words(self.path):
            rows = self._connection.execute(
                f"SELECT * FROM notices WHERE {which} ORDER BY due, id", given
            ).fetchall()
            out: dict[int, list[Sending]] = {}
            for row in self._connection.execute(
                f"SELECT s.* FROM sendings AS s JOIN (SELECT * FROM notices WHERE {which}) AS n "
                "ON n.id = s.notice WHERE s.round = "
                "(SELECT max(round) FROM sendings WHERE notice = n.id) ORDER BY s.id",
                given,
            ):
                out.setdefault(row["notice"], []).append(sending(row))
            return [notice(row, tuple(out.get(row["id"], ()))) for row in rows]

    def recall(self, name: str) -> tuple[datetime, dict[str, Any]] | None:
        """What was last told under a name (see :meth:`remember`), and when."""
        with plain_words(self.path):
            row = self._connection.execute(
                "SELECT at, content FROM told WHERE name = ?", (name,)
            ).fetchone()
            if row is None:
                return None
            try:
                at, content = moment(row["at"]), loaded(row["content"])
            except (TypeError, ValueError, sqlite3.DatabaseError):
                return None  # damaged: as if it had not been told, and soon written anew
        return (at, content) if isinstance(content, dict) else None

    def remember(self, name: str, content: Mapping[str, Any]) -> None:
        """Keep what was told under a name."""
        with self._writing() as write:
            write.execute(
                "INSERT INTO told (name, at, content) VALUES (?, ?, ?) ON CONFLICT (name) "
                "DO UPDATE SET at = excluded.at, content = excluded.content",
                (name, seconds(self.clock()), json.dumps(content)),
            )

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction: what is written inside is kept whole, or not at all."""
        with plain_words(self.path), transaction(self._connection) as write:
            yield write
