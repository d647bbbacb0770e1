"""Every kind of row: written, read back, corrected, taken back; records from before it had them."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Literal, get_origin, get_type_hints

import pytest

from curewindow.errors import QuantityError, RecordError
from curewindow.record import Coat, Done, Reading, Record, migrations, rows
from curewindow.record.entries import Heat, Inspection, Item, Wiped

NOW = datetime(2026, 11, 25, 8, 30, tzinfo=UTC)
HOUR = timedelta(hours=1)
ROWS: tuple[Item, ...] = (
    Reading("saloon", NOW - HOUR, 12.0, 70.0, 9.0, "side", 14.0, "by hand", "cold"),
    Coat("table", 1, 2, NOW - 2 * HOUR, NOW - HOUR, "oil-varnish", "A1", 1.5, "thin"),
    Done("table", 2, NOW, "80 grit"),
    Heat("forepeak", NOW - HOUR, NOW + 20 * HOUR, 21.0, "open", "as planned"),
    Wiped(NOW - HOUR, job="rail", note="towel"),
    Wiped(NOW, space="saloon", panel="side"),
    Inspection("table", 1, 2, NOW, "dull", "milky at the edge"),
)
_STANDING: dict[type, Callable[[Record], Any]] = {
    Reading: Record.readings,
    Coat: Record.coats,
    Done: Record.done,
    Heat: Record.heat,
    Wiped: Record.wiped,
    Inspection: Record.inspections,
}


def opened(folder: Path, **options: Any) -> Record:
    return Record(folder / "record.db", now=lambda: NOW, **options)


def test_every_kind_there_is_has_its_row_here() -> None:
    assert set(rows.KEPT) == {type(row) for row in ROWS}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: type(row).__name__.lower())
def test_written_corrected_and_taken_back(tmp_path: Path, row: Item) -> None:
    standing = _STANDING[type(row)]
    with opened(tmp_path) as record:
        kept = record.add(row)
        assert replace(kept, id=0) == row
        better = record.correct(kept.id, replace(kept, note="otherwise"))
    with opened(tmp_path) as record:
        assert standing(record) == [better]
        assert record.undo_last().item == better
        assert standing(record) == [kept]
        assert record.undo_last().item == kept
        assert standing(record) == []
        kind = rows.KEPT[type(row)].kind
        assert [entry.kind for entry in record.history()] == [kind, kind, "undo", "undo"]
        for change in (f"DELETE FROM {rows.TABLES[kind]}", f"UPDATE {rows.TABLES[kind]} SET id=9"):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                record._connection.execute(change)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (Wiped(NOW), "the surface of a job"),
        (Wiped(NOW, job="rail", space="saloon"), "the surface of a job"),
        (Wiped(NOW, job="rail", panel="side"), "the surface of a job"),
        (Wiped(NOW + HOUR, job="rail"), "still to come"),
        (Inspection(" ", 1, 1, NOW, "sound"), "name of its job"),
        (Inspection("table", 1, 0, NOW, "sound"), "count from 1"),
        (Inspection("table", 1, 1, NOW, "shiny"), "known: sound, dull, sanded"),  # type: ignore[arg-type]
        (Inspection("table", 1, 1, NOW + HOUR, "sound"), "still to come"),
    ],
)
def test_what_cannot_be(tmp_path: Path, row: Item, said: str) -> None:
    with opened(tmp_path) as record:
        with pytest.raises(QuantityError, match=said):
            record.add(row)
        assert record.history() == []


@pytest.mark.parametrize("was", range(1, len(migrations.STEPS)))
def test_a_record_from_before_keeps_all_it_holds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, was: int
) -> None:
    """Numbers, what was taken back and the triggers stay, whatever form it had."""
    tables = 4 if was >= 4 else 3
    older = [row for row in ROWS if list(rows.KEPT).index(type(row)) < tables]
    with monkeypatch.context() as before:
        before.setattr(migrations, "STEPS", migrations.STEPS[:was])
        with opened(tmp_path) as record:
            kept = [record.add(row) for row in older]
            record.undo_last()
            told = record.history()
    with opened(tmp_path) as record:
        assert record.history() == told
        for row in kept:
            stands = [] if row == kept[-1] else [row]
            assert _STANDING[type(row)](record) == stands
        record.add(ROWS[-1])
        assert record.history()[-1].id == told[-1].id + 1
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            record._connection.execute("UPDATE entries SET size = 0")
    assert (tmp_path / f"record.db.version-{was}").exists()


@pytest.mark.parametrize("row", ROWS, ids=lambda row: type(row).__name__.lower())
def test_a_word_that_was_never_written_is_damage(tmp_path: Path, row: Item) -> None:
    """Of a column that holds one of a few words: the table refuses it, a broken file may not."""
    hints = get_type_hints(type(row))
    said = [name for name, hint in hints.items() if get_origin(hint) is Literal]
    for field in said:
        folder = tmp_path / field
        folder.mkdir()
        with opened(folder) as record:
            record.add(row)
        with sqlite3.connect(folder / "record.db") as database:
            database.execute("PRAGMA ignore_check_constraints = on")
            triggers = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
            for (name,) in database.execute(triggers).fetchall():
                database.execute(f'DROP TRIGGER "{name}"')
            database.execute(f"UPDATE {rows.KEPT[type(row)].table} SET {field} = ''")
        database.close()
        with opened(folder) as record, pytest.raises(RecordError, match="is damaged"):
            _STANDING[type(row)](record)
    assert bool(said) is isinstance(row, (Heat, Inspection))
