"""The pydantic types of hand-written files: text with a unit in, a plain float inside.

In JSON mode they write text that reads to exactly the same float.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BeforeValidator, PlainSerializer, WithJsonSchema

from curewindow.quantity.kinds import (
    AIR_CHANGE,
    AREA,
    CONDUCTIVITY,
    DENSITY,
    DURATION,
    FILM,
    HEAT_CAPACITY,
    LENGTH,
    LIQUID,
    MASS,
    MOISTURE_FLOW,
    PERCENT,
    POWER,
    RATE_PER_AREA,
    SPACE_VOLUME,
    SPEED,
    SPREADING,
    TEMP_DIFFERENCE,
    TEMPERATURE,
    VOC,
    QuantityKind,
)
from curewindow.quantity.written import parse, write


def _reader(kind: QuantityKind) -> Callable[[Any], float]:
    def read(value: Any) -> float:
        return parse(value, kind)

    return read


def _writer(kind: QuantityKind) -> Callable[[float], str]:
    def show(value: float) -> str:
        return write(value, kind)

    return show


def _schema(kind: QuantityKind) -> WithJsonSchema:
    return WithJsonSchema(
        {
            "type": "string",
            "description": f"{kind.name} with its unit, such as '{kind.example}'",
            "pattern": r"^\s*[+\-−–]?\s*[\d.,]+([eE][+-]?\d+)?\s*\S.*$",
            "examples": [kind.example],
        }
    )


def _serializer(kind: QuantityKind) -> PlainSerializer:
    return PlainSerializer(_writer(kind), return_type=str, when_used="json")


# One line a type, so that type checkers see plain floats.
Temperature = Annotated[
    float, BeforeValidator(_reader(TEMPERATURE)), _serializer(TEMPERATURE), _schema(TEMPERATURE)
]
TempDifference = Annotated[
    float,
    BeforeValidator(_reader(TEMP_DIFFERENCE)),
    _serializer(TEMP_DIFFERENCE),
    _schema(TEMP_DIFFERENCE),
]
Duration = Annotated[
    float, BeforeValidator(_reader(DURATION)), _serializer(DURATION), _schema(DURATION)
]
Length = Annotated[float, BeforeValidator(_reader(LENGTH)), _serializer(LENGTH), _schema(LENGTH)]
Film = Annotated[float, BeforeValidator(_reader(FILM)), _serializer(FILM), _schema(FILM)]
Area = Annotated[float, BeforeValidator(_reader(AREA)), _serializer(AREA), _schema(AREA)]
SpaceVolume = Annotated[
    float, BeforeValidator(_reader(SPACE_VOLUME)), _serializer(SPACE_VOLUME), _schema(SPACE_VOLUME)
]
Liquid = Annotated[float, BeforeValidator(_reader(LIQUID)), _serializer(LIQUID), _schema(LIQUID)]
Mass = Annotated[float, BeforeValidator(_reader(MASS)), _serializer(MASS), _schema(MASS)]
Percent = Annotated[
    float, BeforeValidator(_reader(PERCENT)), _serializer(PERCENT), _schema(PERCENT)
]
Power = Annotated[float, BeforeValidator(_reader(POWER)), _serializer(POWER), _schema(POWER)]
WindSpeed = Annotated[float, BeforeValidator(_reader(SPEED)), _serializer(SPEED), _schema(SPEED)]
AirChange = Annotated[
    float, BeforeValidator(_reader(AIR_CHANGE)), _serializer(AIR_CHANGE), _schema(AIR_CHANGE)
]
SpreadingRate = Annotated[
    float, BeforeValidator(_reader(SPREADING)), _serializer(SPREADING), _schema(SPREADING)
]
Density = Annotated[
    float, BeforeValidator(_reader(DENSITY)), _serializer(DENSITY), _schema(DENSITY)
]
Conductivity = Annotated[
    float, BeforeValidator(_reader(CONDUCTIVITY)), _serializer(CONDUCTIVITY), _schema(CONDUCTIVITY)
]
MoistureFlow = Annotated[
    float,
    BeforeValidator(_reader(MOISTURE_FLOW)),
    _serializer(MOISTURE_FLOW),
    _schema(MOISTURE_FLOW),
]
WorkingRate = Annotated[
    float,
    BeforeValidator(_reader(RATE_PER_AREA)),
    _serializer(RATE_PER_AREA),
    _schema(RATE_PER_AREA),
]
HeatCapacity = Annotated[
    float,
    BeforeValidator(_reader(HEAT_CAPACITY)),
    _serializer(HEAT_CAPACITY),
    _schema(HEAT_CAPACITY),
]
SolventContent = Annotated[float, BeforeValidator(_reader(VOC)), _serializer(VOC), _schema(VOC)]
