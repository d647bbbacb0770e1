"""Where tins are kept, in boat.toml: what is read, what is said of what is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from curewindow.boat.folder import load_boat
from curewindow.boat.schema import Boat
from curewindow.errors import BoatError

BOAT = """
name = "Test"
tins_kept = "home"
[place]
latitude = 52.0
longitude = 5.0
time_zone = "UTC"

[[space]]
name = "saloon"
logged_only = true

[[tin]]
sheet = "oil-varnish"
kept = "saloon"
size = "0.75 L"
aboard = 2026-11-26T10:00:00

[[tin]]
sheet = "wood-oil"
space = "saloon"

[[tin]]
sheet = "alkyd-enamel"
kept = "deck"
"""


def loaded(folder: Path, text: str) -> Boat:
    (folder / "boat.toml").write_text(text, encoding="utf-8")
    return load_boat(folder)


def test_read(tmp_path: Path) -> None:
    boat = loaded(tmp_path, BOAT)
    assert boat.tins_kept == "home"
    first, second, third = boat.tin
    assert (first.place, first.size) == ("saloon", 0.75)
    assert str(first.aboard) == "2026-11-26 10:00:00"
    assert (second.place, second.aboard_in) == ("saloon", "saloon"), "as it was written before"
    assert (third.place, third.aboard_in) == ("deck", None)


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        ('tins_kept = "home"', 'tins_kept = "hom"', "tins_kept", "did you mean 'home'?"),
        ('tins_kept = "home"', 'tins_kept = "cellar"', "tins_kept", "known: home, deck, saloon"),
        ('kept = "saloon"', 'kept = "salon"', "tin[1].kept", "did you mean 'saloon'?"),
        ('space = "saloon"', 'space = "saloon"\nkept = "home"', "tin[2].kept", "leave out one"),
        ('"0.75 L"', "0.75", "tin[1].size", "unit"),
        ('"0.75 L"', '"0 L"', "tin[1].size", "greater than 0"),
        ("aboard = 2026-11-26T10:00:00", 'aboard = "soon"', "tin[1].aboard", ""),
        ("aboard =", "abord =", "tin[1].abord", "aboard"),
    ],
)
def test_one_clear_line(tmp_path: Path, old: str, new: str, key: str, says: str) -> None:
    assert old in BOAT
    with pytest.raises(BoatError) as caught:
        loaded(tmp_path, BOAT.replace(old, new, 1))
    assert caught.value.key == key
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
