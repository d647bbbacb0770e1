"""What becomes of a notice's row: brought up to date, withdrawn, told, or known already."""

from __future__ import annotations

import sqlite3
from collections.abc import Container, Mapping
from datetime import datetime, timedelta

from curewindow.reminders import Reminder
from curewindow_service.notices import digest, seconds

# The same words within this time are no news.
_KNOWN_FOR = timedelta(hours=20)
# A spell of frost is told of once, not night by night.
_SPELL = timedelta(days=5)
# Kinds that are worked out for as long as they hold.
_TRUE_WHILE_SEEN = ("recoat opens", "recoat closes", "limits", "reading overdue")


def bring(
    write: sqlite3.Connection, reminder: Reminder, row: sqlite3.Row | None, now: datetime
) -> None:
    """Add a notice, or bring one that has not gone out up to date.

    Parameters
    ----------
    write : sqlite3.Connection
        In a transaction.
    reminder : Reminder
        What ought to be told.
    row : sqlite3.Row or None
        What is there under its key, with ``out``: has it ever gone to a way out?
    now : datetime
        Aware.
    """
    values = {
        "kind": reminder.kind,
        "about": reminder.about,
        "level": reminder.level,
        "due": seconds(reminder.due),
        "expires": seconds(reminder.expires),
        "title": reminder.title,
        "body": reminder.body,
        "only_after": reminder.only_after,
        "digest": digest(reminder),
    }
    over = reminder.expires <= now
    if row is None:
        state, settled = ("expired", seconds(now)) if over else ("waiting", None)
        names = ["key", *values, "state", "made_at", "settled_at"]
        write.execute(
            f"INSERT INTO notices ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})",
            (reminder.key, *values.values(), state, seconds(now), settled),
        )
        return
    if row["snoozed_until"] is not None:
        # told again when asked for, whatever was worked out since
        del values["due"]
        values["expires"] = max(seconds(reminder.expires), row["expires"])
    # dropped while the clock was wrong, or for a while not to be told: never went out
    again = row["state"] in ("expired", "withdrawn") and not row["out"] and not over
    if row["acknowledged_at"] is not None or not (row["state"] == "waiting" or again):
        return
    if row["state"] == "waiting" and all(row[name] == value for name, value in values.items()):
        return
    write.execute(
        f"UPDATE notices SET {', '.join(f'{name} = ?' for name in values)}, "
        "state = 'waiting', settled_at = NULL WHERE id = ?",
        (*values.values(), row["id"]),
    )


def drop(
    write: sqlite3.Connection,
    row: sqlite3.Row,
    known: Mapping[str, sqlite3.Row],
    now: datetime,
) -> None:
    """Withdraw a waiting notice that is no longer worked out."""
    if row["snoozed_until"] is not None:
        return  # it was asked for
    before = row["only_after"]
    if before is not None and any(
        key.startswith(before) and other["state"] in ("told", "known already")
        for key, other in known.items()
    ):
        return  # the heater that was lit is to be turned down, whatever is planned now
    if row["expires"] <= seconds(now):
        return  # 'expired' says more
    settle(write, row["id"], "withdrawn", now)


def drop_stale(
    write: sqlite3.Connection,
    known: Mapping[str, sqlite3.Row],
    wanted: Container[str],
    now: datetime,
) -> None:
    """What could not be sent in time and is no longer so goes out no more.

    A 'last call' for a coat that was put on meanwhile would be wrong. Other kinds are news of
    something that was, and come late.
    """
    held_up = {
        row["notice"]
        for row in write.execute("SELECT DISTINCT notice FROM sendings WHERE state = 'waiting'")
    }
    for key, row in known.items():
        if row["id"] in held_up and row["kind"] in _TRUE_WHILE_SEEN and key not in wanted:
            stop_sending(write, row["id"], "no longer so", now)


def settle(write: sqlite3.Connection, id: int, state: str, now: datetime) -> None:
    """Take a notice out of waiting."""
    write.execute(
        "UPDATE notices SET state = ?, settled_at = ? WHERE id = ?", (state, seconds(now), id)
    )


def state_now(write: sqlite3.Connection, row: sqlite3.Row, stamp: int) -> str:
    """What becomes of a notice that is due."""
    if row["only_after"] is not None:
        before = write.execute(
            "SELECT 1 FROM notices WHERE substr(key, 1, length(:before)) = :before "
            "AND state IN ('told', 'known already')",
            {"before": row["only_after"]},
        ).fetchone()
        if before is None:
            return "withdrawn"
    spell = write.execute(
        "SELECT 1 FROM notices WHERE kind = ? AND about = ? AND level = ? AND id <> ? "
        "AND state = 'told' AND settled_at BETWEEN ? AND ?",
        (
            row["kind"],
            row["about"],
            row["level"],
            row["id"],
            stamp - int(_SPELL.total_seconds()),
            stamp,
        ),
    ).fetchone()
    if spell is not None and row["kind"] == "frost" and row["snoozed_until"] is None:
        return "known already"
    same = write.execute(
        "SELECT 1 FROM notices WHERE digest = ? AND id <> ? AND state = 'told' "
        "AND settled_at BETWEEN ? AND ?",
        (row["digest"], row["id"], stamp - int(_KNOWN_FOR.total_seconds()), stamp),
    ).fetchone()
    return "told" if same is None or row["snoozed_until"] is not None else "known already"


def stop_sending(write: sqlite3.Connection, id: int, why: str, now: datetime) -> None:
    """A notice's sendings that have not begun go out no more."""
    write.execute(
        "UPDATE sendings SET state = 'expired', result = ?, settled_at = ? "
        "WHERE notice = ? AND state = 'waiting'",
        (f"{why} before it went out", seconds(now), id),
    )
