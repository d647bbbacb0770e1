"""Films that are on: vapour, sleepers, rags and dust until their cause ends; small lockers."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from curewindow.record.entries import Coat, Done
from curewindow.record.store import Record
from tests.probes.scene import NOW, Probe, heating, job, space, step

BUNK = "slept_in = true"
ASHORE = "slept_in = false"
AGES_H = (1.0, 6.0, 12.0, 20.0)


def probes() -> Iterator[Probe]:
    """A coat of some hours ago in a job that is done with it, or goes on, and work elsewhere."""
    for age in AGES_H:
        for sheet, danger in (
            ("alkyd-enamel", "fire"),
            ("two-part-polyurethane-topcoat", "isocyanate"),
            ("polyester-resin", "styrene"),
            ("waterborne-acrylic-varnish", ""),
        ):
            for bunk in (BUNK, ASHORE):
                sleeps = bunk == BUNK
                told = ("sleeping",) if danger and sleeps else ()
                # a solvent coat of a day ago may have given off all it had
                if age > 12.0:
                    told = ()
                yield Probe(
                    f"{sheet} put on {age:g} h ago, {'slept in' if sleeps else 'nobody sleeps'}",
                    space("cabin", more=bunk) + space("berth", more=bunk),
                    job(step("coat", sheet), name="under", where='space = "berth"')
                    + job(step("fit")),
                    told=told,
                    not_told=() if danger and sleeps else ("sleeping",),
                    log=lambda record, sheet=sheet, age=age: _on(record, sheet, age),
                )
    for age in (2.0, 20.0, 23.0):
        for sheet, oily in (("wood-oil", True), ("waterborne-acrylic-varnish", False)):
            yield Probe(
                f"rags of {sheet}, {age:g} h",
                space("cabin", more=ASHORE),
                job(step("coat", sheet), name="under") + job(step("fit")),
                told=("rags",) if oily else (),
                not_told=() if oily else ("rags",),
                log=lambda record, sheet=sheet, age=age: _on(record, sheet, age),
            )
    for volume, small in (("1 m³", True), ("2 m³", True), ("20 m³", False)):
        yield Probe(
            f"a solvent coat in {volume}",
            space("cabin", volume=volume, area="4 m²", more=ASHORE),
            job(step("coat", "alkyd-enamel"), area="0.2 m²", more='substrate = "old alkyd, sound"'),
            told=("confined space",) if small else (),
            not_told=() if small else ("confined space",),
        )
    for area, refused in (("1 m²", False), ("400 m²", True)):
        yield Probe(
            f"{area} of contact adhesive in 6 m³",
            space("cabin", volume="6 m³", more=ASHORE),
            job(
                step("bond", "contact-adhesive-solvent"),
                area=area,
                more='substrate = "bare wood"',
            ),
            told=("vapour",),
            refused=refused,
        )
    yield Probe(
        "dust of a sanding an hour ago",
        space("cabin", more=ASHORE),
        job(step("sand"), name="under") + job(step("fit")),
        told=("dust",),
        log=lambda record: record.add_done(Done("under", 1, NOW - timedelta(hours=1))),
    )
    yield Probe(
        "paraffin heater lit over a wet coat of another cabin",
        space("cabin", more=ASHORE, heating=heating("paraffin", vented=False, flame=False))
        + space("berth", more=ASHORE),
        job(step("coat", "alkyd-enamel"), name="under", where='space = "berth"') + job(step("fit")),
        told=("fire",),
        log=lambda record: _on(record, "alkyd-enamel", 1.0),
    )


def _on(record: Record, sheet: str, age_h: float) -> None:
    end = NOW - timedelta(hours=age_h)
    record.add_coat(Coat("under", 1, 1, end - timedelta(minutes=45), end, sheet))
