"""The guide and the README name no file that is not there, and the guide every room."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCS = ("DEVELOPERS.md", "README.md")

pytestmark = pytest.mark.skipif(
    not all((ROOT / name).exists() for name in DOCS), reason="no guide beside the tests"
)

# In a boat folder, in a wheel, on the page, or made by following a recipe.
ELSEWHERE = re.compile(
    r"(boat|work|weather)\.toml|(told|winters-\d)\.(json|csv)|\w+\.db|forecasts/"
    r"|curewindow/_products|/calendar\.ics|/api/.*|DIR/.*|[\w-]*/?NAME\.toml|saloon\.svg"
    r"|curewindow/weather/buoy\.py|/etc/.*|:/.*"
)
PATH = re.compile(
    r"[\w.*-]*(?:/[\w.*-]+)+/?|[\w.*-]+/|[\w.*-]+\.(?:py|toml|md|json|csv|txt|html|service|js|css|db)"
)


def named(text: str) -> list[str]:
    """Words in code marks and link targets that have the form of a path."""
    marked = re.findall(r"`([^`\n]+)`", re.sub(r"```.*?```", "", text, flags=re.DOTALL))
    linked = re.findall(r"(?:\]\(|src=\")([^):\"]+)[)\"]", text)
    words = [word for piece in marked for word in piece.split()] + linked
    return [word for word in words if PATH.fullmatch(word) and not re.search(r"://", word)]


def there() -> list[str]:
    tops = ("curewindow", "service", "tests", "products", ".ci")
    found = [path for top in tops for path in (ROOT / top).rglob("*")]
    return ["/" + str(path.relative_to(ROOT)) for path in [*found, *ROOT.iterdir()]]


def is_there(word: str, paths: list[str]) -> bool:
    """A path may be told from any folder on: `weather/choose.py`."""
    if "*" in word:
        pattern = re.compile("/" + re.escape(word.strip("/")).replace(r"\*", "[^/]*") + "$")
        return any(pattern.search(path) for path in paths)
    return any(path.endswith("/" + word.strip("/")) for path in paths)


@pytest.mark.parametrize("name", DOCS)
def test_every_path_it_names_is_there(name: str) -> None:
    paths = there()
    words = named((ROOT / name).read_text("utf-8"))
    assert len(words) > 10
    gone = {word for word in words if not ELSEWHERE.fullmatch(word) and not is_there(word, paths)}
    assert not gone, f"{name} names what is not there: {sorted(gone)}"


def test_every_room_is_in_the_guide() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    plan = guide.split("## How the house is laid out\n")[1].split("\n## ")[0]
    package = ROOT / "curewindow"
    rooms = {path.name + "/" for path in package.iterdir() if (path / "__init__.py").exists()}
    rooms |= {path.name for path in package.glob("*.py") if not path.name.startswith("__")}
    missing = sorted(room for room in rooms if f"`{room}`" not in plan and f"/{room}`" not in plan)
    assert not missing, f"say what is in {missing}, in 'How the house is laid out'"


def test_the_guard_sees_them() -> None:
    words = named("Look at `order/part.py` and `a b`, `*pages.py`, [x](LICENSE.md), `x = 1`.")
    assert words == ["order/part.py", "*pages.py", "LICENSE.md"]
    assert is_there("b/c.py", ["/a/b/c.py"])
    assert not is_there("c.py", ["/a/xc.py"])
    assert is_there("*c.py", ["/a/xc.py"])
