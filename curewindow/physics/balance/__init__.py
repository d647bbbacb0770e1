"""Heat and moisture balance of one space: temperatures of air and surfaces, vapour, dew."""

from curewindow.physics.balance.network import ExactStep, Network, exact_step, steady_nodes
from curewindow.physics.balance.simulate import SpaceResult, SpaceState, simulate
from curewindow.physics.balance.space import (
    Layer,
    Outside,
    PanelModel,
    SpaceModel,
    space_network,
)
from curewindow.physics.balance.start import corrected, start_from_reading, start_in_balance

__all__ = [
    "ExactStep",
    "Layer",
    "Network",
    "Outside",
    "PanelModel",
    "SpaceModel",
    "SpaceResult",
    "SpaceState",
    "corrected",
    "exact_step",
    "simulate",
    "space_network",
    "start_from_reading",
    "start_in_balance",
    "steady_nodes",
]
