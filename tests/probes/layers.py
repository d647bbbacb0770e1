"""A coat over another of a day ago, and over what stood there before."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from curewindow.record.entries import Coat
from curewindow.record.store import Record
from tests.probes.scene import NOW, Probe, job, space, step

PANEL = 'space = "cabin"\npanel = "side"'
# Above and below, by the trade's rules; the table's sources stand in products/tables.
NEVER = (
    ("two-part-polyurethane-topcoat", "alkyd-enamel"),
    ("two-part-epoxy-primer", "alkyd-enamel"),
    ("epoxy-mastic", "alkyd-wood-primer"),
    ("epoxy-filler", "alkyd-enamel"),
    ("epoxy-resin-slow", "oil-varnish"),
    ("two-part-epoxy-primer", "antifouling"),
    ("two-part-polyurethane-topcoat", "antifouling"),
    ("alkyd-enamel", "antifouling"),
    ("epoxy-adhesive", "wood-oil"),
    ("pva-wood-glue", "wood-oil"),
    ("alkyd-enamel", "zinc-rich-primer"),
    ("bilge-and-locker-paint", "zinc-rich-primer"),
    ("polyester-gelcoat", "two-part-epoxy-primer"),
    ("two-part-urethane-varnish", "oil-varnish"),
    ("alkyd-enamel", "silicone-sealant"),
    ("zinc-rich-primer", "two-part-epoxy-primer"),
)
MAY = (
    ("two-part-epoxy-primer", "two-part-epoxy-primer"),
    ("two-part-polyurethane-topcoat", "two-part-epoxy-primer"),
    ("one-part-urethane-varnish", "one-part-urethane-varnish"),
    ("waterborne-acrylic-varnish", "waterborne-acrylic-varnish"),
    ("alkyd-enamel", "alkyd-wood-primer"),
    ("oil-varnish", "oil-varnish"),
    ("bilge-and-locker-paint", "two-part-epoxy-primer-winter"),
    ("epoxy-filler", "two-part-epoxy-primer"),
)
DO = {"epoxy-adhesive": "bond", "pva-wood-glue": "bond", "silicone-sealant": "seal"}


def probes() -> Iterator[Probe]:
    """Each pair with the lower coat of a day ago, by another job on the same panel."""
    for pairs, refused in ((NEVER, True), (MAY, False)):
        for upper, lower in pairs:
            yield Probe(
                f"{upper} over {lower} of a day ago",
                space("cabin"),
                job(step(DO.get(lower, "coat"), lower), name="under", where=PANEL)
                + job(step(DO.get(upper, "coat"), upper), where=PANEL, more='after = ["under"]'),
                told=("coat below",) if refused else (),
                not_told=() if refused else ("coat below",),
                refused=refused if refused else None,
                log=lambda record, lower=lower: _on(record, lower),
            )


def _on(record: Record, sheet: str) -> None:
    begun = NOW - timedelta(hours=25)
    record.add_coat(Coat("under", 1, 1, begun, begun + timedelta(minutes=45), sheet))


PATCH = "test patch, or ask the maker"
OVER_OLD = (
    ("alkyd-enamel", "old alkyd, sound", False, ("sand it",)),
    ("two-part-polyurethane-topcoat", "old alkyd, sound", False, (PATCH,)),
    ("two-part-epoxy-primer", "bare steel", False, ()),
    ("two-part-epoxy-primer", "old antifouling, sound", True, ()),
    ("antifouling", "old antifouling, sound", False, ()),
    ("one-part-urethane-varnish", "bare wood", False, ()),
    ("epoxy-adhesive", "oiled wood", True, ()),
    ("alkyd-enamel", "old paint, unknown", False, (PATCH,)),
    ("alkyd-enamel", "old alkyd, flaking", False, ("scrape",)),
    ("two-part-epoxy-primer", "what the yard left", False, (PATCH,)),
)


def old() -> Iterator[Probe]:
    """Over what stood there before."""
    for upper, below, refused, says in OVER_OLD:
        yield Probe(
            f"{upper} over {below}",
            space("cabin"),
            job(step(DO.get(upper, "coat"), upper), where=PANEL, more=f'substrate = "{below}"'),
            told=("coat below",) if refused else (),
            refused=True if refused else None,
            says=says,
        )
