"""Nothing leaves the house unseen: see make.py, which makes the list."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

HERE = Path(__file__).parent
COMMAND = "python tests/inventory/make.py"


@pytest.fixture(scope="module")
def make() -> ModuleType:
    spec = importlib.util.spec_from_file_location("curewindow_tests_inventory", HERE / "make.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def there(make: ModuleType) -> set[str]:
    return set(make.now())


def test_what_is_new_is_listed(make: ModuleType, there: set[str]) -> None:
    new = sorted(there - set(make.read(make.LISTED)))
    assert not new, f"new; run '{COMMAND}' and commit the list:\n" + "\n".join(new)


def test_what_left_left_on_purpose(make: ModuleType, there: set[str]) -> None:
    reasons = make.left()
    gone = sorted(set(make.read(make.LISTED)) - there)
    bare = [line for line in gone if not any(make.matches(one, line) for one in reasons)]
    assert not bare, (
        f"these are gone: bring them back, or write each into {make.LEFT.name} "
        "as 'LINE -- why it left':\n" + "\n".join(bare)
    )


def test_what_is_said_to_have_left_is_gone(make: ModuleType, there: set[str]) -> None:
    listed = set(make.read(make.LISTED))
    for pattern in make.left():
        meant = [line for line in listed if make.matches(pattern, line)]
        assert meant, f"{make.LEFT.name}: no line of {make.LISTED.name} is '{pattern}'"
        back = [line for line in meant if line in there]
        assert not back, f"{make.LEFT.name}: '{pattern}' is still there: {back}"


def test_a_star_stands_for_anything_and_nothing_else_does(make: ModuleType) -> None:
    assert make.matches("key: boat space[].*", "key: boat space[].panel[]")
    assert not make.matches("key: boat space[]", "key: boat space[].panel[]")
    assert not make.matches("field: A.b", "field: Axb")
