"""The steps of `turns` for one member, in plain floats.

For a single member numpy spends its time on the calls and not on the numbers: the same
turns in plain floats take a quarter of it. `turns.Room.settled` is the text to read;
here is the same line by line, without what is zero, and tests hold the two together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, expm1, factorial, isfinite, isnan, sqrt
from typing import Final

from curewindow.physics.air import VAPOUR_GAS_CONSTANT, saturation_of
from curewindow.physics.balance.dehumidifier import capacity_kg_h
from curewindow.physics.balance.heater import Burning, HeaterModel
from curewindow.physics.balance.turns import (
    FUSION_J_KG,
    MOST_TURNS,
    PROBE_K,
    SAME_K,
    SETTLED_W,
    VAPORISATION_J_KG,
    Room,
    Turn,
)
from curewindow.physics.elementwise import ZERO_C_IN_K

_PHI3: Final = tuple(1.0 / factorial(n + 3) for n in range(12))
# The formula of saturation is good from -100 to 100 °C; the array's own turns say so.
_RANGE_C: Final = 99.0


@dataclass(frozen=True, slots=True)
class Skin:
    """The panels' uptake of vapour [kg/(s Pa)] and each one's share of the area."""

    uptake: list[float]
    share: list[float]

    @staticmethod
    def of(room: Room) -> Skin:
        area = room.area[:, 0]
        return Skin(room.uptake[:, 0].tolist(), (area / area.sum()).tolist())


@dataclass(slots=True)
class Plain:
    """One step of one member before it is settled; see `turns.Turn`."""

    base: list[float]
    columns: list[list[float]]  # by held power: what a watt of it puts on each node
    air_c: float
    mass_c: float
    setpoint: float
    least: float
    most: float
    inflow: float
    change: float
    source: float
    vapour: float
    buffer: float
    lying: list[float]
    frost: list[float]
    works: float
    lit: bool
    lit_for_h: float


@dataclass(slots=True)
class Ended:
    """The same step settled; see `turns.Settled`."""

    reads: list[float]
    power: list[float]
    heat: float
    vapour: float
    buffer: float
    lying: list[float]
    frost: list[float]
    drying: float
    removal: float
    vented: float
    capacity: float


def plain(turn: Turn, burning: Burning, columns: list[list[float]]) -> Plain:
    """A step of one member in plain floats."""
    return Plain(
        base=turn.base[0].tolist(),
        columns=columns,
        air_c=float(turn.before[0, 0]),
        mass_c=float(turn.before[0, 1]),
        setpoint=float(turn.setpoint[0]),
        least=float(turn.least[0]),
        most=float(turn.most[0]),
        inflow=float(turn.inflow[0]),
        change=float(turn.change[0]),
        source=float(turn.source[0]),
        vapour=float(turn.vapour[0]),
        buffer=float(turn.buffer[0]),
        lying=turn.lying[:, 0].tolist(),
        frost=turn.frost[:, 0].tolist(),
        works=float(turn.works[0]),
        lit=bool(burning.lit[0]),
        lit_for_h=float(burning.for_h[0]),
    )


def settled_alone(room: Room, skin: Skin, step: Plain) -> Ended | None:
    """The end of a step, by turns; None where a value is unknown or out of range."""
    known = (step.inflow, step.change, step.source, step.vapour, step.buffer, step.air_c)
    if not all(map(isfinite, known)) or not all(abs(t) < _RANGE_C for t in step.base):
        return None
    step_s, latent = room.step_s, room.devices.latent_heat
    heater, drier = room.devices.heater, room.devices.dehumidifier
    panels = range(len(step.lying))
    own = [step.columns[1 + i][2 + i] for i in panels]
    rate, taken, freezing = ([0.0] * len(own) for _ in range(3))
    guess = drying = removal = before_guess = before_drying = 0.0
    water_kg_kwh = 0.0 if heater is None else heater.water_kg_kwh
    least, most = _reach(heater, step, step_s)
    on_panels = [each / step_s for each in step.lying]
    wet = any(each > 0.0 for each in step.lying)
    capacity_kg_s = 0.0
    if drier is not None:
        humidity = min(100.0 * step.vapour / saturation_of(step.air_c), 100.0)
        capacity_kg_s = step.works * float(capacity_kg_h(drier, step.air_c, humidity)) / 3600.0
    two: tuple[float, ...] | None = None
    middle_air = middle_mass = 0.0

    def warmed(drying: float) -> tuple[list[float], list[float], float]:
        power = [0.0] * len(step.columns)
        if latent and (wet or any(rate)):
            for i in panels:
                power[1 + i] = VAPORISATION_J_KG * rate[i] + FUSION_J_KG * freezing[i]
            heat = _heat(step, power, drying, least, most)
            power[0] = drying + heat
            reads = _reads(step, power)
            for i in panels:
                melt = own[i] * FUSION_J_KG
                to_zero = step.frost[i] - (reads[2 + i] - melt * freezing[i]) * step_s / melt
                lying = max(step.lying[i] + rate[i] * step_s, 0.0)
                freezing[i] = (min(max(to_zero, 0.0), lying) - step.frost[i]) / step_s
                power[1 + i] = VAPORISATION_J_KG * rate[i] + FUSION_J_KG * freezing[i]
        heat = _heat(step, power, drying, least, most)
        power[0] = drying + heat
        return _reads(step, power), power, heat

    for _ in range(MOST_TURNS):
        reads, power, heat = warmed(guess)
        kink, uptake = [0.0] * len(own), list(skin.uptake)
        for i in panels:
            surface = reads[2 + i]
            icy = latent and surface < 0.0
            kink[i] = saturation_of(surface, icy=icy)
            if not latent:
                continue
            frost = step.frost[i] + freezing[i] * step_s
            if not 0.0 < frost < step.lying[i] + rate[i] * step_s:
                probe = surface - PROBE_K if icy else surface + PROBE_K
                slope = abs(saturation_of(probe, icy=icy) - kink[i]) / PROBE_K
                warms = VAPORISATION_J_KG + FUSION_J_KG if icy else VAPORISATION_J_KG
                steep = slope * own[i] * warms
                uptake[i] = skin.uptake[i] / (1.0 + skin.uptake[i] * steep)
                kink[i] -= steep * taken[i]
        air, mass = (step.air_c + reads[0]) / 2.0, (step.mass_c + reads[1]) / 2.0
        moved = max(abs(air - middle_air), abs(mass - middle_mass))
        if two is None or water_kg_kwh > 0.0 or moved > SAME_K:
            middle_air, middle_mass = air, mass
            source = step.source + heat / 1000.0 * water_kg_kwh
            two = _two_state(room, air, mass, step.inflow, step.change, source)
        pull = two[3]
        free = two[0] * step.vapour + two[1] * step.buffer + two[2]
        air_pa = saturation_of(reads[0])
        was = rate
        if drier is not None:
            target = drier.target_rh_pct / 100.0 * air_pa
            removal = _removed(free, pull, kink, uptake, on_panels, target, capacity_kg_s)
            share = removal / capacity_kg_s if capacity_kg_s > 0.0 else 0.0
            drying = VAPORISATION_J_KG * removal + share * step.works * drier.power_w
            free -= pull * removal
        taken = _condensing(free, pull, kink, uptake, on_panels)
        rate = list(taken)
        if free - pull * sum(taken) > air_pa:
            for i in panels:
                taken[i] = max(uptake[i] * (air_pa - kink[i]), -on_panels[i])
            fog = max((free - air_pa) / pull - sum(taken), 0.0)
            rate = [taken[i] + fog * skin.share[i] for i in panels]
        end = free - pull * sum(rate)
        changed = abs(drying - guess)
        if latent:
            for i in panels:
                changed = max(changed, VAPORISATION_J_KG * abs(rate[i] - was[i]))
        if changed < SETTLED_W:
            break
        run = guess - before_guess
        slope = (drying - before_drying) / run if abs(run) > 1e-9 else 0.0
        before_guess, before_drying = guess, drying
        guess += (drying - guess) / (1.0 - min(max(slope, -0.9), 0.5))
    assert two is not None
    total = sum(rate) + removal
    mean = two[8] * step.vapour + two[9] * step.buffer + two[10] - two[11] * total
    reads, power, heat = warmed(drying)
    lying = [max(step.lying[i] + rate[i] * step_s, 0.0) for i in panels]
    return Ended(
        reads=reads,
        power=power,
        heat=heat,
        vapour=end,
        buffer=two[4] * step.vapour + two[5] * step.buffer + two[6] - two[7] * total,
        lying=lying,
        frost=[min(max(step.frost[i] + freezing[i] * step_s, 0.0), lying[i]) for i in panels],
        drying=drying,
        removal=removal,
        vented=step.change * step_s / 3600.0 * two[12] * (mean - step.inflow),
        capacity=two[12],
    )


def _reads(step: Plain, power: list[float]) -> list[float]:
    """Nodes at the end for held powers."""
    found = step.base
    for watts, column in zip(power, step.columns, strict=True):
        if watts:
            found = [value + watts * each for value, each in zip(found, column, strict=True)]
    return found


def _reach(heater: HeaterModel | None, step: Plain, step_s: float) -> tuple[float, float]:
    """Least and most the heater gives in the step; see `heater.output_w`."""
    if heater is None:
        return (0.0, 0.0) if isnan(step.setpoint) else (step.least, step.most)
    if not step.lit:
        return 0.0, 0.0
    most = min(heater.most_w, step.most)
    if heater.warm_up_h > 0.0:
        step_h = step_s / 3600.0
        begin = min(step.lit_for_h, heater.warm_up_h)
        end = min(step.lit_for_h + step_h, heater.warm_up_h)
        rising = (end**2 - begin**2) / (2.0 * heater.warm_up_h)
        most *= (rising + step_h - (end - begin)) / step_h
    return min(heater.least_w, most), most


def _heat(step: Plain, power: list[float], drying: float, least: float, most: float) -> float:
    if most == 0.0 and least == 0.0:
        return 0.0
    reading = step.base[0] + step.columns[0][0] * drying
    for watts, column in zip(power[1:], step.columns[1:], strict=True):
        reading += watts * column[0]
    return min(max((step.setpoint - reading) / step.columns[0][0], least), most)


def _removed(
    free: float,
    pull: float,
    kink: list[float],
    uptake: list[float],
    on_panels: list[float],
    target: float,
    most: float,
) -> float:
    """What the dehumidifier takes out [kg/s], down to its target; see `turns.Room`."""
    resting = free - pull * sum(_condensing(free, pull, kink, uptake, on_panels))
    if resting <= target:
        return 0.0
    least = free - pull * most
    if least - pull * sum(_condensing(least, pull, kink, uptake, on_panels)) >= target:
        return most
    at_target = sum(
        max(u * (target - k), -w) for u, k, w in zip(uptake, kink, on_panels, strict=True)
    )
    return min(max((free - target) / pull - at_target, 0.0), most)


def _condensing(
    free: float, pull: float, sat: list[float], uptake: list[float], lying: Sequence[float]
) -> list[float]:
    """Rate at which each panel takes up water [kg/s]; see `moisture.condensing`."""
    wet = [i for i, each in enumerate(lying) if each > 0.0]
    # A dry panel whose saturation no vapour here can reach takes part in nothing.
    highest = max([free, *(sat[i] for i in wet)])
    active = [i for i, each in enumerate(sat) if each < highest or lying[i] > 0.0]
    rates = [0.0] * len(sat)
    if not active:
        return rates
    slope = fixed = 0.0
    opened = []
    for i in active:
        kink = sat[i] - lying[i] / uptake[i]
        taken = sum([max(uptake[j] * (kink - sat[j]), -lying[j]) for j in active])
        if kink + pull * taken < free:
            opened.append(i)
            slope += uptake[i]
            fixed += uptake[i] * sat[i]
        else:
            fixed += lying[i]
            rates[i] = -lying[i]
    end = (free + pull * fixed) / (1.0 + pull * slope)
    for i in opened:
        rates[i] = uptake[i] * (end - sat[i])
    return rates


def _two_state(
    room: Room, air_c: float, mass_c: float, inflow: float, change_h: float, source_kg_h: float
) -> tuple[float, ...]:
    """Air and buffer over a step, in the order of `moisture.TwoState` from `pp`; capacity last."""
    space, step_s = room.space, room.step_s
    capacity = space.volume_m3 / (VAPOUR_GAS_CONSTANT * (air_c + ZERO_C_IN_K))
    change = change_h / 3600.0
    give = change * inflow + source_kg_h / 3600.0 / capacity
    sat = saturation_of(mass_c)
    tau = space.buffer_hours * 3600.0
    a12 = space.buffer_kg / tau / capacity
    a11 = -(change + a12 / sat)
    follows = 1.0 if space.buffer_kg > 0.0 else 0.0
    a21, a22 = follows / (tau * sat), -follows / tau
    gap = max(sqrt((a11 - a22) ** 2 + 4.0 * a12 * a21), 1e-15)
    slow = min((a11 + a22 + gap) / 2.0, 0.0)
    fast = slow - gap
    slow_one, slow_two = _phi(slow * step_s)
    fast_one, fast_two = _phi(fast * step_s)
    at_slow, at_fast = exp(slow * step_s), exp(fast * step_s)
    tilt = (at_slow - at_fast) / gap
    hold = step_s * (slow_one - fast_one) / gap
    first = (slow_one - fast_one) / gap
    second = (slow_two - fast_two) / gap
    h11, h21 = step_s * fast_one + hold * (a11 - fast), hold * a21
    m11 = step_s * fast_two + step_s * second * (a11 - fast)
    return (
        at_fast + tilt * (a11 - fast),
        tilt * a12,
        h11 * give,
        h11 / capacity,
        tilt * a21,
        at_fast + tilt * (a22 - fast),
        h21 * give,
        h21 / capacity,
        fast_one + first * (a11 - fast),
        first * a12,
        m11 * give,
        m11 / capacity,
        capacity,
    )


def _phi(x: float) -> tuple[float, float]:
    """The first two of `network.phi_functions` at -x."""
    if x > -0.5:
        series = _PHI3[-1]
        for coefficient in _PHI3[-2::-1]:
            series = series * x + coefficient
        two = x * series + 0.5
        return x * two + 1.0, two
    one = expm1(x) / x
    return one, (one - 1.0) / x
