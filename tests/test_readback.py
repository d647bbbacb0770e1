"""What the program kept as JSON is read back whole, or told apart as no use: nothing between."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from curewindow.changes.kept import TOLD_FILE, LastStated
from curewindow.changes.kept import load as load_stated
from curewindow.order.kept import PLAN_FILE, KeptPlan, load, store
from curewindow.order.plan import Plan
from curewindow.readback import read_back

AT = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
PLAN = Plan(
    boat="a boat",
    time_zone="Europe/Amsterdam",
    temperature_unit="°C",
    as_of=AT,
    made_at=AT,
    finish=None,
    steps=[],
)
# Of each sort of damage one; the first of a pair is where, the second what stands there.
DAMAGE: list[tuple[str, Any]] = [
    ("fixed", 1.5),
    ("fixed", {"a|1.1": "0001-01-01T00:00:00Z"}),
    ("fixed", {"a|1.1": "2026-11-25T08:00:00"}),
    ("before", [1]),
    ("format", "x"),
    ("plan", []),
    ("plan.as_of", "2026-11-25T08:00:00"),
    ("plan.as_of", "9999-12-31T23:59:59Z"),
    ("plan.time_zone", "../../x"),
    ("plan.finish", float("nan")),
    ("plan.heat_kwh", 1e308),
]


def kept(folder: Path) -> Any:
    store(folder, KeptPlan(PLAN, "key", {"a|1.1": AT}, ({},)))
    return json.loads((folder / PLAN_FILE).read_text("utf-8"))


def test_what_is_whole_is_read_back(tmp_path: Path) -> None:
    kept(tmp_path)
    assert load(tmp_path) == KeptPlan(PLAN, "key", {"a|1.1": AT}, ({},))


@pytest.mark.parametrize(("where", "value"), DAMAGE)
def test_a_damaged_plan_is_none(tmp_path: Path, where: str, value: Any) -> None:
    data = kept(tmp_path)
    holder: Any = data
    *way, last = where.split(".")
    for each in way:
        holder = holder[each]
    holder[last] = value
    (tmp_path / PLAN_FILE).write_text(json.dumps(data), "utf-8")
    assert load(tmp_path).plan is None


@pytest.mark.parametrize("text", [b"", b"\xff\xfe", b"[" * 100_000, b"null", b"[1]", b"{}"])
def test_what_is_no_such_file_is_as_if_it_were_not_there(tmp_path: Path, text: bytes) -> None:
    for name in (PLAN_FILE, TOLD_FILE):
        (tmp_path / name).write_bytes(text)
    assert load(tmp_path) == KeptPlan()
    assert load_stated(tmp_path) == LastStated()
    with pytest.raises(ValueError, match=r".+"):
        read_back(text, Plan)
