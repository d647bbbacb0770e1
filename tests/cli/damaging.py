"""A boat folder with every file there is, ways to damage each, and commands to ask of what is left.

Used by the slow tests and, with a larger budget, by ``tests/benchmarks/fuzz_files.py``.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import shutil
import signal
import socket
import sqlite3
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from unittest.mock import patch

import click
import time_machine
from click.testing import CliRunner

from curewindow.boat.jsonschema import write_schemas
from curewindow.cli import main
from curewindow.sheets.shelf import get_sheet
from tests.laws.judgement import boats

NOW = boats.MORNING
ALLOWED = (0, 1, 2, 3, 4, 5, 6, 130)
"""Exit codes that the readme explains, but for a fault in the program itself."""

_SERVICE = """
[[channel]]
name = "screen"
address = "desktop:"

[[channel]]
name = "phone"
address_file = "push.address"
level = "urgent"

[[tin]]
sheet = "waterborne-acrylic-varnish"
space = "saloon"
bought = 2026-03-01
opened = 2026-10-12

[mqtt]
host = "localhost"
port = 1

[[sensor]]
name = "saloon meter"
topic = "aboard/saloon"
space = "saloon"
"""
_BY_HAND = """
[[day]]
date = 2026-11-25
low = "3 °C"
high = "8 °C"
dew_point = "2 °C"
rain = "none"

[[day]]
date = 2026-11-26
low = "4 °C"
high = "9 °C"

[[reading]]
at = 2026-11-25T07:00:00
air = "6 °C"
humidity = "85 %"
"""
_LOGGER = "time,temperature,humidity\n" + "".join(
    f"2026-11-24 {hour:02d}:00,{12.0 + hour / 10},{60 + hour}\n" for hour in range(24)
)


# ---- the folder --------------------------------------------------------------------------


def whole_folder(place: Path) -> Path:
    """A small boat with every kind of file beside it that is read."""
    case = boats.demo(place / "demo")
    boats.keep_jobs(case, {"chart table", "saloon doors"})
    boats.keep_spaces(case, {"saloon"})
    case.boat["weather"] = {"feed": "file", "file": "weather.csv", "past": ["winters.csv"]}
    folder = boats.write(case, place / "boat")
    with (folder / "boat.toml").open("a", encoding="utf-8") as file:
        file.write(_SERVICE)
    (folder / "push.address").write_text("desktop:\n", "utf-8")
    (folder / "push.address").chmod(0o600)
    own = folder / "sheets" / "waterborne-acrylic-varnish.toml"
    own.parent.mkdir()
    own.write_text(get_sheet("waterborne-acrylic-varnish").path.read_text("utf-8"), "utf-8")
    rows = (place / "demo" / "winters-1.csv").read_text("utf-8").splitlines(keepends=True)
    (folder / "winters.csv").write_text("".join(rows[:900]), "utf-8")
    (folder / "weather.toml").write_text(_BY_HAND, "utf-8")
    (folder / "logger.csv").write_text(_LOGGER, "utf-8")
    write_schemas(folder)
    for words in (
        ["log", "import", "logger.csv", "--space", "saloon"],
        ["log", "dry", "chart table"],
        ["log", "heater", "saloon", "20C", "--until", "23:00"],
        ["log", "look", "saloon doors", "--found", "dull"],
        ["plan", "--seconds", "2"],
        ["outlook", *_BRIEFLY],
        ["calendar", "--to", "boat.ics"],
        ["log", "export", "readings", "readings.csv"],
        ["today"],
        ["trust"],
    ):
        asked = ask(folder, words)
        assert asked.code == 0, asked
    (folder / "today.json").write_text(ask(folder, ["today", "--json"]).out, "utf-8")
    ask(folder, ["service", "run"])
    for left in folder.glob("*.db-*"):
        left.unlink()
    return folder


# ---- asking ------------------------------------------------------------------------------

_BRIEFLY = ["--years", "2", "--draws", "1", "--days", "14"]
QUICK: tuple[list[str], ...] = (
    ["today", "--full"],
    ["today", "--json"],
    ["windows"],
    ["why", "chart table"],
    ["plan", "--kept"],
    ["plan", "--kept", "--full", "--json"],
    ["plan", "--undo"],
    ["outlook", "--kept"],
    ["outlook", "--kept", "--json"],
    ["paper"],
    ["paper", "--json"],
    ["paper", "--to", "week.html"],
    ["paper", "--to", "week.csv"],
    ["buy"],
    ["buy", "--json"],
    ["trust"],
    ["trust", "--json"],
    ["calendar", "--to", "boat.ics"],
    ["calendar", "--json"],
    ["log", "show"],
    ["log", "undo"],
    ["log", "coat", "chart table"],
    ["log", "import", "logger.csv", "--space", "saloon"],
    ["log", "export", "coats"],
    ["sheets", "check"],
    ["sheets", "list"],
    ["sheets", "show", "waterborne-acrylic-varnish"],
    ["setup", "--yes"],
    ["schema", "boat"],
    ["service", "run"],
    ["service", "run", "--no-page"],
    ["service", "notices"],
    ["service", "test-channels"],
    ["service", "listen"],
)
LONG: tuple[list[str], ...] = (
    ["whatif", "saloon", "--vent", "ajar"],
    ["learn", "saloon"],
    ["plan", "--free", "all"],
    ["plan", "--fix", "chart table coat 2"],
    ["plan", "--seconds", "2"],
    ["plan", "--seconds", "2", "--in-time"],
    ["outlook", *_BRIEFLY],
    ["outlook", *_BRIEFLY, "--to", "season.svg"],
    ["paper", "--to", "week.pdf"],
    ["heat"],
    ["picture", "saloon"],
    ["picture", "chart table", "--to", "table.svg"],
    ["page"],
)


@dataclass(frozen=True)
class Asked:
    """What a command answered."""

    words: list[str]
    code: int
    out: str
    err: str

    def fault(self) -> str:
        """What is wrong with how it ended; '' where nothing is."""
        if self.code not in ALLOWED:
            return f"exit code {self.code}: {self.err[-600:]}"
        if "Traceback" in self.err + self.out or "fault in curewindow" in self.err:
            return f"a traceback: {self.err[-900:]}"
        lines = [line for line in self.err.splitlines() if line.strip()]
        told = [line for line in lines if line.startswith("error: ")]
        if self.code in (2, 3, 4, 5, 6) and (len(told) != 1 or lines[-1] != told[0]):
            return f"exit code {self.code} with {self.err[-600:]!r}"
        if any(len(line) > 600 for line in lines):
            return f"a line of {max(map(len, lines))}: {self.err[:300]}"
        if self.code == 0 and "--json" in self.words and "--" not in self.words:
            try:
                json.loads(self.out, parse_constant=_refused)
            except ValueError as bad:
                return f"no JSON: {bad}: {self.out[:200]}"
        return ""


def _refused(constant: str) -> Any:
    raise ValueError(f"{constant} is no JSON")


def ask(folder: Path, words: list[str], now: datetime = NOW) -> Asked:
    """One command in this process, with the boat folder as the folder it is in."""
    with _inside(folder), _no_network(), time_machine.travel(now, tick=True):
        if words[0] == "service":
            return _service(words)
        if words[0] == "page":
            return _page(folder, words)
        done = CliRunner().invoke(main.command, words)
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            return Asked(words, 70, done.stdout, f"Traceback {done.exception!r}")
        return Asked(words, done.exit_code, done.stdout, done.stderr)


@contextlib.contextmanager
def _inside(folder: Path) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


@contextlib.contextmanager
def _no_network() -> Iterator[None]:
    """A damaged address leads nowhere."""

    def nowhere(*_: Any, **__: Any) -> Any:
        raise socket.gaierror(socket.EAI_NONAME, "Name or service not known")

    with patch.object(socket, "getaddrinfo", nowhere):
        yield


def _service(words: list[str]) -> Asked:
    """The service's own front door; what would run until stopped does its work twice and ends."""
    import curewindow_service.hearing
    import curewindow_service.schedule
    from curewindow_service.main import run

    out, err = io.StringIO(), io.StringIO()
    handled = {each: signal.getsignal(each) for each in (signal.SIGTERM, signal.SIGINT)}
    heard = curewindow_service.hearing.hear

    def at_once(folder: Path, show: Callable[[str], None], *, stop: Any, **given: Any) -> Any:
        stop.set()
        return heard(folder, show, stop=stop, **given)

    with (
        patch.object(sys, "argv", ["curewindow-service", *words[1:]]),
        patch.object(curewindow_service.schedule, "run_service", _twice),
        patch.object(curewindow_service.hearing, "hear", at_once),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        try:
            run()
            code: Any = 0
        except SystemExit as ended:
            code = ended.code
        finally:
            for each, handler in handled.items():
                signal.signal(each, handler)
    return Asked(words, int(code or 0), out.getvalue(), err.getvalue())


def _twice(given: Any, *_: Any, **__: Any) -> None:
    """The service's work, looked at in this process."""
    from curewindow_service.app import Service
    from curewindow_service.channels import Outcome
    from curewindow_service.look import look_here

    service = Service(
        given.folder,
        clock=given.clock,
        look=look_here,
        send=lambda *_: Outcome("sent", "shown"),
    )
    for _ in range(2):
        service.tick()
    service.close()
    given.close()


_PAGES = ("/", "/spaces", "/coats", "/log", "/sheets", "/settings", "/api/today", "/calendar.ics")


def _page(folder: Path, words: list[str]) -> Asked:
    """The service's page: whatever the folder holds, each address is answered."""
    from tests.page.hands import client_of

    faults = []
    with client_of(folder) as client:
        for address in _PAGES:
            try:
                answer = client.get(address)
            except Exception as bad:  # whatever gets out of a page is a fault, and told as one
                faults.append(f"Traceback {address}: {bad!r}")
                continue
            if answer.status_code >= 500 and answer.status_code != 503:
                faults.append(f"Traceback {address}: {answer.status_code} {answer.text[:300]}")
    return Asked(words, 70 if faults else 0, "", "\n".join(faults))


# ---- damage ------------------------------------------------------------------------------

_IN_TOML = (
    '""', "0", "-1", "1e400", "nan", "true", "[]", "{}", '"10 °C"', '"-3 °C"', '"0 m²"',
    '"1e308 m"', "2026-11-25", "08:00:00", '"\\u0000"', '"../../x"', "[[]]", "9" * 5000,
    '"\\uD800"', "0001-01-01T00:00:00Z", "9999-12-31", "[" * 3000, '"' + "x" * 300 + '"',
    "{ a = 1 }", '"9999999 h"', '"0.0001 h"', '"1e9 m²"', '"24 h"', '"as is"', "00:00:00",
)  # fmt: skip
_IN_CELL = (
    "", "nan", "inf", "-999", "1e400", "12,5", "2026-13-45T00:00Z", "9999-12-31T23:59Z",
    "0001-01-01T00:00Z", "abc", '"', "\0", "9" * 400, "-0", "100", "2026-11-25T07:30", "١٢",
)  # fmt: skip
_IN_JSON: tuple[Any, ...] = (
    None, True, 0, -1, 1.5, 1e308, 10**30, "", "x", "x" * 300, [], {}, [[]], {"a": 1},
    "2026-11-25T07:30:00Z", "2026-11-25T07:30:00", "0001-01-01T00:00:00Z", float("nan"),
    float("inf"), "9999-12-31T23:59:59Z", "\0", "../../x", [None], "chart table",
)  # fmt: skip
_IN_RECORD = (
    None, 0, -1, 2**62, -(2**62), 1e308, float("inf"), "", "x", "chart table", "saloon", b"\xff",
    "{}", "[]", "null", 1764055800, 9, "x" * 300,
)  # fmt: skip


def damage(folder: Path, rng: random.Random) -> str:
    """Damage one file of a folder, or two; what was done, in words."""
    return "; ".join(_damage_one(folder, rng) for _ in range(rng.choice((1, 1, 1, 2))))


def _damage_one(folder: Path, rng: random.Random) -> str:
    if rng.random() < 0.1:
        boat = folder / "boat.toml"
        text = boat.read_text("utf-8", "replace")
        boat.write_text(text.replace('feed = "file"', 'feed = "by-hand"'), "utf-8")
    files = sorted(
        path
        for path in folder.rglob("*")
        if path.is_file() and "schema" not in path.parts and path.suffix != ".ics"
    )
    kinds = sorted({path.suffix for path in files})
    kind = rng.choice(kinds)
    path = rng.choice([path for path in files if path.suffix == kind])
    name = path.relative_to(folder).as_posix()
    draw = rng.random()
    if draw < 0.1:
        return f"{name}: {_bytes(path, rng)}"
    if draw < 0.14:
        path.unlink()
        if rng.random() < 0.5:
            path.mkdir()
        return f"{name}: gone, or a folder"
    own = {".toml": _toml, ".csv": _csv, ".json": _json, ".db": _record}.get(path.suffix, _bytes)
    try:
        return f"{name}: {own(path, rng)}"
    except (UnicodeDecodeError, ValueError, IndexError, sqlite3.Error):
        return f"{name}: {_bytes(path, rng)}"


def _bytes(path: Path, rng: random.Random) -> str:
    """It lost its end or some bytes; or it is empty, or no text."""
    data = bytearray(path.read_bytes() or b" ")
    how = rng.randrange(5)
    if how == 0:
        del data[rng.randrange(len(data)) :]
    elif how == 1:
        data = bytearray()
    elif how == 2:
        data[rng.randrange(len(data))] = rng.randrange(256)
    elif how == 3:
        begin = rng.randrange(len(data))
        piece = rng.randbytes(len(data[begin : begin + 64]))
        data[begin : begin + 64] = piece
    else:
        data = bytearray(rng.choice((b"\xff\xfe\0", b"[1, 2]", b"null", b"\0" * 999, b"{}\n{}")))
    path.write_bytes(data)
    return f"bytes, {how}"


def _toml(path: Path, rng: random.Random) -> str:
    lines = path.read_text("utf-8").splitlines()
    here, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    name, equals, _ = lines[here].partition("=")
    how = rng.randrange(8)
    was = lines[here]
    if how == 0:
        del lines[here]
    elif how == 1:
        lines.insert(here, lines[other])
    elif how == 2:
        lines[here], lines[other] = lines[other], lines[here]
    elif how == 3 and was:
        at = rng.randrange(len(was))
        lines[here] = was[:at] + rng.choice("\0\t\"'[]=\u2028\U0001f600") + was[at + 1 :]
    elif equals:
        lines[here] = f"{name}= {rng.choice(_IN_TOML)}"
    path.write_text("\n".join(lines), "utf-8")
    return f"line {here + 1}, {how}: {was[:60]!r} -> {lines[min(here, len(lines) - 1)][:60]!r}"


def _csv(path: Path, rng: random.Random) -> str:
    lines = path.read_text("utf-8").splitlines()
    # the first ones more often: there the columns are named
    here = rng.randrange(min(len(lines), rng.choice((3, len(lines)))))
    how = rng.randrange(8)
    cells = lines[here].split(",")
    column = rng.randrange(len(cells))
    if how == 0:
        del lines[here:]
    elif how == 1:
        del lines[here]
    elif how == 2:
        lines.insert(rng.randrange(len(lines)), lines[here])
    elif how == 3:
        lines = [line.replace(",", ";") for line in lines]
    elif how == 4:
        cells = [cell for number, cell in enumerate(cells) if number != column]
        lines[here] = ",".join(cells)
    else:
        cells[column] = rng.choice(_IN_CELL)
        lines[here] = ",".join(cells)
    path.write_text("\n".join(lines), "utf-8")
    return f"row {here + 1}, column {column + 1}, {how}: {','.join(cells)[:60]!r}"


def _json(path: Path, rng: random.Random) -> str:
    root = [json.loads(path.read_text("utf-8"))]
    holder: Any = root
    key: Any = 0
    way: list[Any] = []
    while isinstance(holder[key], dict | list) and holder[key] and rng.random() < 0.88:
        holder = holder[key]
        key = rng.choice(list(holder) if isinstance(holder, dict) else range(len(holder)))
        way.append(key)
    value: Any = "gone"
    if rng.random() < 0.2 and way:
        del holder[key]
    else:
        value = rng.choice(_IN_JSON)
        holder[key] = value
    path.write_text(json.dumps(root[0] if root else None), "utf-8")
    return f"{'.'.join(map(str, way))} -> {str(value)[:40]!r}"


def _record(path: Path, rng: random.Random) -> str:
    """One cell holds what is never written there; or a table or a column is gone."""
    with contextlib.closing(sqlite3.connect(path)) as database, database:
        database.execute("PRAGMA ignore_check_constraints = on")
        for kind, name in database.execute(
            "SELECT type, name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            database.execute(f'DROP {kind} "{name}"')
        tables = [
            name
            for (name,) in database.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
            )
        ]
        filled = [
            t for t in tables if database.execute(f'SELECT count(*) FROM "{t}"').fetchone()[0]
        ]
        draw = rng.random()
        if draw < 0.06:
            version = rng.choice((-1, 0, 1, 9999))
            database.execute(f"PRAGMA user_version = {version}")
            return f"user_version {version}"
        if draw < 0.12 or not filled:
            table = rng.choice(tables)
            database.execute(f'DROP TABLE "{table}"')
            return f"{table} dropped"
        table = rng.choice(filled)
        column = rng.choice([row[1] for row in database.execute(f'PRAGMA table_info("{table}")')])
        value = rng.choice(_IN_RECORD)
        database.execute(
            f'UPDATE OR IGNORE "{table}" SET "{column}" = ? '
            f'WHERE "{column}" = (SELECT "{column}" FROM "{table}" ORDER BY random() LIMIT 1)',
            (value,),
        )
        return f"{table}.{column} = {value!r:.40}"


def damaged_and_asked(
    whole: Path, place: Path, seed: int, commands: list[list[str]]
) -> Iterator[str]:
    """Damage a copy of a folder by a seed, ask commands of it; what is wrong with the answers."""
    rng = random.Random(seed)
    folder = place / "damaged"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(whole, folder)
    done = damage(folder, rng)
    now = rng.choice((NOW, NOW + timedelta(hours=30)))  # by then there is something to look back on
    for words in commands:
        if fault := ask(folder, words, now).fault():
            yield f"seed {seed}, {done}: {' '.join(words)}: {fault}"


# ---- command lines -----------------------------------------------------------------------

_WORDS = (
    "saloon", "chart table", "chart table coat 2", "outdoors", "forepeak", "oil-varnish", "x" * 300,
    "", " ", "-", "--", "0", "1", "-1", "2", "1e400", "nan", "12C", "-300C", "16 °C", "70%", "now",
    "24:00", "yesterday", "Sun 25:61", "2026-02-30 08:00", "0001-01-01", "9999-12-31 23:59", "'",
    "tomorrow 8:00", "boat.toml", "week.html", "week.csv", "week.txt", "no/such/place/x.svg",
    "sheets", "all", "json", "readings", "\udcff", "99999999999999999999", "shut", "ajar",
    "saloon/forepeak", "1.5 kW", "bash", "today",
)  # fmt: skip


def every_command() -> dict[tuple[str, ...], click.Command]:
    """Each command of both programs, by its words."""
    from curewindow_service.main import command as service

    found: dict[tuple[str, ...], click.Command] = {}

    def gather(words: tuple[str, ...], group: click.Group) -> None:
        context = click.Context(group)
        for name in group.list_commands(context):
            each = group.get_command(context, name)
            assert each is not None
            if isinstance(each, click.Group):
                gather((*words, name), each)
            else:
                found[(*words, name)] = each

    gather((), main.command)
    gather(("service",), service)
    return found


# Each would take what it is given to do: a demo boat, a minute of search, a week of days.
_AT_LENGTH = {"plan": ["--seconds", "2"], "outlook": _BRIEFLY}


def drawn_words(words: tuple[str, ...], command: click.Command, rng: random.Random) -> list[str]:
    """A command line of a command: some of its options, any values, in any order."""
    parts: list[list[str]] = []
    for parameter in command.params:
        if isinstance(parameter, click.Argument):
            if rng.random() < 0.85:
                parts.append([rng.choice(_WORDS)])
        elif isinstance(parameter, click.Option) and rng.random() < 0.3:
            option = rng.choice(parameter.opts)
            kind = parameter.type
            if parameter.is_flag or parameter.count:
                parts.append([option])
            elif isinstance(kind, click.Choice) and rng.random() < 0.7:
                parts.append([option, str(rng.choice(list(kind.choices)))])
            else:
                parts.append([option, rng.choice(_WORDS)])
    rng.shuffle(parts)
    line = [*words, *(word for part in parts for word in part)]
    return [*line, *_AT_LENGTH.get(words[0], [])]
