"""The bars beneath a picture: windows, heater, hours aboard, frost and dew, broken limits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from curewindow.charts.alttext import lies
from curewindow.charts.scene import Scene
from curewindow.charts.stretches import stretches


@dataclass(frozen=True, slots=True)
class Strip:
    """One bar: its name, when it is filled, how it looks, and what stands there if it never is."""

    label: str
    spans: list[tuple[datetime, datetime]]
    colour: str
    hatch: str
    none: str = ""


def strips_of(scene: Scene) -> list[Strip]:
    """The bars of a scene, windows first; frost, dew and broken limits only where there are any."""
    strips = [
        Strip(
            "may start and finish" if scene.job else bar.job,
            list(bar.spans),
            "#009E73",
            "",
            "none in this time",
        )
        for bar in scene.windows
        if bar.status != "done"
    ]
    if scene.heat_w is not None:
        strips.append(
            Strip("heater on", stretches(scene, scene.heat_w > 0.0), "#E69F00", "", "off")
        )
    strips.append(Strip("aboard", stretches(scene, scene.aboard), "#ffffff", "", "nobody"))
    for name, mask, colour, hatch in (
        ("frost forms", scene.frost, "#ffffff", "xxxx"),
        ("dew forms", scene.dew, "#56B4E9", "...."),
        ("frost lies", lies(scene, "frost"), "#ffffff", "xx"),
        ("water lies", lies(scene, "water"), "#56B4E9", ".."),
    ):
        if mask.any():
            strips.append(Strip(name, stretches(scene, mask), colour, hatch))
    for complaint in dict.fromkeys(limit.complaint for limit in scene.limits):
        broken = np.any([x.broken for x in scene.limits if x.complaint == complaint], axis=0)
        if broken.any():
            strips.append(Strip(complaint, stretches(scene, broken), "#dddddd", "////"))
    return strips
