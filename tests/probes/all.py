"""Every probe there is."""

from __future__ import annotations

from tests.probes import figures, films, fires, heaters, layers, readings, tins
from tests.probes.scene import Probe

ALL: list[Probe] = [
    *fires.probes(),
    *fires.declared(),
    *heaters.probes(),
    *layers.probes(),
    *layers.old(),
    *films.probes(),
    *figures.probes(),
    *readings.probes(),
    *tins.probes(),
]
