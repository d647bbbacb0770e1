"""What the README says is so."""

import importlib.util
import re
import sys
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from curewindow.boat.schema import Work
from curewindow.cli import main

HERE = Path(__file__).parent
README = HERE.parents[1] / "README.md"

# The wheel is tested from a folder that has the tests and no README.
pytestmark = pytest.mark.skipif(not README.exists(), reason="no README beside the tests")


@pytest.fixture(scope="module")
def blocks():
    spec = importlib.util.spec_from_file_location("readme_blocks", HERE / "readme_blocks.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["readme_blocks"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def readme() -> str:
    return README.read_text("utf-8")


@pytest.mark.slow
def test_pictures_are_real_output(blocks, readme, whole_demo: Path, monkeypatch) -> None:
    # Differs? Look at the new output, then: python tests/docs/readme_blocks.py
    monkeypatch.chdir(whole_demo.parent)
    plain = CliRunner(env={"COLUMNS": str(blocks.WIDTH), "NO_COLOR": "1"})
    texts = {}
    for name, words in blocks.BLOCKS.items():
        done = plain.invoke(main.command, words, catch_exceptions=False)
        assert done.exit_code == 0, done.output
        texts[name] = done.stdout
    assert blocks.filled(readme, texts) == readme


def test_its_job_is_a_job(readme) -> None:
    texts = re.findall(r"```toml\n(.*?)```", readme, re.DOTALL)
    assert texts
    for text in texts:
        Work.model_validate(tomllib.loads(text))


def test_every_command_it_names_exists(readme) -> None:
    named = set(re.findall(r"^\$ curewindow (\w+)", readme, re.MULTILINE))
    named |= set(re.findall(r"`curewindow (\w+)", readme))
    assert named <= set(main.COMMANDS)


def test_every_command_is_named(readme) -> None:
    missing = [name for name in main.COMMANDS if f"curewindow {name}" not in readme]
    assert not missing


def test_two_shell_blocks_come_first(readme) -> None:
    assert len(re.findall(r"^```sh$", readme, re.MULTILINE)) == 2
