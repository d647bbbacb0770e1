"""What a picture shows, in words: for those who cannot see it, and to be sure."""

from __future__ import annotations

from typing import Literal

import numpy as np

from curewindow.charts.scene import LEAST_G_M2, Scene
from curewindow.charts.stretches import stretches
from curewindow.series import BoolArray
from curewindow.voice import picture


def stretches_text(scene: Scene, mask: BoolArray, most: int = 3) -> str:
    """When a mask holds, in words; '' where it never does. What ended before now is left out."""
    ahead = [(a, b) for a, b in stretches(scene, mask) if b >= scene.words.now]
    return picture.stretches_text(ahead, scene.right, scene.words, most)


def wet_texts(scene: Scene) -> list[str]:
    """What frost and dew form on the surface and lie on the panels, a sentence each."""
    told = []
    for what, mask in (("frost", scene.frost), ("dew", scene.dew)):
        when = stretches_text(scene, mask)
        if when:
            told.append(picture.forms_text(what, scene.surface, when))
    for each in scene.lying:
        for what, values in (("frost", each.frost_g_m2), ("water", each.water_g_m2)):
            when = stretches_text(scene, values >= LEAST_G_M2)
            if when:
                most = float(np.nanmax(values))
                told.append(picture.lies_text(what, each.panel, when, most))
    return told


def lies(scene: Scene, what: Literal["frost", "water"]) -> BoolArray:
    """True where a gram or more lies on any panel."""
    there = np.zeros(scene.times.size, np.bool_)
    for each in scene.lying:
        there |= (each.frost_g_m2 if what == "frost" else each.water_g_m2) >= LEAST_G_M2
    return there
