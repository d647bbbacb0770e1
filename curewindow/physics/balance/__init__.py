"""Heat and moisture balance of one space: temperatures of air and surfaces, vapour, dew."""

from curewindow.physics.balance.airing import ShutCourse, aired_course
from curewindow.physics.balance.dehumidifier import Dehumidifier, capacity_kg_h
from curewindow.physics.balance.heater import HeaterModel, charge_w
from curewindow.physics.balance.network import ExactStep, Network, exact_step, steady_nodes
from curewindow.physics.balance.openings import doorway_airflow
from curewindow.physics.balance.simulate import simulate
from curewindow.physics.balance.space import (
    Doorway,
    Layer,
    Outside,
    PanelModel,
    SpaceModel,
    space_network,
)
from curewindow.physics.balance.start import corrected, start_from_reading, start_in_balance
from curewindow.physics.balance.state import SpaceResult, SpaceState

__all__ = [
    "Dehumidifier",
    "Doorway",
    "ExactStep",
    "HeaterModel",
    "Layer",
    "Network",
    "Outside",
    "PanelModel",
    "ShutCourse",
    "SpaceModel",
    "SpaceResult",
    "SpaceState",
    "aired_course",
    "capacity_kg_h",
    "charge_w",
    "corrected",
    "doorway_airflow",
    "exact_step",
    "simulate",
    "space_network",
    "start_from_reading",
    "start_in_balance",
    "steady_nodes",
]
