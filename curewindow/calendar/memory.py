"""What calendars were given before: so that an event moves instead of doubling.

Kept in the record, since nothing else tells a second run that Thursday's window is now on
Friday. Rows are never deleted: a UID that was ever given keeps counting up.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from pydantic import BaseModel

from curewindow.calendar.happening import Happening, significant, uid_of
from curewindow.readback import loaded, of_form
from curewindow.record.opening import open_to_read, open_to_write
from curewindow.record.trouble import damaged, plain_words
from curewindow.transaction import transaction

SHOWN_FOR: Final = timedelta(days=14)
"""So long after it is over, or was called off, an event stays in the feed."""
_NEAR: Final = timedelta(hours=36)
_GRID: Final = timedelta(minutes=15)
_WAIT_S = 5.0


@dataclass(frozen=True, slots=True)
class Published:
    """An event as calendars have it.

    Attributes
    ----------
    uid : str
    sequence : int
        Raised whenever it moves, is renamed or called off.
    modified : datetime
        When anything of it last changed.
    cancelled_at : datetime or None
    happening : Happening
    """

    uid: str
    sequence: int
    modified: datetime
    cancelled_at: datetime | None
    happening: Happening


def brought_up_to_date(
    boat: str, found: Iterable[Happening], known: Sequence[Published], now: datetime
) -> list[Published]:
    """What calendars are to have now.

    Parameters
    ----------
    boat : str
        Its name.
    found : iterable of Happening
        What is worked out now.
    known : sequence of Published
        What they were given before.
    now : datetime
        Aware UTC.

    Returns
    -------
    list of Published
        All there ever were, changed ones with a higher sequence. What was still to come and
        is not found any more is cancelled; what is over stays as it was, and nothing is
        added that is over already.
    """
    stamp = now.astimezone(UTC).replace(microsecond=0)
    by_uid = {each.uid: each for each in known}
    result = dict(by_uid)
    named: set[str] = set()
    for happening in _numbered(list(found), known, stamp):
        uid = uid_of(boat, happening)
        before = by_uid.get(uid)
        named.add(uid)
        over = happening.ends <= stamp and (before is None or before.happening.ends <= stamp)
        if not over:
            result[uid] = _now(uid, happening, before, stamp)
    for each in known:
        if each.uid in named or each.cancelled_at is not None or each.happening.ends <= stamp:
            continue
        result[each.uid] = replace(
            each, sequence=each.sequence + 1, modified=stamp, cancelled_at=stamp
        )
    return sorted(result.values(), key=lambda each: (each.happening.begins, each.uid))


def shown(published: Iterable[Published], now: datetime) -> list[Published]:
    """Those that belong into the feed: not over for long, not called off for long."""
    since = now - SHOWN_FOR
    return [
        each
        for each in published
        if (each.happening.ends if each.cancelled_at is None else each.cancelled_at) >= since
    ]


def _now(uid: str, happening: Happening, before: Published | None, stamp: datetime) -> Published:
    if before is None:
        return Published(uid, 0, stamp, None, happening)
    moved = before.cancelled_at is not None or (
        significant(happening) != significant(before.happening)
    )
    if moved:
        return Published(uid, before.sequence + 1, stamp, None, happening)
    if happening != before.happening:
        return Published(uid, before.sequence, stamp, None, happening)
    return before


def _numbered(found: list[Happening], known: Sequence[Published], now: datetime) -> list[Happening]:
    """Give each of several alike the serial of the one that it was before."""
    result = []
    groups: dict[tuple[object, ...], list[Happening]] = {}
    for happening in found:
        groups.setdefault(happening.alike(), []).append(happening)
    for alike, group in groups.items():
        before = [each for each in known if each.happening.alike() == alike]
        if len(group) == 1 and group[0].kind != "window":
            result.append(group[0])
            continue
        result += _matched(sorted(group, key=lambda each: each.begins), before, now)
    return result


def _matched(group: list[Happening], before: list[Published], now: datetime) -> list[Happening]:
    # one that is over is not the same as one to come; one called off may come back
    free = [each for each in before if each.happening.ends > now]
    free.sort(key=lambda each: (each.cancelled_at is not None, each.happening.begins))
    twins: dict[int, Published] = {}
    for wanted in (_overlap, _nearness):
        for index, happening in enumerate(group):
            if index in twins:
                continue
            close = [(wanted(happening, each.happening), each) for each in free]
            best = max(
                (pair for pair in close if pair[0] > timedelta(0)),
                key=lambda pair: (pair[1].cancelled_at is None, pair[0]),
                default=None,
            )
            if best is not None:
                twins[index] = best[1]
                free.remove(best[1])
    last = max((each.happening.serial for each in before), default=0)
    result = []
    for index, happening in enumerate(group):
        twin = twins.get(index)
        if twin is None:
            last += 1
            result.append(happening.model_copy(update={"serial": last}))
        else:
            result.append(_begun_as_before(happening, twin, now))
    return result


def _begun_as_before(happening: Happening, twin: Published, now: datetime) -> Happening:
    """One that is open now began when it began, not now."""
    was = twin.happening
    update: dict[str, object] = {"serial": was.serial}
    running = was.begins <= now and happening.begins <= now + _GRID
    if running and twin.cancelled_at is None and was.begins <= happening.begins:
        update["begins"] = was.begins
    return happening.model_copy(update=update)


def _overlap(one: Happening, other: Happening) -> timedelta:
    return min(one.ends, other.ends) - max(one.begins, other.begins)


def _nearness(one: Happening, other: Happening) -> timedelta:
    return _NEAR - abs(one.begins - other.begins)


# ---- in the record -------------------------------------------------------------------


def known_in(path: Path) -> list[Published]:
    """What calendars were given, as the record has it; a missing record has nothing.

    Raises
    ------
    RecordError
        It cannot be read.
    """
    with plain_words(path), closing(open_to_read(path, _WAIT_S)) as connection:
        return _read(connection)


def remember(path: Path, boat: str, found: Iterable[Happening], now: datetime) -> list[Published]:
    """Bring the record up to date, whole or not at all; see :func:`brought_up_to_date`.

    Raises
    ------
    RecordError
        It cannot be written.
    """
    with (
        plain_words(path),
        closing(open_to_write(path, _WAIT_S)) as connection,
        transaction(connection),
    ):
        before = _read(connection)
        after = brought_up_to_date(boat, found, before, now)
        was = {each.uid: each for each in before}
        connection.executemany(
            "INSERT INTO published (uid, sequence, modified, cancelled_at, content) "
            "VALUES (?, ?, ?, ?, ?) ON CONFLICT (uid) DO UPDATE SET sequence = excluded.sequence, "
            "modified = excluded.modified, cancelled_at = excluded.cancelled_at, "
            "content = excluded.content",
            [_row(each) for each in after if was.get(each.uid) != each],
        )
    return after


def _row(each: Published) -> tuple[str, int, int, int | None, str]:
    called_off = None if each.cancelled_at is None else int(each.cancelled_at.timestamp())
    content = each.happening.model_dump_json()
    return (each.uid, each.sequence, int(each.modified.timestamp()), called_off, content)


class _PublishedRow(BaseModel):
    uid: str
    sequence: int
    modified: datetime
    cancelled_at: datetime | None
    content: Happening


def _read(connection: sqlite3.Connection) -> list[Published]:
    found = []
    for row in connection.execute("SELECT * FROM published ORDER BY uid"):
        cells = dict(row)
        try:
            cells["content"] = loaded(cells["content"])
            found.append(of_form(cells, _PublishedRow))
        except (TypeError, ValueError):
            raise damaged("published") from None
    return [
        Published(each.uid, each.sequence, each.modified, each.cancelled_at, each.content)
        for each in found
    ]
