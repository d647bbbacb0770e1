"""What a picture shows, in words: for those who cannot see it, and to be sure."""

from __future__ import annotations

from typing import Literal

import numpy as np

from curewindow.charts.scene import LEAST_G_M2, Scene
from curewindow.charts.stretches import stretches
from curewindow.series import BoolArray


def stretches_text(scene: Scene, mask: BoolArray, most: int = 3) -> str:
    """'now to Thu 09:10, Fri 02:00 to 07:40 and 2 more'; '' where it never holds.

    What ended before now is left out, and what reaches the right edge says so.
    """
    words = scene.words
    ahead = [(a, b) for a, b in stretches(scene, mask) if b >= words.now]
    if not ahead:
        return ""
    if len(ahead) == 1 and ahead[0][0] <= words.now and ahead[0][1] >= scene.right:
        return "all the time shown"
    parts = []
    for begin, end in ahead[:most]:
        opens = "now" if begin <= words.now else words.when(begin)
        if end >= scene.right:
            parts.append(f"from {opens}" if opens != "now" else "from now on")
            continue
        same = words.local(max(begin, words.now)).date() == words.local(end).date()
        parts.append(f"{opens} to {words.clock(end) if same else words.when(end)}")
    more = len(ahead) - most
    return f"{', '.join(parts)}{f' and {more} more' if more > 0 else ''}"


def wet_texts(scene: Scene) -> list[str]:
    """What frost and dew form on the surface and lie on the panels, a sentence each."""
    told = []
    for what, mask in (("frost", scene.frost), ("dew", scene.dew)):
        when = stretches_text(scene, mask)
        if when:
            told.append(f"{what} forms on the {scene.surface}: {when}")
    for each in scene.lying:
        for what, values in (("frost", each.frost_g_m2), ("water", each.water_g_m2)):
            when = stretches_text(scene, values >= LEAST_G_M2)
            if when:
                most = f"up to {np.nanmax(values):.0f} g/m²"
                told.append(f"{what} lies on the {each.panel}: {when}, {most}")
    return told


def lies(scene: Scene, what: Literal["frost", "water"]) -> BoolArray:
    """True where a gram or more lies on any panel."""
    there = np.zeros(scene.times.size, np.bool_)
    for each in scene.lying:
        there |= (each.frost_g_m2 if what == "frost" else each.water_g_m2) >= LEAST_G_M2
    return there


def coldest_text(scene: Scene) -> str:
    """'coldest surface: mostly bilge, else locker side'; '' where it is always the same one."""
    if len(scene.coldest) < 2:
        return ""
    first, *others = scene.coldest
    return f"coldest surface: mostly {first}, else {', '.join(others)}"
