"""Conditions at every surface, past and to come: weather, readings and boat put together."""

from curewindow.conditions.changed import Changed
from curewindow.conditions.course import SpaceConditions
from curewindow.conditions.drying import DryingCoat, drying_coats
from curewindow.conditions.learned import Learned
from curewindow.conditions.learned_file import keep_learned, learned_in
from curewindow.conditions.spaces import boat_conditions, space_conditions
from curewindow.conditions.surfaces import surface_series

__all__ = [
    "Changed",
    "DryingCoat",
    "Learned",
    "SpaceConditions",
    "boat_conditions",
    "drying_coats",
    "keep_learned",
    "learned_in",
    "space_conditions",
    "surface_series",
]
