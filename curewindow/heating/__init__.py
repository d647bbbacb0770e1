"""What heat would open a start for a coat: lit when, how warm, how long, for how much fuel.

The search itself, `compose`, is loaded by who makes a plan: most answers are of kept ones.
"""

from curewindow.heating.choice import Planned
from curewindow.heating.coat import Below, HeatedCoat
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
    "room_from",
]
