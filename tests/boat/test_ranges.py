"""Every figure of a hand-written file has a range, and what is in it the physics can take."""

from __future__ import annotations

import math
import types
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Union, get_args, get_origin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from curewindow.boat.schema import Boat, Work
from curewindow.quantity import ranges
from curewindow.sheets.schema import Sheet
from curewindow.sheets.shelf import get_sheet, names
from tests.boat.mutated import folder_with, loaded
from tests.cases import cases

FILES: tuple[tuple[type[BaseModel], dict[str, ranges.PlausibleRange]], ...] = (
    (Boat, ranges.BOAT),
    (Work, ranges.WORK),
    (Sheet, ranges.SHEET),
)


def _models(hint: Any) -> list[type[BaseModel]]:
    if isinstance(hint, type) and issubclass(hint, BaseModel):
        return [hint]
    return [model for part in get_args(hint) for model in _models(part)]


def _holds_float(hint: Any) -> bool:
    if get_origin(hint) in (Union, types.UnionType, list):
        return any(_holds_float(part) for part in get_args(hint))
    return hint is float or (get_args(hint) and get_args(hint)[0] is float)


def _figures(model: type[BaseModel], key: str = "") -> Iterator[str]:
    for name, field in model.model_fields.items():
        called = ".".join(part for part in (key, field.alias or name) if part)
        below = _models(field.annotation)
        for each in below:
            yield from _figures(each, called)
        if not below and _holds_float(field.annotation):
            yield called


@pytest.mark.parametrize(("model", "table"), FILES, ids=lambda each: getattr(each, "__name__", ""))
def test_every_figure_has_a_range_and_every_range_a_figure(
    model: type[BaseModel], table: dict[str, ranges.PlausibleRange]
) -> None:
    figures = set(_figures(model))
    assert len(figures) > 4
    assert set(table) == figures


@pytest.mark.parametrize("table", [table for _, table in FILES])
def test_every_range_is_one(table: dict[str, ranges.PlausibleRange]) -> None:
    for key, allowed in table.items():
        least, most = allowed.bounds()
        assert -math.inf < least < most < math.inf, key
        assert allowed.problem(least) is None is allowed.problem(most), key
        for beyond in (math.nan, math.inf, -math.inf, most * 2 + 1, least - abs(least) - 1):
            assert allowed.problem(beyond), key


def test_the_whole_shelf_lies_within() -> None:
    """The control: what is known to be right is not doubted."""
    for entry in names():
        sheet = get_sheet(entry.name).sheet
        assert not list(ranges.implausible(sheet, ranges.SHEET)), entry.name


@pytest.mark.parametrize(
    ("file", "old", "new", "key", "meant"),
    [
        ("boat.toml", "water_temp", '"45 °C"', "place.water_temp", "'45 °F'"),
        ("boat.toml", "volume", '"14000 m³"', "volume", "'14000 L'"),
        ("boat.toml", "air_change", '"1e3 /h"', "air_change", ""),
        ("boat.toml", "air_change", '"50000 /h"', "air_change", "more than any"),
        ("boat.toml", "area", '"1e308 m²"', "area", "more than any"),
        ("boat.toml", "power", '"1500 kW"', "power", "more than any"),
        ("boat.toml", "power", '"900 kW"', "power", "9000 W'"),
        ("boat.toml", "power", '"2 W"', "power", "'2 kW'"),
        ("boat.toml", "latitude", "nan", "latitude", ""),
        ("boat.toml", "interior_mass", '"1e12 J/K"', "interior_mass", ""),
        ("work.toml", "area", '"12000 m²"', "area", "'12000 cm²'"),
        ("work.toml", "hands_on", '"900 h"', "hands_on", "'900 min'"),
    ],
)
def test_a_slip_is_told_with_its_key_and_what_was_meant(
    tmp_path: Path, file: str, old: str, new: str, key: str, meant: str
) -> None:
    said = loaded(folder_with(tmp_path, file, old, new))
    assert said.startswith(f"{tmp_path / file}: ")
    assert key in said
    assert meant in said


def test_a_layer_of_18_m_is_one_of_18_mm(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, "boat.toml", "water_temp", '"7 °C"')
    boat = folder / "boat.toml"
    text = boat.read_text("utf-8")
    assert 'thickness = "18 mm"' in text or 'thickness = "' in text
    head, _, tail = text.partition('thickness = "')
    boat.write_text(head + 'thickness = "18 m' + tail[tail.index('"') :], "utf-8")
    assert "did you mean '18 mm'?" in loaded(folder)


@cases(60)
@given(
    row=st.sampled_from([(key, each) for _, table in FILES for key, each in table.items()]),
    value=st.floats(),
)
def test_a_problem_is_one_short_line(row: tuple[str, ranges.PlausibleRange], value: float) -> None:
    _, allowed = row
    problem = allowed.problem(value)
    least, most = allowed.bounds()
    assert (problem is None) == (least <= value <= most)
    assert problem is None or (len(problem) < 200 and "\n" not in problem)
