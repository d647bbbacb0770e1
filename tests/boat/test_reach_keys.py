"""Sealed spaces and what can light vapour in boat.toml: read, and what is said of what is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from curewindow.boat.folder import load_boat
from curewindow.boat.joined import connected_spaces, joined_spaces
from curewindow.boat.schema import Boat
from curewindow.errors import BoatError

BOAT = """
name = "Test"
[place]
latitude = 52.0
longitude = 5.0
time_zone = "UTC"
[[space]]
name = "saloon"
logged_only = true
connected_to = ["forepeak"]
[[space]]
name = "forepeak"
logged_only = true
[[space]]
name = "engine room"
logged_only = true
[[space]]
name = "wheelhouse"
logged_only = true
[[door]]
between = ["saloon", "wheelhouse"]
open = false
"""
SEALED = '[[sealed]]\nbetween = ["{}", "{}"]\n'
IGNITION = "[[ignition]]\n{}\n"
TIGHT = "".join(SEALED.format("engine room", each) for each in ("saloon", "forepeak", "wheelhouse"))


def loaded(folder: Path, more: str) -> Boat:
    (folder / "boat.toml").write_text(BOAT + more, encoding="utf-8")
    return load_boat(folder)


def names(boat: Boat, space: str, *, danger: bool = True) -> list[str]:
    found = boat.find_space(space)
    assert found is not None
    return [each.name for each in (joined_spaces if danger else connected_spaces)(boat, found)]


def test_all_spaces_are_joined_but_those_said_to_be_sealed(tmp_path: Path) -> None:
    everywhere = {"saloon", "forepeak", "engine room", "wheelhouse"}
    as_it_was = loaded(tmp_path, "")
    assert {*names(as_it_was, "engine room")} == everywhere
    assert names(as_it_was, "engine room", danger=False) == ["engine room"]
    assert names(as_it_was, "saloon")[:3] == ["saloon", "forepeak", "wheelhouse"]  # near ones first
    tight = loaded(tmp_path, TIGHT)
    assert names(tight, "engine room") == ["engine room"]
    assert {*names(tight, "saloon")} == everywhere - {"engine room"}
    around = loaded(tmp_path, SEALED.format("engine room", "saloon"))
    assert "engine room" in names(around, "saloon")


@pytest.mark.parametrize(
    ("more", "key", "says"),
    [
        (SEALED.format("engine rom", "saloon"), "sealed 1, between 1", "'engine room'"),
        (SEALED.format("saloon", "saloon"), "sealed 1, between", "two different"),
        (SEALED.format("saloon", "wheelhouse"), "sealed 1, between", "door"),
        (SEALED.format("forepeak", "saloon"), "sealed 1, between", "connected_to"),
        (TIGHT + SEALED.format("saloon", "engine room"), "sealed 4, between", "already"),
        (IGNITION.format('kind = "fridge"\nspace = "salon"'), "ignition 1, space", "'saloon'"),
        (IGNITION.format('kind = "frige"\nspace = "saloon"'), "ignition 1, kind", "'fridge'"),
        (IGNITION.format('kind = "other"\nspace = "saloon"'), "ignition 1, name", "what it is"),
        (IGNITION.format('kind = "fridge"\nspace = "saloon"\nof = true'), "ignition 1", "off"),
    ],
)
def test_what_is_wrong_is_said(tmp_path: Path, more: str, key: str, says: str) -> None:
    with pytest.raises(BoatError) as bad:
        loaded(tmp_path, more)
    assert key in str(bad.value)
    assert says in str(bad.value)


def test_what_is_not_said_of_it_is_as_usual_for_the_kind(tmp_path: Path) -> None:
    text = IGNITION.format('kind = "cooker"\nspace = "saloon"')
    text += IGNITION.format('kind = "fridge"\nspace = "saloon"')
    text += IGNITION.format('kind = "stove"\nname = "range"\nspace = "saloon"\nflame = false')
    cooker, fridge, stove = loaded(tmp_path, text).ignition
    assert (cooker.burns, cooker.starts_itself, cooker.off) == (True, False, False)
    assert (fridge.burns, fridge.starts_itself) == (False, True)
    assert (stove.burns, stove.called) == (False, "range")
