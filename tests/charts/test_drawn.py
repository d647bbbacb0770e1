"""The drawings themselves: in characters, as SVG, as PNG."""

from __future__ import annotations

import functools
import struct
import sys
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from curewindow.boat.named import job_or_space
from curewindow.charts import Scene, can_show, picture_of, scene_of, terminal_lines
from curewindow.charts.figure import picture_bytes, write_picture
from curewindow.charts.scene import LyingOn
from curewindow.errors import CurewindowError
from curewindow.situation import Situation

NAMES = ["saloon", "wheelhouse windows", "forepeak frames", "hatch coaming", "wet locker primer"]


@functools.cache
def of(facts: Situation, name: str, days: float = 3.0) -> Scene:
    """One scene is drawn many times: at each width, for each reader."""
    return scene_of(facts, job_or_space(facts.boat, facts.work, name), days)


@pytest.mark.parametrize("width", [32, 40, 60, 80, 96])
@pytest.mark.parametrize("plain", [False, True])
@pytest.mark.parametrize("name", NAMES)
def test_no_wider_than_asked(demo_facts: Situation, name: str, width: int, plain: bool) -> None:
    lines = terminal_lines(of(demo_facts, name), width, plain=plain)
    assert max(map(len, lines)) <= width
    text = " ".join(" ".join(lines).split())
    assert text.isascii() == plain
    assert "aboard" in text
    assert "dew point" in text


def rows_of(lines: list[str], letter: str) -> list[int]:
    """Rows of the plot in which a letter stands, behind the axis."""
    plot = [line for line in lines if "|" in line[8:9]]
    return [row for row, line in enumerate(plot) if letter in line[9:]]


def test_lines_lie_in_order(scene: Callable[..., Scene]) -> None:
    """Level curves: air over surface over dew point, and the axis says so."""
    lines = terminal_lines(scene(), 60, plain=True)
    (air,), (surface,), (dew,) = (rows_of(lines, letter) for letter in "aSd")
    assert air < surface < dew
    assert lines[1 + air][:9] == "    12 C|"


def test_dew_frost_heater_and_now_stand_where_they_belong(scene: Callable[..., Scene]) -> None:
    frost, dew, heat = (np.zeros(49, np.bool_) for _ in range(3))
    frost[36:42], dew[24:30], heat[12:18] = True, True, True
    drawn = scene(frost=frost, dew=dew, heat_w=np.where(heat, 900.0, 0.0))
    lines = terminal_lines(drawn, 59, plain=True)  # 48 columns of an hour each
    bars = {
        line.split()[0]: line[9:]
        for line in lines
        if line[:8].strip() in ("frost", "dew", "heater")
    }
    for name, begin, end in (("frost", 36, 42), ("dew", 24, 30), ("heater", 12, 18)):
        filled = [i for i, mark in enumerate(bars[name]) if mark != " "]
        assert filled[0] == begin
        assert filled[-1] in (end - 1, end)
    assert lines[2][9 + 6] == "|"  # now, six hours in
    assert "frost forms on the side: tomorrow 12:00 until 17:00" in "\n".join(lines)


def test_what_lies_is_told_by_panel_and_drawn(scene: Callable[..., Scene]) -> None:
    frost, water = np.zeros(49), np.zeros(49)
    frost[20:30], water[30:34] = 40.0, 12.0
    drawn = scene(lying=(LyingOn("deck", water, frost),))
    lines = terminal_lines(drawn, 59, plain=True)
    bars = {line[:8].strip(): line[9:] for line in lines if line[:8].strip() in ("icy", "wet")}
    assert next(i for i, mark in enumerate(bars["icy"]) if mark != " ") == 20
    assert next(i for i, mark in enumerate(bars["wet"]) if mark != " ") == 30
    said = " ".join(" ".join(lines).split())
    assert "frost lies on the deck:" in said
    assert "up to 40 g/m2" in said
    assert "water lies on the deck:" in said
    (told,) = picture_of(drawn).lying
    assert told.frost_g_m2[25] == 40.0


def test_unknown_leaves_a_gap(scene: Callable[..., Scene]) -> None:
    surface = np.full(49, 8.0)
    surface[20:30] = np.nan
    lines = terminal_lines(scene(surface_c=surface), 59, plain=True)
    (row,) = rows_of(lines, "S")
    drawn = lines[1 + row][9:57]
    assert drawn[22:28].strip() == ""
    assert drawn[:19].count("S") >= 18


def test_nothing_known_at_all(scene: Callable[..., Scene]) -> None:
    nothing = np.full(49, np.nan)
    empty = scene(air_c=nothing, surface_c=nothing, dew_point_c=nothing, rh_pct=nothing)
    assert max(map(len, terminal_lines(empty, 40))) <= 40
    ET.fromstring(picture_bytes(empty, "svg"))


def test_fahrenheit(scene: Callable[..., Scene]) -> None:
    """12 °C is 53.6 °F, 4 °C is 39.2 °F."""
    text = "\n".join(terminal_lines(scene(fahrenheit=True), 60))
    assert "°F" in text
    assert "°C" not in text
    assert b"\xc2\xb0F" in picture_bytes(scene(fahrenheit=True), "svg")


def test_what_terminals_can_show(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm-256color")
    assert can_show("utf-8")
    assert not can_show("ascii")
    assert not can_show("latin-1")
    assert not can_show(None)
    monkeypatch.setenv("TERM", "linux")
    assert not can_show("utf-8")


@pytest.mark.parametrize("phone", [False, True])
@pytest.mark.parametrize("name", NAMES)
def test_svg_is_xml_with_its_labels(demo_facts: Situation, name: str, phone: bool) -> None:
    scene = of(demo_facts, name, 6.0)
    root = ET.fromstring(picture_bytes(scene, "svg", phone=phone))
    said = " ".join("".join(node.itertext()) for node in root.iter() if node.tag.endswith("text"))
    words = said.replace("\u00a0", " ")
    for label in ("air", "dew", "humidity", "now", "aboard", "°C"):
        assert label in words
    for word in scene.surface.split():
        assert word in words
    for name_of, mask in (("frost", scene.frost), ("dew", scene.dew)):
        if mask.any():
            assert name_of in words
    for limit in scene.limits:
        if limit.broken.any():
            assert limit.complaint in words
    # metadata for those who cannot see it
    assert scene.title in ET.tostring(root, encoding="unicode")
    width = float(root.attrib["width"].removesuffix("pt"))
    assert width == pytest.approx(72.0 * (3.9 if phone else 9.2), abs=1.0)


def test_the_same_scene_gives_the_same_bytes(demo_facts: Situation) -> None:
    scene = of(demo_facts, "wheelhouse windows")
    assert picture_bytes(scene, "svg") == picture_bytes(scene, "svg")


def test_no_text_runs_out_of_the_page(demo_facts: Situation) -> None:
    """Every text as matplotlib measures it lies within the figure."""
    from curewindow.charts.figure import _figure
    from curewindow.charts.page import DESK, PHONE

    for name in NAMES:
        for page in (DESK, PHONE):
            import matplotlib as mpl

            with mpl.rc_context({"font.size": page.font}):
                figure = _figure(of(demo_facts, name), page)
                canvas = figure.canvas
                canvas.draw()
                renderer = canvas.get_renderer()  # type: ignore[attr-defined]
                box = figure.bbox
                texts = [*figure.texts, *(t for axes in figure.axes for t in axes.texts)]
                texts += [label for axes in figure.axes for label in axes.get_yticklabels()]
                for text in texts:
                    extent = text.get_window_extent(renderer)
                    assert extent.x0 >= -1.0, (name, text.get_text())
                    assert extent.x1 <= box.x1 + 1.0, (name, text.get_text())


def test_png_is_one(demo_facts: Situation, tmp_path: Path) -> None:
    path = tmp_path / "saloon.PNG"
    write_picture(of(demo_facts, "saloon"), path, phone=True)
    head = path.read_bytes()[:24]
    # ISO/IEC 15948: signature, then width and height in the header chunk
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", head[16:24])
    assert width == pytest.approx(3.9 * 220.0, abs=2)
    assert height > width


def test_what_cannot_be_drawn(
    scene: Callable[..., Scene], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(CurewindowError, match=r"ends in \.svg or \.png"):
        write_picture(scene(), tmp_path / "a.pdf")
    with pytest.raises(CurewindowError, match="cannot be written"):
        write_picture(scene(), tmp_path / "nowhere" / "a.svg")
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    with pytest.raises(CurewindowError, match=r"pip install 'curewindow\[pictures\]'"):
        picture_bytes(scene(), "svg")


def test_several_jobs_in_a_space_are_numbered(demo_facts: Situation) -> None:
    text = "\n".join(terminal_lines(of(demo_facts, "saloon"), 80))
    assert "window 1 " in text
    assert "1 saloon doors: " in text
    one = replace(of(demo_facts, "saloon"), windows=of(demo_facts, "saloon").windows[:1])
    assert "window 1" not in "\n".join(terminal_lines(one, 80))
