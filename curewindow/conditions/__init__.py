"""Conditions at every surface, past and to come: weather, readings and boat put together."""

from curewindow.conditions.course import SpaceConditions
from curewindow.conditions.spaces import boat_conditions, space_conditions
from curewindow.conditions.surfaces import surface_series

__all__ = ["SpaceConditions", "boat_conditions", "space_conditions", "surface_series"]
