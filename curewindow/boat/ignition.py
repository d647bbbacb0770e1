"""What aboard can light vapour, apart from heaters and dehumidifiers."""

from __future__ import annotations

from typing import Final, Literal, NamedTuple

from pydantic import Field

from curewindow.handwritten import FileModel

IgnitionKind = Literal[
    "cooker",
    "gas water heater",
    "gas fridge",
    "stove",
    "battery on charge",
    "charger",
    "engine",
    "generator",
    "bilge pump",
    "water pump",
    "fridge",
    "other",
]


class _Habit(NamedTuple):
    """What a thing of the kind usually is."""

    flame: bool
    by_itself: bool


# Common practice, no source: a flame or pilot light, and what a thermostat, float switch,
# pressure switch or charger starts with nobody there.
_HABITS: Final[dict[IgnitionKind, _Habit]] = {
    "cooker": _Habit(flame=True, by_itself=False),
    "gas water heater": _Habit(flame=True, by_itself=True),
    "gas fridge": _Habit(flame=True, by_itself=True),
    "stove": _Habit(flame=True, by_itself=False),
    "battery on charge": _Habit(flame=False, by_itself=True),
    "charger": _Habit(flame=False, by_itself=True),
    "engine": _Habit(flame=False, by_itself=False),
    "generator": _Habit(flame=False, by_itself=True),
    "bilge pump": _Habit(flame=False, by_itself=True),
    "water pump": _Habit(flame=False, by_itself=True),
    "fridge": _Habit(flame=False, by_itself=True),
    "other": _Habit(flame=True, by_itself=True),
}


class Ignition(FileModel):
    """Something aboard that can light vapour: a flame, a pilot light or what sparks."""

    kind: IgnitionKind
    name: str = Field("", description="what it is, where the kind does not say: needed for 'other'")
    space: str = Field(description="the space it stands in")
    by_itself: bool | None = Field(
        None,
        description="does a thermostat, float switch or pilot light start it? else as is usual",
    )
    flame: bool | None = Field(
        None, description="does it burn in the cabin's air, or only spark? else as is usual"
    )
    off: bool = Field(
        False, description="out and cold, fuel shut at the bottle or switched off at the main"
    )

    @property
    def called(self) -> str:
        """What it is called."""
        return self.name or self.kind

    @property
    def burns(self) -> bool:
        """Does it have a flame in the cabin's air, if only a pilot light?"""
        return _HABITS[self.kind].flame if self.flame is None else self.flame

    @property
    def starts_itself(self) -> bool:
        """Does it start with nobody's hand on it?"""
        return _HABITS[self.kind].by_itself if self.by_itself is None else self.by_itself
