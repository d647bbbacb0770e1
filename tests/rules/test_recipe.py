"""The guide's recipe for a limit, followed to the letter in a copy of the house."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

# What is run in the copy: every face that shows a limit, and a few random cases.
_FACES = """
import json, random, sys, tomllib
from datetime import UTC, datetime
from pathlib import Path
from click.testing import CliRunner
from curewindow.demo import files as demofiles
from curewindow.cli.main import command
import test_agreement

boat, at = Path(sys.argv[1]), "2026-11-25 08:30"
demofiles.write(boat, datetime(2026, 11, 25, 7, 30, tzinfo=UTC))
sheet = "waterborne-acrylic-varnish"
jobs = tomllib.loads((boat / "work.toml").read_text())["job"]
job = next(j["name"] for j in jobs if any(step.get("sheet") == sheet for step in j["step"]))
said = {}
for name, arguments in {
    "today": ["today", "--full", "--boat", boat, "--at", at],
    "json": ["today", "--json", "--boat", boat, "--at", at],
    "why": ["why", job, "--boat", boat, "--at", at],
    "why json": ["why", job, "--json", "--boat", boat, "--at", at],
    "show": ["sheets", "show", sheet, "--boat", boat],
    "check": ["sheets", "check", f"products/{sheet}.toml", "--boat", boat],
    "picture": ["picture", job, "--boat", boat, "--at", at],
    "numbers": ["picture", job, "--json", "--boat", boat, "--at", at],
    "schema": ["schema", "sheet"],
}.items():
    result = CliRunner(env={"COLUMNS": "100"}).invoke(command, [str(a) for a in arguments])
    assert result.exit_code == 0, (name, result.output, result.stderr)
    said[name] = result.stdout

count = dict.fromkeys(
    ("called good, and checked", "drawn", "allowed by both", "allowed, but refused", "followed"), 0
)
rng = random.Random(20260112)
for _ in range(40):
    test_agreement.compare(rng, count)
test_agreement.test_every_limit_has_a_second_opinion()
said["checked"] = count["called good, and checked"]
print(json.dumps(said))
"""


def recipe() -> dict[str, str]:
    """File and block of each step of the guide's recipe for a limit."""
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    part = guide.split("\n**A limit.**", 1)[1].split("\n**", 1)[0]
    steps = re.findall(r"\n\d\. `([^`]+)`.*?```text\n(.*?)\n *```", part, flags=re.DOTALL)
    return {file: textwrap.indent(textwrap.dedent(block), "    ") for file, block in steps}


def insert(file: Path, block: str) -> None:
    """The block at the end of the class, tuple or dict that the file's recipe names."""
    text = file.read_text(encoding="utf-8")
    opens = {"schema.py": "class Limits(", "limits.py": "\nKINDS: ", "checker.py": "\nLIMITS = "}
    begin = text.index(opens[file.name])
    ends = {"schema.py": "\n\n\nclass", "limits.py": "\n)", "checker.py": "\n}"}
    end = text.index(ends[file.name], begin)
    file.write_text(f"{text[:end]}\n{block}{text[end:]}", encoding="utf-8")


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The house with the new limit in it, set by every sheet of the shelf."""
    house = tmp_path_factory.mktemp("house")
    skip = shutil.ignore_patterns("__pycache__")
    shutil.copytree(ROOT / "curewindow", house / "curewindow", ignore=skip)
    shutil.copytree(ROOT / "products", house / "products")
    for name in ("checker.py", "test_agreement.py"):
        (house / "tests").mkdir(exist_ok=True)
        shutil.copy(ROOT / "tests" / name, house / "tests" / name)
    steps = recipe()
    assert 1 < len(steps) <= 3
    for file, block in steps.items():
        insert(house / file, block)
    for sheet in (house / "products").glob("*.toml"):
        text = sheet.read_text(encoding="utf-8")
        sheet.write_text(
            text.replace("\n[applying]\n", '\n[applying]\nwarmer_air = "0.2 K"\n', 1),
            encoding="utf-8",
        )
    return house


@pytest.mark.slow
def test_a_new_limit_is_three_files(copy: Path, tmp_path: Path) -> None:
    """It is judged, told, explained, shown on its sheet, drawn, and checked a second time."""
    path = os.pathsep.join([str(copy), str(copy / "tests")])
    run = subprocess.run(
        [sys.executable, "-c", _FACES, str(tmp_path / "boat")],
        cwd=copy,
        env={**os.environ, "PYTHONPATH": path, "CUREWINDOW_CACHE": str(tmp_path / "cache")},
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert run.returncode == 0, run.stderr[-3000:]
    said = json.loads(run.stdout)
    assert re.search(r"air is within 0.2 °C of|air more than 0.2 °C warmer than", said["today"])
    assert '"limit": "air above surface"' in said["json"]
    assert "air above surface" in said["why json"]
    assert "air above surface" in said["why"]
    assert "at most 0.2 °C" in said["why"]
    assert re.search(r"air above surface +up to 0.2 °C", said["show"])
    assert "warmer_air" in said["schema"]
    assert re.search(r"air over the \w+ at most 0.2 °C", " ".join(said["picture"].split()))
    assert "air above surface" in {
        limit["limit"] for limit in json.loads(said["numbers"])["limits"]
    }
    assert said["checked"] > 30
