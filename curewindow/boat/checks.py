"""What boat.toml and work.toml must agree on beyond the shape of each table."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from datetime import time
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

from curewindow.boat.addresses import check_no_passwords
from curewindow.boat.cabinchecks import check_doors, check_drier, check_heating
from curewindow.boat.reachchecks import check_ignition, check_sealed
from curewindow.boat.schema import (
    Boat,
    Delivery,
    Job,
    Panel,
    Space,
    Step,
    Work,
)
from curewindow.boat.sensorchecks import check_sensors
from curewindow.boat.servicechecks import check_kept, check_service
from curewindow.errors import BoatError
from curewindow.nearest import did_you_mean, nearest_or_all
from curewindow.quantity import ranges
from curewindow.rules.work import WITH_PRODUCT

OUTDOORS = "outdoors"
_BASE_ADDRESS = re.compile(r"^https?://[^\s/?#@\\]+(?:/[^\s?#@\\]*)?$", re.IGNORECASE)
# What 'outside' of a panel may be without being a space; the name of outdoor readings.
_RESERVED = ("air", "water", OUTDOORS)


def check_boat(boat: Boat, path: Path | None) -> None:
    """Check what the parts of boat.toml say about each other.

    Raises
    ------
    BoatError
        The first thing that is wrong, with its key and what would be right.
    """
    check_no_passwords(boat, path, BoatError)
    _check_zone(boat.place.time_zone, path)
    _check_base_address(boat.weather.base_address, path)
    for number, hours in enumerate(boat.hours, 1):
        # 00:00 as the end is midnight, the end of that day.
        if hours.until != time(0) and hours.from_ >= hours.until:
            raise BoatError(
                f"'from' ({hours.from_:%H:%M}) must be before 'until' ({hours.until:%H:%M}); "
                "write hours over midnight as two entries",
                file=path,
                key=f"hours[{number}].until",
            )
    if boat.weather.feed == "file" and not boat.weather.file:
        raise BoatError(
            "is missing: feed = 'file' needs the name of the EPW or CSV file",
            file=path,
            key="weather.file",
        )
    names = [space.name for space in boat.space]
    _check_unique(names, "space", path)
    for number, space in enumerate(boat.space, 1):
        if space.name.casefold() in _RESERVED:
            raise BoatError(
                f"'{space.name}' already means something; give the space another name",
                file=path,
                key=f"space[{number}].name",
            )
    for number, space in enumerate(boat.space, 1):
        _check_space(space, names, f"space[{number}]", path)
    for number, space in enumerate(boat.space, 1):
        _check_outlet(space, boat, f"space[{number}].heating.outlet_of", path)
    check_service(boat.service, boat.channel, boat.tin, names, path)
    check_kept(boat.tins_kept, names, path, "tins_kept")
    check_sensors(boat, path)
    check_doors(boat.door, names, path)
    _check_figures(boat, ranges.BOAT, path)
    check_sealed(boat, names, path)
    check_ignition(boat, names, path)


def _check_figures(
    described: Boat | Work, allowed: dict[str, ranges.PlausibleRange], path: Path | None
) -> None:
    for key, problem in ranges.implausible(described, allowed):
        raise BoatError(problem, file=path, key=key)


def _check_base_address(address: str | None, path: Path | None) -> None:
    """Where a service of one's own stands: asked by HTTP, paths and queries are ours."""
    if address is not None and not _BASE_ADDRESS.match(address):
        raise BoatError(
            "is where a service of your own stands, such as 'http://localhost:8080', "
            "without query or login",
            file=path,
            key="weather.base_address",
        )


def _check_zone(name: str, path: Path | None) -> None:
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        hint = (
            did_you_mean(name, available_timezones())
            or "write an IANA name such as 'Europe/London'"
        )
        raise BoatError(
            f"'{name}' is not a time zone; {hint}", file=path, key="place.time_zone"
        ) from None


def _check_space(space: Space, names: Sequence[str], key: str, path: Path | None) -> None:
    others = [name for name in names if name != space.name]
    for number, other in enumerate(space.connected_to, 1):
        if other not in others:
            raise BoatError(
                f"'{other}' is not another space; {nearest_or_all(other, others)}",
                file=path,
                key=f"{key}.connected_to[{number}]",
            )
    if not space.logged_only:
        remedy = "or set logged_only = true to go by readings alone"
        if not space.volume:
            raise BoatError(
                f"space '{space.name}' needs its volume, such as '14 m³', {remedy}",
                file=path,
                key=f"{key}.volume",
            )
        if not space.panel:
            raise BoatError(
                f"space '{space.name}' needs at least one panel, {remedy}",
                file=path,
                key=f"{key}.panel",
            )
    _check_unique([panel.name for panel in space.panel], f"{key}.panel", path)
    for number, panel in enumerate(space.panel, 1):
        _check_panel(panel, others, f"{key}.panel[{number}]", path)
    if space.dehumidifier is not None:
        check_drier(space.dehumidifier, f"{key}.dehumidifier", path)
    if space.heating is not None:
        check_heating(space.heating, f"{key}.heating", path)


def _check_outlet(space: Space, boat: Boat, key: str, path: Path | None) -> None:
    """An outlet belongs to a heater that stands in another space and is no outlet itself."""
    if space.heating is None or space.heating.outlet_of is None:
        return
    wanted = space.heating.outlet_of
    others = [
        other.name
        for other in boat.space
        if other is not space and other.heating is not None and other.heating.outlet_of is None
    ]
    if wanted not in others:
        raise BoatError(
            f"'{wanted}' is not another space with a heater; {nearest_or_all(wanted, others)}",
            file=path,
            key=key,
        )


def _check_panel(panel: Panel, others: Sequence[str], key: str, path: Path | None) -> None:
    from curewindow.physics.materials import MATERIALS

    if panel.outside not in ("air", "water") and panel.outside not in others:
        known = ["air", "water", *others]
        raise BoatError(
            f"'{panel.outside}' is neither 'air', 'water' nor another space; "
            f"{nearest_or_all(panel.outside, known)}",
            file=path,
            key=f"{key}.outside",
        )
    if not panel.area > 0.0:
        raise BoatError("must be more than 0 m²", file=path, key=f"{key}.area")
    for number, layer in enumerate(panel.layers, 1):
        if not layer.thickness > 0.0:
            raise BoatError(
                "must be more than 0 mm",
                file=path,
                key=f"{key}.layers[{number}].thickness",
            )
        if layer.conductivity is not None and not layer.conductivity > 0.0:
            raise BoatError(
                "must be more than 0 W/mK", file=path, key=f"{key}.layers[{number}].conductivity"
            )
        if layer.conductivity is None and layer.material not in MATERIALS:
            raise BoatError(
                f"'{layer.material}' is not in the material table; "
                f"{nearest_or_all(layer.material, MATERIALS)}; "
                "or give its own conductivity, such as '0.035 W/mK'",
                file=path,
                key=f"{key}.layers[{number}].material",
            )


def check_work(work: Work, boat: Boat, path: Path | None, sheets: Collection[str]) -> None:
    """Check the work list against itself, the boat and the sheets there are.

    Parameters
    ----------
    work, boat : Work, Boat
        What was read.
    path : Path or None
        The work list's file, for messages.
    sheets : collection of str
        Names of all sheets that can be used.

    Raises
    ------
    BoatError
        The first thing that is wrong, with its key and what would be right.
    """
    check_no_passwords(work, path, BoatError)
    names = [job.name for job in work.job]
    _check_unique(names, "job", path)
    for number, job in enumerate(work.job, 1):
        key = f"job[{number}]"
        _check_where(job, boat, key, path)
        relations = (
            ("after", job.after),
            ("after_touch_dry", job.after_touch_dry),
            ("after_cured", job.after_cured),
        )
        for field, wanted in relations:
            for position, other in enumerate(wanted, 1):
                if other not in names:
                    raise BoatError(
                        f"there is no job '{other}'; {nearest_or_all(other, names)}",
                        file=path,
                        key=f"{key}.{field}[{position}]",
                    )
        for position, delivery in enumerate(job.delivery, 1):
            _check_delivery(delivery, f"{key}.delivery[{position}]", path)
        for position, step in enumerate(job.step, 1):
            _check_step(step, job, sheets, f"{key}.step[{position}]", path)
    _check_circles(work, path)
    _check_figures(work, ranges.WORK, path)


def _check_where(job: Job, boat: Boat, key: str, path: Path | None) -> None:
    if job.space is None:
        if job.panel is not None:
            raise BoatError(
                "a panel belongs to a space: name the space, or leave the panel out outdoors",
                file=path,
                key=f"{key}.panel",
            )
        return
    if job.outdoors:
        raise BoatError(
            f"outdoors = true and space = '{job.space}' cannot both be; leave one out",
            file=path,
            key=f"{key}.outdoors",
        )
    space = boat.find_space(job.space)
    if space is None:
        raise BoatError(
            f"boat.toml has no space '{job.space}'; "
            f"{nearest_or_all(job.space, [s.name for s in boat.space])}",
            file=path,
            key=f"{key}.space",
        )
    panels = [panel.name for panel in space.panel]
    # A space known by its readings alone may have panels known by readings alone.
    undescribed = space.logged_only and not panels
    if job.panel is not None and job.panel not in panels and not undescribed:
        raise BoatError(
            f"space '{space.name}' has no panel '{job.panel}'; {nearest_or_all(job.panel, panels)}",
            file=path,
            key=f"{key}.panel",
        )


def _check_delivery(delivery: Delivery, key: str, path: Path | None) -> None:
    ranged = delivery.earliest is not None or delivery.latest is not None
    if delivery.on is not None and ranged:
        raise BoatError(
            "give either 'on' or 'earliest' and 'latest', not both", file=path, key=f"{key}.on"
        )
    if delivery.on is None and not ranged and not delivery.arrived:
        raise BoatError(
            "needs a date: on = 2025-01-31, or earliest and latest; or arrived = true",
            file=path,
            key=key,
        )
    if (
        delivery.earliest is not None
        and delivery.latest is not None
        and delivery.earliest > delivery.latest
    ):
        raise BoatError(
            f"'earliest' ({delivery.earliest}) is after 'latest' ({delivery.latest}); swap them",
            file=path,
            key=f"{key}.latest",
        )


def _check_step(step: Step, job: Job, sheets: Collection[str], key: str, path: Path | None) -> None:
    if step.do in WITH_PRODUCT:
        if step.sheet is None:
            raise BoatError(
                f"is missing: a '{step.do}' step needs the sheet of its product",
                file=path,
                key=f"{key}.sheet",
            )
        if step.sheet not in sheets:
            hint = did_you_mean(step.sheet, sheets)
            raise BoatError(
                f"there is no sheet '{step.sheet}'" + (f"; {hint}" if hint else ""),
                file=path,
                key=f"{key}.sheet",
                by_command="" if hint else "'curewindow sheets list' shows all",
                on_page="" if hint else "'Sheets' shows all",
            )
    else:
        if step.sheet is not None:
            raise BoatError(
                f"a '{step.do}' step uses no sheet; leave it out, or make it "
                "do = 'coat', 'bond' or 'seal'",
                file=path,
                key=f"{key}.sheet",
            )
        if step.coats != 1:
            raise BoatError(
                f"a '{step.do}' step has no coats; leave it out", file=path, key=f"{key}.coats"
            )
    if step.hands_on is not None and step.rate is not None:
        raise BoatError(
            "give either 'hands_on' or 'rate', not both", file=path, key=f"{key}.hands_on"
        )
    if step.rate is not None and not job.area:
        raise BoatError(
            f"a rate needs the job's area, such as area = '6 m²' (job '{job.name}')",
            file=path,
            key=f"{key}.rate",
        )


def _check_circles(work: Work, path: Path | None) -> None:
    graph = {job.name: {*job.after, *job.after_touch_dry, *job.after_cured} for job in work.job}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as bad:
        # graphlib lists each before the one that waits for it.
        circle = " → ".join(bad.args[1])
        first = min(i for i, job in enumerate(work.job, 1) if job.name in bad.args[1])
        raise BoatError(
            f"jobs wait for each other in a circle: {circle}; take one 'after' out",
            file=path,
            key=f"job[{first}].after",
        ) from None


def _check_unique(names: Iterable[str], key: str, path: Path | None) -> None:
    met: set[str] = set()
    for number, name in enumerate(names, 1):
        if name in met:
            raise BoatError(
                f"'{name}' is there twice; each needs its own name",
                file=path,
                key=f"{key}[{number}].name",
            )
        met.add(name)
