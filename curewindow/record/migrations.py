"""The tables of the record, as a numbered list of steps from an empty file to now.

``PRAGMA user_version`` of the file counts the steps it has had. A step that has
once been released is never edited; a change is a new step at the end.
"""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Sequence
from pathlib import Path

from curewindow.errors import RecordError
from curewindow.files import replacing
from curewindow.transaction import copy_database, transaction

logger = logging.getLogger(__name__)

APPLICATION_ID = 0x43575243  # 'CWRC': tells our file from another program's database


def _append_only(table: str) -> tuple[str, str]:
    """Triggers that keep a table's rows as they were written."""
    refuse = "BEGIN SELECT RAISE(ABORT, 'the record is append-only'); END"
    return (
        f"CREATE TRIGGER {table}_stay_written BEFORE UPDATE ON {table} {refuse}",
        f"CREATE TRIGGER {table}_stay_kept BEFORE DELETE ON {table} {refuse}",
    )


def _valid_view(table: str) -> str:
    """The rows that count: neither taken back nor corrected by one that was not taken back."""
    return (
        f"CREATE VIEW standing_{table} AS SELECT * FROM {table} AS r "
        "WHERE r.entry NOT IN (SELECT entry FROM withdrawn) "
        f"AND NOT EXISTS (SELECT 1 FROM {table} AS newer WHERE newer.supersedes = r.id "
        "AND newer.entry NOT IN (SELECT entry FROM withdrawn))"
    )


def _unless_doubted(column: str, *values: str) -> str:
    """A column of a reading, empty where one of these values of it is doubted."""
    named = ", ".join(f"'{value}'" for value in values)
    return (
        "CASE WHEN EXISTS (SELECT 1 FROM open_doubts WHERE reading = r.id "
        f"AND value IN ({named})) THEN NULL ELSE {column} END AS {column}"
    )


# Times are whole seconds since 1970 UTC.
_STEP_1: tuple[str, ...] = (
    """CREATE TABLE entries (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        written INTEGER NOT NULL,
        kind TEXT NOT NULL CHECK (kind IN ('readings', 'coat', 'done', 'undo')),
        size INTEGER NOT NULL,
        what TEXT NOT NULL DEFAULT '',
        by_person INTEGER NOT NULL DEFAULT 1 CHECK (by_person IN (0, 1)),
        withdraws INTEGER UNIQUE REFERENCES entries (id),
        CHECK ((kind = 'undo') = (withdraws IS NOT NULL))
    )""",
    """CREATE TABLE readings (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        entry INTEGER NOT NULL REFERENCES entries (id),
        supersedes INTEGER REFERENCES readings (id),
        space TEXT NOT NULL,
        at INTEGER NOT NULL,
        air_c REAL,
        rh_pct REAL CHECK (rh_pct BETWEEN 0 AND 100),
        surface_c REAL,
        panel TEXT,
        wood_moisture_pct REAL,
        source TEXT NOT NULL,
        note TEXT NOT NULL DEFAULT ''
    )""",
    """CREATE TABLE coats (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        entry INTEGER NOT NULL REFERENCES entries (id),
        supersedes INTEGER REFERENCES coats (id),
        job TEXT NOT NULL,
        step INTEGER NOT NULL CHECK (step >= 1),
        coat INTEGER NOT NULL CHECK (coat >= 1),
        start_at INTEGER NOT NULL,
        end_at INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        batch TEXT NOT NULL DEFAULT '',
        area_m2 REAL,
        note TEXT NOT NULL DEFAULT '',
        CHECK (start_at < end_at)
    )""",
    """CREATE TABLE done (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        entry INTEGER NOT NULL REFERENCES entries (id),
        supersedes INTEGER REFERENCES done (id),
        job TEXT NOT NULL,
        step INTEGER NOT NULL CHECK (step >= 1),
        at INTEGER NOT NULL,
        note TEXT NOT NULL DEFAULT ''
    )""",
    "CREATE INDEX readings_by_time ON readings (space, at)",
    "CREATE INDEX coats_by_job ON coats (job, step, coat)",
    "CREATE INDEX done_by_job ON done (job, step)",
    *(
        f"CREATE INDEX {table}_by_entry ON {table} (entry)"
        for table in ("readings", "coats", "done")
    ),
    # one correction a row: a second one corrects the first
    *(
        f"CREATE INDEX {table}_corrected ON {table} (supersedes) WHERE supersedes IS NOT NULL"
        for table in ("readings", "coats", "done")
    ),
    "CREATE VIEW withdrawn AS SELECT withdraws AS entry, id AS by_entry FROM entries "
    "WHERE withdraws IS NOT NULL",
    *(_valid_view(table) for table in ("readings", "coats", "done")),
    *(
        statement
        for table in ("entries", "readings", "coats", "done")
        for statement in _append_only(table)
    ),
)

# What the background service has told or is to tell. These rows do change: they say how
# far a notice has come, and nothing else rests on them.
_STEP_2: tuple[str, ...] = (
    """CREATE TABLE notices (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        key TEXT NOT NULL UNIQUE,
        kind TEXT NOT NULL,
        about TEXT NOT NULL DEFAULT '',
        level TEXT NOT NULL,
        due INTEGER NOT NULL,
        expires INTEGER NOT NULL,
        title TEXT NOT NULL,
        body TEXT NOT NULL DEFAULT '',
        only_after TEXT,
        digest TEXT NOT NULL,
        state TEXT NOT NULL CHECK (
            state IN ('waiting', 'told', 'expired', 'withdrawn', 'known already')
        ),
        made_at INTEGER NOT NULL,
        settled_at INTEGER,
        snoozed_until INTEGER,
        acknowledged_at INTEGER
    )""",
    """CREATE TABLE sendings (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        notice INTEGER NOT NULL REFERENCES notices (id),
        round INTEGER NOT NULL DEFAULT 1,
        channel TEXT NOT NULL,
        state TEXT NOT NULL CHECK (
            state IN ('waiting', 'sending', 'handing over', 'sent', 'failed', 'expired')
        ),
        attempts INTEGER NOT NULL DEFAULT 0,
        doubt INTEGER NOT NULL DEFAULT 0 CHECK (doubt IN (0, 1)),
        next_try INTEGER NOT NULL,
        message_id TEXT NOT NULL,
        settled_at INTEGER,
        result TEXT NOT NULL DEFAULT '',
        UNIQUE (notice, round, channel)
    )""",
    "CREATE INDEX notices_by_state ON notices (state, due)",
    "CREATE INDEX notices_by_digest ON notices (digest)",
    "CREATE INDEX sendings_by_state ON sendings (state, next_try)",
    # what was last told of the plan, to tell what has changed since
    """CREATE TABLE told (
        name TEXT PRIMARY KEY,
        at INTEGER NOT NULL,
        content TEXT NOT NULL
    )""",
)

# Readings that a sensor sent and nobody may rely on: kept to look at, apart from the readings,
# so that nothing is worked out from them. And what a calendar was last given, so that an event
# that moves is told as the same one (RFC 5545: same UID, higher SEQUENCE).
_STEP_3: tuple[str, ...] = (
    """CREATE TABLE doubted (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        written INTEGER NOT NULL,
        space TEXT NOT NULL,
        at INTEGER NOT NULL,
        air_c REAL,
        rh_pct REAL,
        surface_c REAL,
        panel TEXT,
        source TEXT NOT NULL,
        why TEXT NOT NULL,
        expected REAL
    )""",
    "CREATE INDEX doubted_by_time ON doubted (space, at)",
    *_append_only("doubted"),
    """CREATE TABLE published (
        uid TEXT PRIMARY KEY,
        sequence INTEGER NOT NULL,
        modified INTEGER NOT NULL,
        cancelled_at INTEGER,
        content TEXT NOT NULL
    )""",
)

# A heater lit or put out outside its routine. 'entries' is made anew, for its kinds are fixed;
# what looks at it is made anew with it.
_STEP_4: tuple[str, ...] = (
    *(f"DROP VIEW standing_{table}" for table in ("readings", "coats", "done")),
    "DROP VIEW withdrawn",
    """CREATE TABLE entries_made_anew (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        written INTEGER NOT NULL,
        kind TEXT NOT NULL CHECK (kind IN ('readings', 'coat', 'done', 'heat', 'undo')),
        size INTEGER NOT NULL,
        what TEXT NOT NULL DEFAULT '',
        by_person INTEGER NOT NULL DEFAULT 1 CHECK (by_person IN (0, 1)),
        withdraws INTEGER UNIQUE REFERENCES entries_made_anew (id),
        CHECK ((kind = 'undo') = (withdraws IS NOT NULL))
    )""",
    "INSERT INTO entries_made_anew (id, written, kind, size, what, by_person, withdraws) "
    "SELECT id, written, kind, size, what, by_person, withdraws FROM entries ORDER BY id",
    "DROP TABLE entries",
    "ALTER TABLE entries_made_anew RENAME TO entries",
    """CREATE TABLE heat (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        entry INTEGER NOT NULL REFERENCES entries (id),
        supersedes INTEGER REFERENCES heat (id),
        space TEXT NOT NULL,
        at INTEGER NOT NULL,
        until INTEGER NOT NULL,
        setpoint_c REAL,
        ventilation TEXT NOT NULL CHECK (ventilation IN ('closed', 'normal', 'open')),
        note TEXT NOT NULL DEFAULT '',
        CHECK (at <= until)
    )""",
    "CREATE INDEX heat_by_time ON heat (space, at)",
    "CREATE INDEX heat_by_entry ON heat (entry)",
    "CREATE INDEX heat_corrected ON heat (supersedes) WHERE supersedes IS NOT NULL",
    "CREATE VIEW withdrawn AS SELECT withdraws AS entry, id AS by_entry FROM entries "
    "WHERE withdraws IS NOT NULL",
    *(_valid_view(table) for table in ("readings", "coats", "done", "heat")),
    *_append_only("entries"),
    *_append_only("heat"),
)

# A surface wiped dry, a coat that was looked at or sanded. 'entries' is made anew once more.
_STEP_5: tuple[str, ...] = (
    *(f"DROP VIEW standing_{table}" for table in ("readings", "coats", "done", "heat")),
    "DROP VIEW withdrawn",
    """CREATE TABLE entries_made_anew (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        written INTEGER NOT NULL,
        kind TEXT NOT NULL CHECK (
            kind IN ('readings', 'coat', 'done', 'heat', 'dry', 'inspection', 'undo')
        ),
        size INTEGER NOT NULL,
        what TEXT NOT NULL DEFAULT '',
        by_person INTEGER NOT NULL DEFAULT 1 CHECK (by_person IN (0, 1)),
        withdraws INTEGER UNIQUE REFERENCES entries_made_anew (id),
        CHECK ((kind = 'undo') = (withdraws IS NOT NULL))
    )""",
    "INSERT INTO entries_made_anew (id, written, kind, size, what, by_person, withdraws) "
    "SELECT id, written, kind, size, what, by_person, withdraws FROM entries ORDER BY id",
    "DROP TABLE entries",
    "ALTER TABLE entries_made_anew RENAME TO entries",
    """CREATE TABLE wiped (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        entry INTEGER NOT NULL REFERENCES entries (id),
        supersedes INTEGER REFERENCES wiped (id),
        at INTEGER NOT NULL,
        job TEXT,
        space TEXT,
        panel TEXT,
        note TEXT NOT NULL DEFAULT '',
        CHECK ((job IS NULL) <> (space IS NULL)),
        CHECK (panel IS NULL OR space IS NOT NULL)
    )""",
    """CREATE TABLE inspections (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        entry INTEGER NOT NULL REFERENCES entries (id),
        supersedes INTEGER REFERENCES inspections (id),
        job TEXT NOT NULL,
        step INTEGER NOT NULL CHECK (step >= 1),
        coat INTEGER NOT NULL CHECK (coat >= 1),
        at INTEGER NOT NULL,
        found TEXT NOT NULL CHECK (found IN ('sound', 'dull', 'sanded')),
        note TEXT NOT NULL DEFAULT ''
    )""",
    "CREATE INDEX wiped_by_time ON wiped (at)",
    "CREATE INDEX inspections_by_job ON inspections (job, step, coat)",
    *(f"CREATE INDEX {table}_by_entry ON {table} (entry)" for table in ("wiped", "inspections")),
    *(
        f"CREATE INDEX {table}_corrected ON {table} (supersedes) WHERE supersedes IS NOT NULL"
        for table in ("wiped", "inspections")
    ),
    "CREATE VIEW withdrawn AS SELECT withdraws AS entry, id AS by_entry FROM entries "
    "WHERE withdraws IS NOT NULL",
    *(
        _valid_view(table)
        for table in ("readings", "coats", "done", "heat", "wiped", "inspections")
    ),
    *(
        statement
        for table in ("entries", "wiped", "inspections")
        for statement in _append_only(table)
    ),
)

# Values of readings that are not believed: kept where they are and not counted, until somebody
# says that they are right. And indexes for a record of a million readings.
_STEP_6: tuple[str, ...] = (
    """CREATE TABLE doubts (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        written INTEGER NOT NULL,
        reading INTEGER NOT NULL REFERENCES readings (id),
        value TEXT NOT NULL CHECK (value IN ('air', 'humidity', 'surface')),
        why TEXT NOT NULL,
        expected REAL
    )""",
    """CREATE TABLE believed (
        reading INTEGER PRIMARY KEY REFERENCES readings (id),
        written INTEGER NOT NULL
    )""",
    "CREATE INDEX doubts_by_reading ON doubts (reading)",
    "CREATE INDEX readings_by_moment ON readings (at)",
    "CREATE INDEX readings_of_wood ON readings (space, at) WHERE wood_moisture_pct IS NOT NULL",
    "CREATE VIEW open_doubts AS SELECT * FROM doubts "
    "WHERE NOT EXISTS (SELECT 1 FROM believed WHERE believed.reading = doubts.reading)",
    # without its air temperature a humidity says nothing
    "CREATE VIEW counted_readings AS SELECT * FROM (SELECT id, entry, supersedes, space, at, "
    f"{_unless_doubted('air_c', 'air')}, {_unless_doubted('rh_pct', 'air', 'humidity')}, "
    f"{_unless_doubted('surface_c', 'surface')}, panel, wood_moisture_pct, source, note "
    "FROM standing_readings AS r) WHERE coalesce(air_c, rh_pct, surface_c, wood_moisture_pct) "
    "IS NOT NULL",
    *_append_only("doubts"),
    *_append_only("believed"),
)


def _inspections_of(*found: str) -> tuple[str, ...]:
    """'inspections' made anew, with other words for what may be found."""
    words = ", ".join(f"'{each}'" for each in found)
    return (
        "DROP VIEW standing_inspections",
        f"""CREATE TABLE inspections_made_anew (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        entry INTEGER NOT NULL REFERENCES entries (id),
        supersedes INTEGER REFERENCES inspections_made_anew (id),
        job TEXT NOT NULL,
        step INTEGER NOT NULL CHECK (step >= 1),
        coat INTEGER NOT NULL CHECK (coat >= 1),
        at INTEGER NOT NULL,
        found TEXT NOT NULL CHECK (found IN ({words})),
        note TEXT NOT NULL DEFAULT ''
    )""",
        "INSERT INTO inspections_made_anew "
        "(id, entry, supersedes, job, step, coat, at, found, note) "
        "SELECT id, entry, supersedes, job, step, coat, at, found, note "
        "FROM inspections ORDER BY id",
        "DROP TABLE inspections",
        "ALTER TABLE inspections_made_anew RENAME TO inspections",
        "CREATE INDEX inspections_by_job ON inspections (job, step, coat)",
        "CREATE INDEX inspections_by_entry ON inspections (entry)",
        "CREATE INDEX inspections_corrected ON inspections (supersedes) "
        "WHERE supersedes IS NOT NULL",
        _valid_view("inspections"),
        *_append_only("inspections"),
    )


# Rags and dust of a coat that are off the boat.
_STEP_7: tuple[str, ...] = _inspections_of("sound", "dull", "sanded", "cleared")

# A coat that is spoilt, and comes off.
_STEP_8: tuple[str, ...] = _inspections_of("sound", "dull", "sanded", "cleared", "spoilt")

STEPS: tuple[tuple[str, ...], ...] = (
    *(_STEP_1, _STEP_2, _STEP_3, _STEP_4, _STEP_5, _STEP_6, _STEP_7, _STEP_8),
)


def version(connection: sqlite3.Connection, path: Path, steps: Sequence[Sequence[str]]) -> int:
    """How many steps a file has had.

    Parameters
    ----------
    connection : sqlite3.Connection
        The open file.
    path : Path
        Its name, for messages.
    steps : sequence of sequences of str
        The steps this program knows.

    Raises
    ------
    RecordError
        The file is another program's, or newer than this program.
    """
    # all three from one moment: another program may be making the file just now
    alone = not connection.in_transaction
    if alone:
        connection.execute("BEGIN")
    try:
        found = int(connection.execute("PRAGMA user_version").fetchone()[0])
        mark = int(connection.execute("PRAGMA application_id").fetchone()[0])
        empty = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
    finally:
        if alone and connection.in_transaction:
            connection.execute("ROLLBACK")
    if mark != APPLICATION_ID and not (empty and found == 0):
        raise RecordError(
            "this database was not written by curewindow; move it away or rename it", file=path
        )
    if found > len(steps):
        raise RecordError(
            f"written by a newer curewindow (record version {found}, this program knows "
            f"up to {len(steps)}); update curewindow",
            file=path,
        )
    return found


def migrate(
    connection: sqlite3.Connection, path: Path, steps: Sequence[Sequence[str]], *, backup: bool
) -> None:
    """Take a file to the newest version: all steps that are missing, or none.

    Parameters
    ----------
    connection : sqlite3.Connection
        In autocommit mode (``isolation_level=None``).
    path : Path
        Its name; the copy made first lies beside it.
    steps : sequence of sequences of str
        SQL statements by step.
    backup : bool
        Keep a copy of a file that holds something already.

    Raises
    ------
    RecordError
        See :func:`version`; or a step breaks a reference, and nothing was changed.
    """
    if version(connection, path, steps) == len(steps):
        return
    # off, so that a step may rebuild a table others point to; checked before the commit
    connection.execute("PRAGMA foreign_keys = OFF")
    try:
        with transaction(connection):
            # again, now that nobody else can: two programs may have come at once
            start = version(connection, path, steps)
            if start and start < len(steps) and backup:
                _copy(path, path.with_name(f"{path.name}.version-{start}"))
            for step in steps[start:]:
                for statement in step:
                    connection.execute(statement)
            if connection.execute("PRAGMA foreign_key_check").fetchone() is not None:
                raise RecordError("bringing it up to date failed; it was left as it was", file=path)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {len(steps)}")
    finally:
        connection.execute("PRAGMA foreign_keys = ON")
    if start:
        logger.info("%s: brought from version %d to %d", path, start, len(steps))


def _copy(path: Path, copy: Path) -> None:
    """Copy the committed state of a database, whole or not at all."""
    with replacing(copy) as unfinished:
        copy_database(path, unfinished)
