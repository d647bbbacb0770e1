"""Many boats at once: each planned in a process of its own, a line for each."""

from curewindow.fleet.models import FleetBoat

__all__ = ["FleetBoat"]
