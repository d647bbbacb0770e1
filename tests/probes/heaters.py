"""Orders to heat: without a flue, by night, where someone sleeps, left alone."""

from __future__ import annotations

from collections.abc import Iterator

from tests.probes.scene import Probe, heating, job, space, step

COLD = {"temp_c": 3.0, "dew_point_c": -2.0}
UNFLUED = ("paraffin", "gas")


def probes() -> Iterator[Probe]:
    """A cold cabin and a coat that wants it warm."""
    work = job(step("coat", "waterborne-acrylic-varnish"), more='substrate = "bare wood"')
    for kind in UNFLUED:
        for bunk in ("cabin", "berth", ""):
            for hours in (("08:00:00", "20:00:00"), ("10:00:00", "12:00:00")):
                cabin = space(
                    "cabin",
                    heating=heating(kind, vented=False, flame=False),
                    more=f"slept_in = {str(bunk == 'cabin').lower()}",
                )
                berth = space("berth", more=f"slept_in = {str(bunk == 'berth').lower()}")
                yield Probe(
                    f"{kind} without a flue, sleeps {bunk or 'ashore'}, aboard {hours[0][:2]}-"
                    f"{hours[1][:2]}",
                    cabin + berth,
                    work,
                    told=("carbon monoxide",),
                    head={"opens": hours[0], "shuts": hours[1]},
                    **COLD,
                )
    for said in ("", 'unattended = "never"', 'unattended = "asleep aboard"', 'unattended = "yes"'):
        for kind in ("diesel", "electric"):
            routine = 'routine = [{ from = 00:00:00, setpoint = "12 °C" }]\n'
            alone = 'unattended = "yes"' not in said
            more = routine + said
            yield Probe(
                f"{kind} heater day and night, {said or 'nothing said'}",
                space(
                    "cabin",
                    heating=heating(kind, vented=kind == "diesel", flame=False, more=more),
                ),
                work,
                told=("unattended heating",) if alone else (),
                **COLD,
            )
    for kind, said, why in (
        ("paraffin", 'unattended = "yes"', "never left alone"),
        ("gas", 'unattended = "asleep aboard"', "never left alone"),
        ("solid fuel", 'unattended = "yes"', "it is tended"),
        ("electric", 'air_from = "outside"', "draws its air from outside"),
        ("diesel", 'unattended = "sometimes"', "unattended"),
    ):
        vented = kind in ("diesel", "solid fuel")
        yield Probe(
            f"{kind} heater with {said}",
            space("cabin", heating=heating(kind, vented=vented, flame=False, more=said)),
            work,
            misread=why,
        )
