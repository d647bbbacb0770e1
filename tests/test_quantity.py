"""Written quantities: the units of the world outside, and round trips without loss.

Conversion factors: NIST Special Publication 811 (2008), appendix B, where the
ones used here are exact by definition.
"""

from __future__ import annotations

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from curewindow import quantity
from curewindow.errors import QuantityError
from curewindow.quantity import QuantityKind, Temperature, parse, write
from tests.cases import cases

KINDS = [value for value in vars(quantity).values() if isinstance(value, QuantityKind)]


@pytest.mark.parametrize(
    ("text", "kind", "inside"),
    [
        ("32 °F", quantity.TEMPERATURE, 0.0),
        ("212 °F", quantity.TEMPERATURE, 100.0),
        ("-40 F", quantity.TEMPERATURE, -40.0),
        ("50°F", quantity.TEMPERATURE, 10.0),
        ("10 ℃", quantity.TEMPERATURE, 10.0),
        ("10,5 °C", quantity.TEMPERATURE, 10.5),
        ("−5 °C", quantity.TEMPERATURE, -5.0),
        ("9 °F", quantity.TEMP_DIFFERENCE, 5.0),
        ("3 °C", quantity.TEMP_DIFFERENCE, 3.0),
        ("90 min", quantity.DURATION, 1.5),
        ("7 d", quantity.DURATION, 168.0),
        ("1 in", quantity.LENGTH, 0.0254),
        ('3/4 "'.replace("3/4", "0.75"), quantity.LENGTH, 0.01905),
        ("1 ft", quantity.LENGTH, 0.3048),
        ("2 mil", quantity.FILM, 50.8),
        ("1 sq ft", quantity.AREA, 0.09290304),
        ("1 ft³", quantity.SPACE_VOLUME, 0.028316846592),
        ("1 lb", quantity.MASS, 0.45359237),
        ("1 oz", quantity.MASS, 0.028349523125),
        ("1 kn", quantity.SPEED, 1852.0 / 3600.0),
        ("1 mph", quantity.SPEED, 0.44704),
        ("36 km/h", quantity.SPEED, 10.0),
        ("1.5 kW", quantity.POWER, 1500.0),
        ("20 min/m²", quantity.RATE_PER_AREA, 1.0 / 3.0),
    ],
)
def test_units_of_the_world(text: str, kind: QuantityKind, inside: float) -> None:
    assert parse(text, kind) == pytest.approx(inside, rel=1e-12, abs=1e-12)


def test_a_difference_has_no_zero_point() -> None:
    # NIST SP 811: a temperature interval of 1 °F is 5/9 K
    assert parse("5 F", quantity.TEMP_DIFFERENCE) == pytest.approx(2.7778, abs=1e-4)
    assert parse("5 °F", quantity.TEMPERATURE) == pytest.approx(-15.0)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_every_example_reads(kind: QuantityKind) -> None:
    assert math.isfinite(parse(kind.example, kind))


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
@cases(40)
@given(data=st.data())
def test_written_and_read_is_the_same_float(kind: QuantityKind, data: st.DataObject) -> None:
    lowest = -1e9 if kind.minimum is None else kind.minimum
    highest = 1e9 if kind.maximum is None else kind.maximum
    value = data.draw(st.floats(lowest, highest, allow_nan=False))
    assert parse(write(value, kind), kind) == value


@pytest.mark.parametrize(
    ("kind", "unit"),
    [(kind, unit) for kind in KINDS for unit in kind.units],
    ids=lambda value: value.name if isinstance(value, QuantityKind) else value,
)
@cases(10)
@given(share=st.floats(1e-4, 0.4))
def test_every_unit_scales_evenly(kind: QuantityKind, unit: str, share: float) -> None:
    # Twice the distance from zero written is twice the distance inside: units are linear.
    zero = parse(f"0 {unit}", kind)
    factor, _ = kind.units[unit]
    value = share * (1e6 if kind.maximum is None else kind.maximum / factor)
    one = parse(f"{value!r} {unit}", kind) - zero
    two = parse(f"{2 * value!r} {unit}", kind) - zero
    assert two == pytest.approx(2 * one, rel=1e-6)
    assert one > 0


@pytest.mark.parametrize("bare", [10, 10.0, "10"])
def test_a_bare_number_is_shown_how_to_be_written(bare: object) -> None:
    with pytest.raises(QuantityError, match=r"no unit; write a temperature as '10 °C'"):
        parse(bare, quantity.TEMPERATURE)


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("10 K", quantity.TEMPERATURE, "not a unit of temperature"),
        ("10 hous", quantity.DURATION, "did you mean 'hour"),
        ("warm", quantity.TEMPERATURE, "write it like '10 °C'"),
        ("-300 °C", quantity.TEMPERATURE, "below what a temperature can be"),
        ("-1 h", quantity.DURATION, "below what"),
        ("a5 °C", quantity.TEMPERATURE, "write it like"),
        ("1,000 h", quantity.DURATION, "'1000 h' or '1.000 h'"),
        ("1e400 h", quantity.DURATION, "too large"),
        ("", quantity.DURATION, "is not a time span"),
        (True, quantity.DURATION, "is not a time span"),
        (None, quantity.DURATION, "is not a time span"),
    ],
)
def test_what_is_no_quantity_says_so(text: object, kind: QuantityKind, says: str) -> None:
    with pytest.raises(QuantityError) as bad:
        parse(text, kind)
    assert says in str(bad.value)
    assert "\n" not in str(bad.value)


@cases(200)
@given(text=st.text(max_size=20))
def test_any_text_is_a_quantity_or_a_clear_error(text: str) -> None:
    # Any other exception than a QuantityError fails here.
    with contextlib.suppress(QuantityError):
        assert math.isfinite(parse(text, quantity.TEMPERATURE))


def test_models_hold_floats_and_write_text() -> None:
    class Thing(BaseModel):
        temp: Temperature

    thing = Thing.model_validate({"temp": "50 °F"})
    assert thing.temp == pytest.approx(10.0)
    assert thing.model_dump()["temp"] == thing.temp
    assert Thing.model_validate(thing.model_dump(mode="json")) == thing


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("1e300 m²", quantity.AREA),
        ("3000 km/h", quantity.SPEED),
        ("1e9 mm", quantity.LENGTH),
        ("1e9 kW", quantity.POWER),
    ],
)
def test_what_no_boat_has_is_refused(text: str, kind: QuantityKind) -> None:
    """A slip of the pen is told here, before anything is worked out with it."""
    with pytest.raises(QuantityError, match=f"more than any {kind.name} of a boat"):
        parse(text, kind)
