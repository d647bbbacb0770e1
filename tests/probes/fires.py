"""Flames, sparks and heaters over what gives off vapour: in, next to and sealed from it."""

from __future__ import annotations

from collections.abc import Iterator

from tests.probes.scene import Probe, heating, job, space, step

# What it is, its text, does its description say that it lights vapour, does it only spark
HEATERS = {
    "gas flame": (heating("gas", vented=False, flame=True), "flame"),
    "pilot light with a flue": (heating("gas", vented=True, flame=True), "flame"),
    "glowing wire": (heating("electric", vented=False, flame=True), "flame"),
    "paraffin without a flue": (heating("paraffin", vented=False, flame=False), "flame"),
    "stove with a flue": (heating("solid fuel", vented=True, flame=False), "flame"),
    "diesel with a flue": (heating("diesel", vented=True, flame=False), "none"),
    "electric radiator": (heating("electric", vented=False, flame=False), "spark"),
}
BARE = 'substrate = "bare wood"'
PRODUCTS = {
    "alkyd enamel": ("coat", "alkyd-enamel", 'substrate = "old alkyd, sound"', True),
    "antifouling": ("coat", "antifouling", 'substrate = "old antifouling, sound"', True),
    "solvent contact adhesive": (
        "bond",
        "contact-adhesive-solvent",
        'substrate = "bare wood"',
        True,
    ),
    "waterborne varnish": ("coat", "waterborne-acrylic-varnish", BARE, False),
}
SEALED = '[[sealed]]\nbetween = ["cabin", "engine room"]\n'


def probes() -> Iterator[Probe]:
    """Each heater over each product, in the space, next to it undeclared, and sealed off."""
    for fire, (text, lights) in HEATERS.items():
        for product, (do, sheet, below, vapour) in PRODUCTS.items():
            work = job(step(do, sheet), more=below)
            for place in ("here", "next door", "sealed off"):
                here = space("cabin", heating=text if place == "here" else "")
                there = space("engine room", heating="" if place == "here" else text)
                apart = place == "sealed off"
                boat = here + there + (SEALED if apart else "")
                over = vapour and not apart and lights == "flame"
                yield Probe(
                    f"{fire} {place}, {product}",
                    boat,
                    work,
                    told=("fire",) if over or (vapour and not apart) else (),
                    not_told=() if vapour else ("fire",),
                    refused=over,
                )


IGNITIONS = (
    ("cooker", "flame"),
    ("gas water heater", "flame"),
    ("gas fridge", "flame"),
    ("stove", "flame"),
    ("battery on charge", "spark"),
    ("charger", "spark"),
    ("bilge pump", "spark"),
    ("fridge", "spark"),
    ("engine", "spark"),
)


def declared() -> Iterator[Probe]:
    """Each thing that may light vapour, on and off, over vapour and over none."""
    for kind, lights in IGNITIONS:
        for off in (False, True):
            for product in ("alkyd enamel", "waterborne varnish"):
                do, sheet, below, vapour = PRODUCTS[product]
                thing = (
                    f'[[ignition]]\nkind = "{kind}"\nspace = "galley"\noff = {str(off).lower()}\n'
                )
                yield Probe(
                    f"{kind}{' off' if off else ''} in the next space, {product}",
                    space("cabin") + space("galley") + thing,
                    job(step(do, sheet), more=below),
                    told=("fire",) if vapour else (),
                    not_told=() if vapour else ("fire",),
                    refused=vapour and lights == "flame" and not off,
                )
