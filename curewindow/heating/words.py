"""The sentences of a heating plan, in the boat's zone and degrees."""

from __future__ import annotations

from curewindow.boat.schema import VENTS_SAID
from curewindow.heating.models import FuelUse, HeatPlan, Missing
from curewindow.wording import Wording

NO_START_OPENS = "no heat of this heater opens a start in the next days"


def fuel_text(use: FuelUse) -> str:
    """'about 3.1 L of diesel', 'about 4.2 kWh', with the cost where a price is given."""
    amount = f"{use.amount:.1f}" if use.amount < 20.0 else f"{use.amount:.0f}"
    text = f"about {amount} {use.unit}"
    if use.unit != "kWh":
        text += f" of {use.fuel}"
    return text if use.cost is None else f"{text} ({use.cost:.2f})"


def vents_text(plan: HeatPlan) -> str:
    """What to do with the vents."""
    return "" if plan.ventilation is None else VENTS_SAID[plan.ventilation]


def log_command(plan: HeatPlan, words: Wording) -> str:
    """What to type once the heater is lit as planned."""
    assert plan.setpoint_c is not None
    assert plan.hold_until is not None
    space = plan.space
    named = f"'{space}'" if " " in space else space
    vents = {"closed": " --vent closed", "open": " --vent ajar"}.get(plan.ventilation or "", "")
    warm = f"{words.degrees(plan.setpoint_c)}{'F' if words.fahrenheit else 'C'}"
    until = f"{words.local(plan.hold_until):%Y-%m-%d %H:%M}"  # whenever it is typed
    return f"`curewindow log heater {named} {warm} --until '{until}'{vents}`"


def plan_text(plan: HeatPlan, words: Wording) -> str:
    """'light the heater Thu 05:40, hold 16.0 °C to Fri 09:00, about 3.1 L of diesel'."""
    assert plan.light_at is not None
    assert plan.hold_until is not None
    assert plan.setpoint_c is not None
    assert plan.use is not None
    now = plan.light_at <= words.now
    light = "light the heater now" if now else f"light the heater {words.when(plan.light_at)}"
    text = (
        f"{light}, hold {words.temp(plan.setpoint_c)} to {words.when(plan.hold_until)}, "
        f"{fuel_text(plan.use)}"
    )
    share = plan.routine_kwh / max(plan.use.energy_kwh, 1e-9)
    if share >= 0.05:
        text += f", {100.0 * min(share, 1.0):.0f} % of it by the routine anyway"
    return text


def short_plan_text(plan: HeatPlan, words: Wording) -> str:
    """'heat Thu 05:40 to 22:10, 16.0 °C, 3.1 L': what fits a phone."""
    assert plan.light_at is not None
    assert plan.hold_until is not None
    assert plan.setpoint_c is not None
    assert plan.use is not None
    warm = words.temp(plan.setpoint_c)
    when = words.from_to(plan.light_at, plan.hold_until)
    return f"heat {when}, {warm}, {plan.use.amount:.1f} {plan.use.unit}"


def missing_text(missing: Missing, power_w: float, why: str = "") -> str:
    """What is missing, in a line; ``why``: the limit that no heat cures."""
    parts = []
    if missing.power_w is not None:
        have = f"; there are {power_w:.0f} W" if power_w else "; there is no heater"
        parts.append(f"about {missing.power_w:.0f} W of heat would do{have}")
    if missing.foam_mm is not None:
        parts.append(
            f"or {missing.foam_mm:.0f} mm of foam on the {missing.panel} "
            f"(U {missing.u_value} W/m²K)"
        )
    if parts:
        return ", ".join(parts)
    return "no heater alone opens a start" + (f": {why}" if why else "")
