"""The values of boat.toml that the page offers to change: which, how called, of what form."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import time
from typing import Any, Literal, get_args

from curewindow.boat.schema import WeatherChoice

FieldKind = Literal["text", "quantity", "choice", "file", "number", "time", "days", "yes or no"]


@dataclass(frozen=True, slots=True)
class Field:
    """One value.

    Attributes
    ----------
    path : tuple of str or int
        Where it stands in the file.
    group, label, hint : str
        Which heading it is under, what it is called, and an example.
    kind : str
    choices : tuple of str
        For a choice.
    needed : bool
        May not be left empty.
    """

    path: tuple[str | int, ...]
    group: str
    label: str
    kind: FieldKind = "text"
    hint: str = ""
    choices: tuple[str, ...] = ()
    needed: bool = False

    @property
    def key(self) -> str:
        """As errors name it: 'space[1].volume', counted from 1."""
        text = ""
        for part in self.path:
            text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
        return text


_FEEDS: tuple[str, ...] = get_args(WeatherChoice.model_fields["feed"].annotation)
_SERVICE: tuple[tuple[str, str, FieldKind, str], ...] = (
    ("morning", "morning notice at", "time", "07:30"),
    ("quiet_from", "quiet from", "time", "22:00"),
    ("quiet_until", "quiet until", "time", "07:00"),
    ("wake_for_urgent", "urgent ones in quiet hours too", "yes or no", ""),
    ("reading_every", "ask for a reading after", "quantity", "24 h"),
    ("before_window", "tell so long before a window", "quantity", "1 h"),
)
_SPACE: tuple[tuple[str, str, FieldKind, str], ...] = (
    ("volume", "volume", "quantity", "14 m³"),
    ("air_change", "air change", "quantity", "0.5 /h"),
    ("moisture", "moisture given off", "quantity", "40 g/h"),
    ("interior_mass", "joinery and stores", "quantity", "200 kJ/K"),
    ("slept_in", "slept in", "yes or no", ""),
)
_HEATING: tuple[tuple[str, str, FieldKind, str], ...] = (
    ("power", "heater's power", "quantity", "2 kW"),
    ("fuel_price", "price of fuel", "number", "1.85"),
)


def fields_of(document: Mapping[str, Any]) -> list[Field]:
    """The fields a boat.toml has, in the order they are shown."""
    return [
        Field(
            ("units", "temperature"), "How it is shown", "temperatures in", "choice",
            choices=("°C", "°F"),
        ),
        Field(("name",), "Boat and place", "boat", needed=True),
        Field(("place", "name"), "Boat and place", "place"),
        Field(("place", "latitude"), "Boat and place", "latitude", "number", "52.2", needed=True),
        Field(("place", "longitude"), "Boat and place", "longitude", "number", "5.4", needed=True),
        Field(("place", "elevation_m"), "Boat and place", "height above the sea, m", "number", "3"),
        Field(
            ("place", "time_zone"), "Boat and place", "time zone", "text", "Europe/Amsterdam",
            needed=True,
        ),
        Field(("place", "water_temp"), "Boat and place", "water at the hull", "quantity", "7 °C"),
        *_hours(document),
        Field(("weather", "feed"), "Weather", "forecast from", "choice", choices=_FEEDS),
        Field(("weather", "file"), "Weather", "file in the boat folder", "file", "weather.csv"),
        Field(("weather", "ensemble_model"), "Weather", "ensemble model", "text", "ecmwf_ifs025"),
        *_spaces(document),
        *(
            Field(("service", key), "Reminders", label, kind, hint)
            for key, label, kind, hint in _SERVICE
        ),
    ]  # fmt: skip


def _hours(document: Mapping[str, Any]) -> Iterator[Field]:
    for number, _ in enumerate(_list(document, "hours")):
        lead = "" if number == 0 else f" ({number + 1})"
        group = "Hours aboard"
        yield Field(
            ("hours", number, "days"), group, f"days{lead}", "days", "Mon Tue Wed", needed=True
        )
        yield Field(("hours", number, "from"), group, f"from{lead}", "time", "08:00", needed=True)
        yield Field(("hours", number, "until"), group, f"until{lead}", "time", "18:00", needed=True)


def _spaces(document: Mapping[str, Any]) -> Iterator[Field]:
    for number, space in enumerate(_list(document, "space")):
        group = str(space.get("name", f"space {number + 1}"))
        for key, label, kind, hint in _SPACE:
            yield Field(("space", number, key), group, label, kind, hint)
        heating = space.get("heating")
        if not isinstance(heating, Mapping):
            continue
        for key, label, kind, hint in _HEATING:
            yield Field(("space", number, "heating", key), group, label, kind, hint)
        for step, _ in enumerate(_list(heating, "routine")):
            path = ("space", number, "heating", "routine", step)
            label = f"heating {step + 1}"
            yield Field((*path, "from"), group, f"{label} from", "time", "07:00", needed=True)
            yield Field((*path, "setpoint"), group, f"{label} to (empty: off)", "quantity", "18 °C")


def _list(table: Mapping[str, Any], key: str) -> Sequence[Mapping[str, Any]]:
    found = table.get(key, [])
    return [each for each in found if isinstance(each, Mapping)] if isinstance(found, list) else []


def shown(document: Mapping[str, Any], field: Field) -> str:
    """A field's value as it is written in the form; '' where the file has none."""
    value: Any = document
    for part in field.path:
        try:
            value = value[part]
        except (KeyError, IndexError, TypeError):
            return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, list):
        return " ".join(str(each) for each in value)
    return str(value)
