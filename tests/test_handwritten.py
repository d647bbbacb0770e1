"""Hand-written files: whatever is wrong with one, one clear line says so."""

from __future__ import annotations

from pathlib import Path

import pytest

from curewindow.errors import SheetError
from curewindow.handwritten import parse_file
from curewindow.sheets.schema import Sheet

GOOD = """
name = "Varnish"
kind = "varnish"
chemistry = "oxidation"
basis = "tin label"

[applying]
air = { min = "8 °C" }

[setting]
until = "touch dry"

[cure]
temps = ["10 °C", "20 °C"]
touch_dry = ["8 h", "4 h"]

[[recoat]]
from = ["24 h", "12 h"]
"""


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        ('kind = "varnish"', 'kidn = "varnish"', "kind", "is missing"),
        ('basis = "tin label"', 'basis = "x"\nnaem = "y"', "naem", "did you mean 'name'?"),
        ("air = {", "ari = {", "applying.ari", "did you mean 'air'?"),
        ('{ min = "8 °C" }', '{ mni = "8 °C" }', "applying.air.mni", "did you mean 'min'?"),
        ("touch_dry = [", "touchdry = [", "cure.touchdry", "did you mean 'touch_dry'?"),
        ("from = [", "form = [", "recoat[1].from", "is missing"),
        ('"8 °C"', '"8"', "applying.air.min", "'8' has no unit"),
        ('"8 °C"', "8", "applying.air.min", "write a temperature as '8 °C'"),
        ('"8 h", "4 h"', '"8 h", "4 °C"', "cure.touch_dry[2]", "not a unit of time span"),
        ('"varnish"', '"varnsh"', "kind", "did you mean 'varnish'?"),
        ('"touch dry"', '"touch-dry"', "setting.until", "did you mean 'touch dry'?"),
        ('"oxidation"', '"oxydation"', "chemistry", "did you mean 'oxidation'?"),
    ],
)
def test_one_line_with_file_key_and_remedy(
    tmp_path: Path, old: str, new: str, key: str, says: str
) -> None:
    assert old in GOOD
    path = tmp_path / "mine.toml"
    path.write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(SheetError) as bad:
        parse_file(path, Sheet, SheetError)
    line = str(bad.value)
    assert line.startswith(f"{path}: {key}: ")
    assert says in line
    assert "\n" not in line


def test_good_file_reads_also_with_a_byte_order_mark(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert parse_file(path, Sheet, SheetError).cure.hours("touch dry") == [8.0, 4.0]


def test_further_problems_are_counted(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(GOOD.replace('"8 °C"', "8").replace('"24 h"', "24"), encoding="utf-8")
    with pytest.raises(SheetError, match=r"and 1 more"):
        parse_file(path, Sheet, SheetError)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"name = \xff", "not UTF-8"),
        (b"name = \n", "not valid TOML"),
        (b"a = 1\na = 2\n", "line 2"),
    ],
)
def test_not_toml(tmp_path: Path, content: bytes, says: str) -> None:
    path = tmp_path / "mine.toml"
    path.write_bytes(content)
    with pytest.raises(SheetError) as bad:
        parse_file(path, Sheet, SheetError)
    assert says in str(bad.value)
    assert "\n" not in str(bad.value)


def test_not_there(tmp_path: Path) -> None:
    with pytest.raises(SheetError, match="there is no such file"):
        parse_file(tmp_path / "no.toml", Sheet, SheetError)
