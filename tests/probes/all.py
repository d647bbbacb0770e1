"""Every probe there is."""

from __future__ import annotations

from tests.probes import fires, heaters
from tests.probes.scene import Probe

ALL: list[Probe] = [*fires.probes(), *fires.declared(), *heaters.probes()]
