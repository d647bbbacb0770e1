"""Where a run meets the world: output that is closed or full, files damaged, names too long."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from curewindow.cli.main import command
from curewindow.record import Reading, Record
from curewindow.sheets.shelf import get_sheet
from tests.cli.damaging import every_command
from tests.cli.test_log import BOAT, WORK

FULL = Path("/dev/full")
_CALL = "from curewindow.cli.main import run; run()"


@pytest.mark.parametrize("given", ["nan", "inf", "-inf", "1e999", "9" * 20, "-" + "9" * 20])
def test_no_option_takes_a_number_nobody_can_count_with(given: str) -> None:
    """Of both programs: what a range with an open end lets through breaks far from the option."""
    asked = 0
    for each in every_command().values():
        for param in each.params:
            if isinstance(param.type, (click.types.FloatParamType, click.types.IntParamType)):
                asked += 1
                with pytest.raises(click.BadParameter):
                    param.type.convert(given, param, None)
    assert asked >= 15


@pytest.fixture
def boat(tmp_path: Path) -> Path:
    text = BOAT.format(unit="°C") + '[weather]\nfeed = "by-hand"\n'
    (tmp_path / "boat.toml").write_text(text, encoding="utf-8")
    (tmp_path / "work.toml").write_text(WORK, encoding="utf-8")
    return tmp_path


def piped(*arguments: str | Path, **options: object) -> tuple[int, str]:
    """A command in a process of its own: its exit code, and what it says of what went wrong."""
    done = subprocess.run(
        [sys.executable, "-c", _CALL, *map(str, arguments)],
        stderr=subprocess.PIPE,
        text=True,
        timeout=60,
        check=False,
        **options,  # type: ignore[call-overload]
    )
    return done.returncode, done.stderr


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(command, [str(each) for each in arguments])


def one_line(result: Result, code: int) -> str:
    assert result.exit_code == code, (result.exit_code, result.output, result.exception)
    assert result.stdout == ""
    (line,) = result.stderr.splitlines()
    assert line.startswith("error: ")
    assert len(line) < 500
    return line


# ---- where the answer goes -------------------------------------------------------------


def test_a_reader_that_has_gone_is_no_fault(boat: Path) -> None:
    read, write = os.pipe()
    os.close(read)
    try:
        assert piped("schema", "boat", stdout=write) == (141, "")
    finally:
        os.close(write)


@pytest.mark.skipif(not FULL.exists(), reason="no /dev/full here")
@pytest.mark.parametrize("arguments", [["schema", "boat"], ["log", "show"], ["--help"]])
def test_a_full_disk_is_told_in_one_line(boat: Path, arguments: list[str]) -> None:
    given = arguments if arguments[0] != "log" else [*arguments, "--boat", str(boat)]
    with FULL.open("w") as full:
        code, said = piped(*given, stdout=full)
    assert (code, said) == (6, "error: the answer cannot be written: No space left on device\n")


def test_no_output_at_all_is_told(boat: Path) -> None:
    code, said = piped("schema", "boat", preexec_fn=lambda: os.close(1))
    assert code == 6
    assert said == "error: the answer cannot be written: standard output is closed\n"


def test_an_output_that_knows_few_letters_gets_what_it_can_show(boat: Path) -> None:
    with Record(boat / "record.db") as record:
        record.add_reading(Reading("saloon", record.now(), air_c=12.0))
    narrow = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    code, said = piped("log", "show", "--boat", boat, stdout=subprocess.DEVNULL, env=narrow)
    assert (code, said) == (0, "")


# ---- names and folders -----------------------------------------------------------------

LONG = "x" * 300


@pytest.mark.parametrize(
    "arguments",
    [
        ["today", "--boat", LONG],
        ["log", "dry", LONG],
        ["log", "coat", LONG],
        ["log", "reading", LONG, "12C"],
        ["log", "show", "--job", LONG],
        ["log", "import", LONG, "--space", "saloon"],
        ["log", "export", "coats", LONG],
        ["sheets", "show", LONG],
        ["sheets", "check", LONG],
        ["sheets", "new", LONG, "--from", "oil-varnish"],
        ["log", "coat", "lining", "--sheet", LONG],
    ],
)
def test_a_name_too_long_is_one_line(boat: Path, arguments: list[str]) -> None:
    given = arguments if "--boat" in arguments else [*arguments, "--boat", str(boat)]
    result = run(*given)
    one_line(result, 3 if arguments[1] in ("new", "import") else 2)


@pytest.mark.parametrize("name", ["boat.toml", "work.toml", "record.db", "sheets"])
def test_a_folder_in_the_place_of_a_file_and_the_other_way_round(boat: Path, name: str) -> None:
    (boat / name).unlink(missing_ok=True)
    if name == "sheets":
        (boat / name).write_text("", encoding="utf-8")
    else:
        (boat / name).mkdir()
    for arguments in (["log", "show"], ["log", "done", "lining"], ["sheets", "list"], ["today"]):
        result = run(*arguments, "--boat", boat)
        assert result.exit_code != 70, (arguments, result.stderr)
        assert "Traceback" not in result.stderr


# ---- the record ------------------------------------------------------------------------


def test_an_empty_record_is_an_empty_record(boat: Path) -> None:
    (boat / "record.db").write_bytes(b"")
    assert run("log", "show", "--boat", boat).stdout == "nothing in the record yet\n"
    assert run("log", "reading", "saloon", "12C", "--boat", boat).exit_code == 0


@pytest.mark.parametrize("content", [b"x" * 4096, b"SQLite format 3\x00" * 99])
@pytest.mark.parametrize("arguments", [["log", "show"], ["log", "reading", "saloon", "12C"]])
def test_what_is_no_record_is_told_in_one_line(
    boat: Path, content: bytes, arguments: list[str]
) -> None:
    (boat / "record.db").write_bytes(content)
    assert "record.db: is" in one_line(run(*arguments, "--boat", boat), 5)


def damaged(whole: bytes, rng: random.Random) -> bytes:
    """A file that lost its end, a page or some bytes."""
    data = bytearray(whole)
    how = rng.randrange(3)
    if how == 0:
        return bytes(data[: rng.randrange(len(data))])
    begin = rng.randrange(len(data)) if how == 1 else 4096 * rng.randrange(len(data) // 4096)
    length = rng.choice((1, 8, 64)) if how == 1 else 4096
    data[begin : begin + length] = rng.randbytes(len(data[begin : begin + length]))
    return bytes(data)


def every_kind(boat: Path) -> bytes:
    for arguments in (
        ["reading", "saloon", "12C", "70%", "--note", "cold"],
        ["done", "lining"],
        ["coat", "lining", "--start", "2026-01-05 09:00", "--end", "2026-01-05 10:00"],
        ["look", "lining", "--found", "dull"],
        ["dry", "lining"],
    ):
        assert run("log", *arguments, "--boat", boat).exit_code == 0
    return (boat / "record.db").read_bytes()


def hurt(boat: Path, whole: bytes, seed: int) -> None:
    for rest in boat.glob("record.db*"):
        rest.unlink()
    (boat / "record.db").write_bytes(damaged(whole, random.Random(seed)))
    for arguments in (["log", "show"], ["log", "undo"], ["log", "reading", "saloon", "9C"]):
        result = run(*arguments, "--boat", boat)
        assert result.exit_code in (0, 2, 5), (seed, arguments, result.stderr)
        assert len(result.stderr.splitlines()) <= 1


def test_a_damaged_record_is_told_or_read(boat: Path) -> None:
    whole = every_kind(boat)
    for seed in range(12):
        hurt(boat, whole, seed)


@pytest.mark.slow
def test_a_record_damaged_anywhere_is_told_or_read(boat: Path) -> None:
    whole = every_kind(boat)
    for seed in range(100, 700):
        hurt(boat, whole, seed)


# ---- hand-written files ----------------------------------------------------------------

_VALUES = (
    '""', "0", "-1", "1e400", "nan", "true", "[]", "{}", '"10 °C"', '"-3 °C"', '"0 m²"',
    '"1e308 m"', "2026-11-25", "08:00:00", '"\\u0000"', '"../../x"', "[[]]", "9" * 5000,
    '"\\uD800"', "0001-01-01T00:00:00Z", "9999-12-31", "[" * 3000, f'"{LONG}"', "{ a = 1 }",
)  # fmt: skip


def mutated(text: str, rng: random.Random) -> str:
    """A slip or three of the pen: a line gone, doubled or moved, a value or letter wrong."""
    lines = text.splitlines()
    for _ in range(rng.choice((1, 1, 2, 3))):
        here, other = rng.randrange(len(lines)), rng.randrange(len(lines))
        name, equals, _ = lines[here].partition("=")
        how = rng.randrange(6)
        if how == 0 and len(lines) > 2:
            del lines[here]
        elif how == 1:
            lines.insert(here, lines[other])
        elif how == 2:
            lines[here], lines[other] = lines[other], lines[here]
        elif how == 3 and lines[here]:
            at = rng.randrange(len(lines[here]))
            odd = rng.choice("\0\t\"'[]=\u2028\U0001f600")
            lines[here] = lines[here][:at] + odd + lines[here][at + 1 :]
        elif equals:
            lines[here] = f"{name}= {rng.choice(_VALUES)}"
    return "\n".join(lines)


def slip(boat: Path, seed: int) -> None:
    rng = random.Random(seed)
    sheet = boat / "sheets" / "oil-varnish.toml"
    sheet.parent.mkdir(exist_ok=True)
    whole = {
        boat / "boat.toml": BOAT.format(unit="°C"),
        boat / "work.toml": WORK,
        sheet: get_sheet("oil-varnish").path.read_text(encoding="utf-8"),
    }
    for path, text in whole.items():
        path.write_text(text, encoding="utf-8")
    path = rng.choice(list(whole))
    path.write_text(mutated(whole[path], rng), encoding="utf-8")
    for arguments in (
        ["log", "show"],
        ["log", "dry", "lining"],
        ["log", "coat", "floor"],
        ["sheets", "check"],
        ["sheets", "show", "oil-varnish"],
    ):
        result = run(*arguments, "--boat", boat)
        assert result.exit_code in (0, 1, 2, 3), (seed, arguments, result.stderr)
        assert len(result.stderr.splitlines()) == (result.exit_code in (2, 3)), (seed, arguments)


def test_a_slip_in_a_file_is_never_a_fault(boat: Path) -> None:
    for seed in range(20):
        slip(boat, seed)


@pytest.mark.slow
def test_no_slip_in_a_file_is_a_fault(boat: Path) -> None:
    for seed in range(100, 900):
        slip(boat, seed)


@pytest.mark.slow
def test_no_command_line_is_a_fault(boat: Path) -> None:
    """Words that commands know, and words they do not, in any order."""
    every_kind(boat)
    words = (  # noqa: SIM905
        "log reading coat done dry look sand heater show undo correct export saloon lining floor "
        "outdoors overhead 12C 70% -3C r1 c1 w1 i9 d1 --at --found --coat --step --start --end "
        "--until --note --last --all --panel --whole sound sanded dull 1 0 -1 99999999999999999999 "
        "now 24:00 yesterday~ Sun 25:61 --json readings coats off nan 1e400°C"
    ).split()
    for seed in range(600):
        rng = random.Random(seed)
        some = rng.choices([*words, "", "\udcff", "'", LONG], k=rng.randrange(1, 7))
        result = run("log", rng.choice(words[1:12]), *some, "--boat", boat)
        assert result.exit_code in (0, 2, 3), (seed, some, result.stderr)
        assert "fault in curewindow" not in result.stderr


@pytest.mark.parametrize("header", ["\0" * 999, "x" * 5000, "time,\x1b[31mred"])
def test_what_a_message_quotes_of_a_file_can_be_read(boat: Path, header: str) -> None:
    file = boat / "weather.csv"
    file.write_text(f"{header}\n1,2,3\n", encoding="utf-8")
    text = (boat / "boat.toml").read_text("utf-8")
    feed = 'feed = "by-hand"\nfile = "weather.csv"'
    (boat / "boat.toml").write_text(text.replace('feed = "by-hand"', feed), encoding="utf-8")
    assert one_line(run("today", "--boat", boat), 3).isprintable()
