"""The guide's recipes, followed to the letter in a copy of the house.

A block of a recipe goes into the file its step names, after the one line it names, or is a
new file. What is run then is the copy, not the house.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import textwrap
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
GUIDE = ROOT / "DEVELOPERS.md"
AT = "2026-11-25 08:30"
SHEET = "waterborne-acrylic-varnish"

# The wheel is tested from a folder that has the tests and no guide.
pytestmark = [
    pytest.mark.skipif(not GUIDE.exists(), reason="no guide beside the tests"),
    pytest.mark.slow,
]

STEP = re.compile(
    r"\n(?:\d\. `(?P<file>[^`]+)`, (?:new|after `(?P<first>[^`\n]+)`)"
    r"|   and after `(?P<more>[^`\n]+)`).*?```text\n(?P<block>.*?)\n *```",
    re.DOTALL,
)


def recipe(name: str) -> list[tuple[str, str | None, str]]:
    """(file, line it comes after or None for a new file, block) of each step."""
    part = GUIDE.read_text("utf-8").split(f"\n**{name}.**", 1)[1].split("\n**", 1)[0]
    found: list[tuple[str, str | None, str]] = []
    for step in STEP.finditer(part):
        file = step["file"] or found[-1][0]
        block = textwrap.dedent(step["block"]) if step["first"] is None and step["file"] else ""
        # A step's block stands three columns in, as lists do.
        block = block or re.sub(r"^ {3}", "", step["block"], flags=re.MULTILINE)
        found.append((file, step["first"] or step["more"], block))
    return found


def put_in(house: Path, file: str, after: str | None, block: str) -> None:
    path = house / file
    if after is None:
        assert not path.exists()
        path.write_text(block + "\n", "utf-8")
        return
    lines = path.read_text("utf-8").splitlines()
    here = [at for at, line in enumerate(lines) if line.strip() == after]
    assert len(here) == 1, f"{file} has {len(here)} lines that are {after!r}"
    lines[here[0] + 1 : here[0] + 1] = block.splitlines()
    path.write_text("\n".join(lines) + "\n", "utf-8")


def follow(house: Path, name: str) -> None:
    steps = recipe(name)
    assert 1 <= len({file for file, _, _ in steps}) <= 3
    for step in steps:
        put_in(house, *step)


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy with every recipe followed: they do not disturb each other."""
    copy = tmp_path_factory.mktemp("house")
    skip = shutil.ignore_patterns("__pycache__")
    for part in ("curewindow", "products", "tests/sheets", "tests/voice"):
        shutil.copytree(ROOT / part, copy / part, ignore=skip)
    for file in (ROOT / "pyproject.toml", *ROOT.glob("tests/*.py")):
        shutil.copy(file, copy / file.relative_to(ROOT))
    for name in ("A feed", "A milestone", "A hazard", "A reminder"):
        follow(copy, name)
    nearest = (copy / "products" / f"{SHEET}.toml").read_text("utf-8")
    (copy / "products" / "deck-stain.toml").write_text(
        re.sub(r'(?m)^name = ".*"$', 'name = "Deck stain, waterborne"', nearest, count=1), "utf-8"
    )
    (copy / "products" / f"{SHEET}.toml").write_text(
        nearest.replace("\nsandable ", "\nwashable  = {washable}\nsandable ").replace(
            "hazards = [", 'hazards = ["caustic", '
        ),
        "utf-8",
    )
    put_washable(copy, "sandable")
    run(copy, "-m", "curewindow", "schema", "sheet", to=copy / "products" / "sheet.schema.json")
    run(copy, "-m", "curewindow", "demo", "boat", "--at", AT)
    return copy


def put_washable(house: Path, as_row: str) -> None:
    """The new milestone reached when another is."""
    path = house / "products" / f"{SHEET}.toml"
    text = path.read_text("utf-8")
    row = re.search(rf"(?m)^{as_row} *= (.*)$", text)
    assert row is not None
    path.write_text(re.sub(r"(?m)^washable.*$", f"washable = {row[1]}", text), "utf-8")


def run(house: Path, *arguments: str, to: Path | None = None, fails: bool = False) -> str:
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=house,
        env={
            **os.environ,
            "PYTHONPATH": str(house),
            "PYTHONUTF8": "1",
            "CUREWINDOW_CACHE": str(house / "cache"),
            "COLUMNS": "100",
            "NO_COLOR": "1",
        },
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=300,
    )
    assert (done.returncode != 0) == fails, (done.stdout + done.stderr)[-3000:]
    if to is not None:
        to.write_text(done.stdout, "utf-8")
    return done.stdout + (done.stderr if fails else "")


def asked(house: Path, *arguments: str, fails: bool = False) -> str:
    return run(house, "-m", "curewindow", *arguments, fails=fails)


def test_a_new_sheet_is_one_file(house: Path) -> None:
    assert "deck-stain" in asked(house, "sheets", "list")
    assert "DECK STAIN" in asked(house, "sheets", "show", "deck-stain")
    asked(house, "sheets", "check", "products/deck-stain.toml")
    tests = "tests/sheets/test_products.py"
    passed = run(house, "-m", "pytest", "-q", "-n", "0", tests, "-k", "deck-stain or schema")
    assert "failed" not in passed


def test_a_new_milestone_is_shown_checked_and_waited_for(house: Path) -> None:
    assert re.search(r"washable +\d", asked(house, "sheets", "show", SHEET))
    path = house / "products" / f"{SHEET}.toml"
    text = path.read_text("utf-8")
    try:
        # The film keeps its limits until then, and 'why' counts them so far.
        path.write_text(re.sub(r'(?m)^until = "[a-z ]+"', 'until = "washable"', text), "utf-8")
        asked(house, "sheets", "check", f"products/{SHEET}.toml")
        why = json.loads(asked(house, "why", "chart table", "--boat", "boat", "--at", AT, "--json"))
        assert why["job"] == "chart table"
        put_washable(house, "full_cure")
        wrong = asked(house, "sheets", "check", f"products/{SHEET}.toml", fails=True)
        assert "washable" in wrong
    finally:
        path.write_text(text, "utf-8")


def test_a_new_hazard_is_warned_of_on_every_sheet_that_has_it(house: Path) -> None:
    day = asked(house, "today", "--full", "--boat", "boat", "--at", AT)
    assert "burns eyes and skin" in " ".join(day.split())
    assert "caustic" in asked(house, "sheets", "show", SHEET)
    assert "caustic" in asked(house, "schema", "sheet")
    run(house, "-m", "pytest", "-q", "-n", "0", "tests/voice", "-k", "[caustic")


@pytest.fixture
def buoy() -> Iterator[str]:
    """The service the guide's feed asks: nine days of hours."""
    begins = int(datetime(2026, 11, 25, tzinfo=UTC).timestamp())
    hours = [{"unix": begins + 3600 * n, "air_c": 8.5, "dew_c": 4.0} for n in range(24 * 9)]

    class Answers(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            body = json.dumps({"hours": hours}).encode()
            self.send_response(200)
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Answers)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_address[1]}"
    server.shutdown()
    server.server_close()


def test_a_new_feed_is_asked_by_its_name(house: Path, buoy: str) -> None:
    boat = house / "boat" / "boat.toml"
    text = boat.read_text("utf-8")
    try:
        boat.write_text(
            text.replace('feed = "file"', f'feed = "buoy"\nbase_address = "{buoy}"'), "utf-8"
        )
        day = json.loads(asked(house, "today", "--boat", "boat", "--at", AT, "--json"))
    finally:
        boat.write_text(text, "utf-8")
    assert day["provenance"]["weather"] == "Buoy"
    outdoors = day["outdoors"]
    assert outdoors["air_c"] == pytest.approx(8.5, abs=0.5)


_REMINDERS = """
from datetime import UTC, datetime
from pathlib import Path
from curewindow.daysheet.assemble import assemble
from curewindow.situation import read_situation
from curewindow.reminders.derive import reminders_of

facts = read_situation(Path("boat"), datetime(2026, 11, 25, 7, 30, tzinfo=UTC))
for each in reminders_of(facts, assemble(facts)):
    print(each.kind, each.due.isoformat(), each.title, sep="|")
"""


def test_a_new_reminder_is_told_when_it_is_due(house: Path) -> None:
    lines = run(house, "-c", _REMINDERS).splitlines()
    assert "anodes|2026-12-01T06:30:00+00:00|Look at the anodes, once a month" in lines
    assert len(lines) > 1
