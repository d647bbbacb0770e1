"""The true cabin: a small thermal and moisture model of its own, apart from the planner's.

Each space is a node of air, a node of joinery (linings, bunks, doors), a node at the inner face
of each panel of the hull, a store of moisture in wood and cloth, and a film of dew on each
panel. A step of ten minutes is solved implicitly for a space, so that heat and moisture balance
to the last joule and gram; the air that goes through doors is taken as it was a step before.
What is not in it: latent heat of dew, air in layers, radiation between surfaces.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from tests.benchmarks.winter.air import dew_point_c, saturation_kg_m3

STEP_S = 600.0
FILM_W_M2K = 7.7  # ISO 6946: 0.13 m²K/W at a wall
_MASS_W_M2K = 6.0
_AIR_J_M3K = 1200.0
_LIGHT = 3.0
"""Heat capacity of the air with cushions and paper: a multiple of the air's. An estimate."""
_LEWIS_M_S = 2.5e-3
"""Mass transfer at a surface: 3 W/m²K by 1200 J/m³K."""
_BUFFER_M_S = 4e-4
"""Into wood and cloth: a lining breathes slower than water. An estimate."""


@dataclass(slots=True)
class Panel:
    """A panel of the hull.

    Attributes
    ----------
    name : str
    area_m2 : float
    resistance_m2k_w : float
        From its inner face to the air outside without the outer film, or to the water.
    capacity_j_m2k : float
        Of what lies at its inner face.
    water : bool
        Water outside, not air.
    sunlit : float
        Share of the sun on the ground that warms its outside.
    temp_c, film_kg_m2 : float
        State: inner face, and dew on it.
    """

    name: str
    area_m2: float
    resistance_m2k_w: float
    capacity_j_m2k: float
    water: bool = False
    sunlit: float = 0.0
    temp_c: float = 8.0
    film_kg_m2: float = 0.0


@dataclass(slots=True)
class Space:
    """A space: what it is made of, and its state."""

    name: str
    volume_m3: float
    air_change_h: float
    joinery_m2: float
    joinery_j_m2k: float
    buffer_kg: float
    source_kg_s: float
    panels: list[Panel]
    temp_c: float = 8.0
    vapour: float = 0.007
    joinery_c: float = 8.0
    buffer_rh: float = 0.8

    @property
    def rh_pct(self) -> float:
        return min(100.0, 100.0 * self.vapour / saturation_kg_m3(self.temp_c))

    @property
    def dew_c(self) -> float:
        return dew_point_c(self.vapour, self.temp_c)

    def surface_c(self, panel: str | None) -> float:
        """The face of a panel, or the joinery's."""
        for each in self.panels:
            if each.name == panel:
                return each.temp_c
        return self.joinery_c

    def copy(self) -> Space:
        panels = [
            Panel(
                p.name,
                p.area_m2,
                p.resistance_m2k_w,
                p.capacity_j_m2k,
                p.water,
                p.sunlit,
                p.temp_c,
                p.film_kg_m2,
            )
            for p in self.panels
        ]
        return Space(
            self.name,
            self.volume_m3,
            self.air_change_h,
            self.joinery_m2,
            self.joinery_j_m2k,
            self.buffer_kg,
            self.source_kg_s,
            panels,
            self.temp_c,
            self.vapour,
            self.joinery_c,
            self.buffer_rh,
        )

    def heat_j(self) -> float:
        """Heat stored, from 0 °C, J."""
        return (
            _AIR_J_M3K * _LIGHT * self.volume_m3 * self.temp_c
            + self.joinery_m2 * self.joinery_j_m2k * self.joinery_c
            + sum(p.area_m2 * p.capacity_j_m2k * p.temp_c for p in self.panels)
        )

    def water_kg(self) -> float:
        """Water in the air, in wood and cloth, and lying on the panels."""
        return (
            self.volume_m3 * self.vapour
            + self.buffer_kg * self.buffer_rh
            + sum(p.area_m2 * p.film_kg_m2 for p in self.panels)
        )


@dataclass(slots=True)
class Outside:
    """The weather of a step."""

    temp_c: float
    vapour: float
    wind_ms: float
    sun_w_m2: float
    water_c: float


@dataclass(slots=True)
class Passed:
    """What went into a space and out of it in a step."""

    heater_j: float = 0.0
    lost_j: float = 0.0
    dried_kg: float = 0.0
    made_kg: float = 0.0


@dataclass(slots=True)
class Heater:
    """One heater with outlets: power at each, and how many it can warm at a time."""

    outlets_w: dict[str, float]
    at_once: int = 1
    offset_k: dict[str, float] = field(default_factory=dict)
    """What the thermostat is off by."""


@dataclass(slots=True)
class Cabins:
    """All spaces of a boat, the doors between them and the heater."""

    spaces: dict[str, Space]
    doors: list[tuple[str, str, float]]
    heater: Heater
    used_j: float = 0.0

    def copy(self) -> Cabins:
        return Cabins(
            {name: space.copy() for name, space in self.spaces.items()},
            self.doors,
            self.heater,
            self.used_j,
        )

    def step(
        self,
        outside: Outside,
        setpoints: dict[str, float],
        airing_h: dict[str, float],
        source_kg_s: dict[str, float],
    ) -> dict[str, Passed]:
        """Go on by ten minutes.

        Parameters
        ----------
        outside : Outside
        setpoints : dict of str to float
            Spaces that are heated, °C.
        airing_h : dict of str to float
            Air changes an hour on top of the space's own.
        source_kg_s : dict of str to float
            Water that coats give off.
        """
        air = {name: (s.temp_c, s.vapour) for name, s in self.spaces.items()}
        through: dict[str, tuple[float, float]] = dict.fromkeys(self.spaces, (0.0, 0.0))
        for one, other, flow in self.doors:
            # warmer on one side: more goes through (Brown and Solvason 1962 in shape)
            gap = abs(air[one][0] - air[other][0])
            m3_s = flow * (0.2 + min(gap, 9.0) ** 0.5)
            # what is exchanged in a step is never more than a third of the smaller space
            smaller = min(self.spaces[one].volume_m3, self.spaces[other].volume_m3)
            m3_s = min(m3_s, smaller / (3.0 * STEP_S))
            heat = _AIR_J_M3K * m3_s * (air[one][0] - air[other][0])
            water = m3_s * (air[one][1] - air[other][1])
            through[one] = (through[one][0] - heat, through[one][1] - water)
            through[other] = (through[other][0] + heat, through[other][1] + water)
        passed = {}
        for name, space in self.spaces.items():
            power = self.heater.outlets_w.get(name, 0.0) if name in setpoints else 0.0
            wanted = setpoints.get(name, 0.0) + self.heater.offset_k.get(name, 0.0)
            change = space.air_change_h * (0.4 + 0.15 * outside.wind_ms) + airing_h.get(name, 0.0)
            made = _of_space(
                space,
                outside,
                (power, wanted),
                space.volume_m3 * change / 3600.0,
                through[name],
                space.source_kg_s + source_kg_s.get(name, 0.0),
            )
            self.used_j += made.heater_j
            passed[name] = made
        return passed


def _of_space(
    space: Space,
    outside: Outside,
    heater: tuple[float, float],
    fresh_m3_s: float,
    through: tuple[float, float],
    source_kg_s: float,
) -> Passed:
    passed = Passed(made_kg=STEP_S * (source_kg_s + through[1]))
    before_j = space.heat_j()
    # Heat: what each node will be as a line in the new air temperature, put into the air's balance.
    stored = _AIR_J_M3K * _LIGHT * space.volume_m3 / STEP_S
    fresh = _AIR_J_M3K * fresh_m3_s
    right = stored * space.temp_c + fresh * outside.temp_c + through[0]
    left = stored + fresh
    nodes: list[tuple[float, float]] = []
    for panel in space.panels:
        outer = 0.0 if panel.water else 1.0 / (8.0 + 4.0 * outside.wind_ms)
        u = 1.0 / (panel.resistance_m2k_w + outer)
        # the sun on the outside as sol-air temperature
        beyond = outside.water_c if panel.water else outside.temp_c
        beyond += panel.sunlit * outside.sun_w_m2 * outer
        own = panel.capacity_j_m2k / STEP_S
        all_ = own + FILM_W_M2K + u
        base, share = (own * panel.temp_c + u * beyond) / all_, FILM_W_M2K / all_
        nodes.append((base, share))
        right += FILM_W_M2K * panel.area_m2 * base
        left += FILM_W_M2K * panel.area_m2 * (1.0 - share)
    own = space.joinery_j_m2k / STEP_S
    base, share = own * space.joinery_c / (own + _MASS_W_M2K), _MASS_W_M2K / (own + _MASS_W_M2K)
    right += _MASS_W_M2K * space.joinery_m2 * base
    left += _MASS_W_M2K * space.joinery_m2 * (1.0 - share)
    power, wanted = heater
    given = min(power, max(0.0, wanted * left - right)) if power else 0.0
    space.temp_c = (right + given) / left
    space.joinery_c = base + share * space.temp_c
    for panel, (low, part) in zip(space.panels, nodes, strict=True):
        panel.temp_c = low + part * space.temp_c
    passed.heater_j = given * STEP_S
    passed.lost_j = before_j + passed.heater_j + through[0] * STEP_S - space.heat_j()
    _moisture(space, outside, fresh_m3_s, through[1] + source_kg_s, passed)
    return passed


def _moisture(
    space: Space, outside: Outside, fresh_m3_s: float, in_kg_s: float, passed: Passed
) -> None:
    """The air's vapour a step on; dew that dries up within the step gives what there was."""
    full = [saturation_kg_m3(panel.temp_c) for panel in space.panels]
    wet = [
        panel.film_kg_m2 > 0.0 or space.vapour > at
        for panel, at in zip(space.panels, full, strict=True)
    ]
    emptied = [False] * len(full)
    soaked = saturation_kg_m3(space.joinery_c)
    into = _BUFFER_M_S * space.joinery_m2
    hold = space.buffer_kg / STEP_S
    while True:
        right = space.volume_m3 / STEP_S * space.vapour + fresh_m3_s * outside.vapour + in_kg_s
        left = space.volume_m3 / STEP_S + fresh_m3_s
        # the store: hold (new - old) = into (vapour - new soaked)
        right += into * soaked * hold * space.buffer_rh / (hold + into * soaked)
        left += into * (1.0 - into * soaked / (hold + into * soaked))
        for panel, at, is_wet, is_empty in zip(space.panels, full, wet, emptied, strict=True):
            if is_empty:
                right += panel.film_kg_m2 * panel.area_m2 / STEP_S
            elif is_wet:
                right += _LEWIS_M_S * panel.area_m2 * at
                left += _LEWIS_M_S * panel.area_m2
        vapour = right / left
        dried = [
            is_wet and not is_empty and panel.film_kg_m2 + STEP_S * _LEWIS_M_S * (vapour - at) < 0.0
            for panel, at, is_wet, is_empty in zip(space.panels, full, wet, emptied, strict=True)
        ]
        if not any(dried):
            break
        emptied = [one or other for one, other in zip(emptied, dried, strict=True)]
    for panel, at, is_wet, is_empty in zip(space.panels, full, wet, emptied, strict=True):
        if is_empty:
            panel.film_kg_m2 = 0.0
        elif is_wet:
            panel.film_kg_m2 += STEP_S * _LEWIS_M_S * (vapour - at)
    space.buffer_rh = (hold * space.buffer_rh + into * vapour) / (hold + into * soaked)
    space.vapour = vapour
    passed.dried_kg = STEP_S * fresh_m3_s * (vapour - outside.vapour)
