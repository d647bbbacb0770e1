"""What heat would open a start for a coat: lit when, how warm, how long, for how much fuel."""

from curewindow.heating.coat import Below, HeatedCoat
from curewindow.heating.compose import Planned, look_closer, plan_heating
from curewindow.heating.models import HeatPlan, HeatPlans
from curewindow.heating.readied import room_from
from curewindow.heating.room import Room

__all__ = [
    "Below",
    "HeatPlan",
    "HeatPlans",
    "HeatedCoat",
    "Planned",
    "Room",
    "look_closer",
    "plan_heating",
    "room_from",
]
