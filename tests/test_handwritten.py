"""Hand-written files: whatever is wrong with one, one clear line says so."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from curewindow.errors import SheetError
from curewindow.handwritten import parse_file, place_in
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
        ('kind = "varnish"', 'kidn = "varnish"', "kidn", "did you mean 'kind'?"),
        ('basis = "tin label"', 'basis = "x"\nnaem = "y"', "naem", "did you mean 'name'?"),
        ("air = {", "ari = {", "applying.ari", "did you mean 'air'?"),
        ('{ min = "8 °C" }', '{ mni = "8 °C" }', "applying.air.mni", "did you mean 'min'?"),
        ("touch_dry = [", "touchdry = [", "cure.touchdry", "did you mean 'touch_dry'?"),
        ("from = [", "form = [", "recoat[1].form", "did you mean 'from'?"),
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
    where = {"recoat[1].form": "recoat 1, form", "cure.touch_dry[2]": "cure.touch_dry 2"}
    at = re.match(rf"{re.escape(str(path))}: (?:line (\d+), )?([^:]+): ", line)
    assert at is not None, line
    assert at[2] == where.get(key, key)
    told = path.read_text(encoding="utf-8").splitlines()[int(at[1]) - 1]
    last = key.rpartition(".")[2].partition("[")[0]
    assert last in told
    assert bad.value.key == key
    assert says in line
    assert "\n" not in line


def test_no_misspelt_key_hides_behind_what_is_missing_for_it(tmp_path: Path) -> None:
    """Whatever else is wrong, each unknown key is named with the known one it is near."""
    path = tmp_path / "mine.toml"
    written = GOOD.replace('kind = "varnish"', 'kidn = "varnish"').replace("from = [", "form = [")
    path.write_text(written.replace('"8 °C"', '"8"'), encoding="utf-8")
    with pytest.raises(SheetError) as bad:
        parse_file(path, Sheet, SheetError)
    line = str(bad.value)
    for wrong, right in (("kidn", "kind"), ("form", "from")):
        assert wrong in line
        assert f"did you mean '{right}'?" in line
    assert line.endswith(" more)")  # what is missing, and the unit
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


_WORK = """
[[job]]
name = "rail"   # the first
outdoors = true

[[job.step]]
do = "sand"

[[job]]
name = "chart table"
space = "saloon"
[[job.step]]
do = "sand"
[[job.step]]
do = "coat"
sheet = "foo"
step.tools = [{ name = "x" }]
[job.more]
"odd key" = 1
"""


@pytest.mark.parametrize(
    ("key", "place"),
    [
        ("job[1].name", "line 3, job 'rail', name"),
        ("job[2].step[2].sheet", "line 16, job 'chart table', step 2, sheet"),
        ("job[2].step[2].hands_on", "line 14, job 'chart table', step 2, hands_on"),
        ("job[2].area", "line 9, job 'chart table', area"),
        (
            "job[2].step[2].step.tools[1].name",
            "line 17, job 'chart table', step 2, step, tools 'x'",
        ),
        ("job[2].more.odd key", "line 19, job 'chart table', more.odd key"),
        ("job[9].area", "job 9.area"),
        ("nothing", "nothing"),
    ],
)
def test_a_key_is_told_by_its_line_and_its_job(key: str, place: str) -> None:
    said = place_in(_WORK, key)
    assert said.removesuffix(", name") == place.removesuffix(", name")


def test_what_is_no_toml_has_its_key_for_a_place() -> None:
    assert place_in("[[[", "job[1].name") == "job[1].name"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("x = " + "[" * 3000, "too deep to read"),
        ("x = " + "9" * 5000, "Exceeds the limit"),
        ("x = 2026-02-31", "not valid TOML"),
    ],
)
def test_what_no_reader_can_take_is_one_line(tmp_path: Path, content: str, says: str) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(SheetError, match=says):
        parse_file(path, Sheet, SheetError)
