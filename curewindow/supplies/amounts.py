"""How much of a product: by the sheet's spread, or by film, solids and loss."""

from __future__ import annotations

import math
from dataclasses import dataclass

from curewindow.boat.amount import coated_m2, product_litres
from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job, Step
from curewindow.findings import Finding, finding
from curewindow.physics.film import litres_for, spreading_m2_l
from curewindow.sheets.hours import hours_at
from curewindow.sheets.schema import Sheet
from curewindow.supplies.models import Batch, Part

# Of a pot life the last part is lost: it thickens. Common practice, no source.
_USABLE = 0.75
# In the pot, where no warmer cabin is planned: mixed indoors. Estimate.
_POT_C = 20.0
# A sheet's practical spread may leave a film so much thinner than it asks for. Estimate.
_THINNER_FILM = 0.9


@dataclass(frozen=True, slots=True)
class Amount:
    """Litres a coat takes, None where nothing says; how; and what has to be said."""

    litres: float | None
    how: Finding
    note: Finding | None = None


def coat_amount(sheet: Sheet, job: Job) -> Amount:
    """What one coat takes.

    The job's own amount, else its area by the sheet's practical spreading rate, else by
    its wet film, else by its dry film and solids; the last two with its loss.
    """
    given = sheet.amounts
    litres = product_litres(sheet, job)
    if job.amount:
        return Amount(litres, finding("amount reckoned", state="job", litres=job.amount))
    if not job.area:
        return Amount(None, finding("amount unknown", state="no area"))
    area = coated_m2(sheet, job.area)
    theory = _theory_m2_l(sheet)
    if given.spreading_rate:
        note, film = None, given.dry_film
        if theory is not None and film and theory / given.spreading_rate < _THINNER_FILM:
            note = finding("spread too thin", value=given.spreading_rate, limit_value=film)
        return Amount(litres, _by("spread", area, given.spreading_rate), note)
    loss = given.loss or 0.0
    if litres is not None:
        return Amount(litres, _by("wet film", area, given.wet_film, loss))
    if theory is not None:
        how = _by("dry film", area, given.dry_film, loss, given.volume_solids)
        return Amount(litres_for(area, theory, min(loss, 90.0)), how)
    return Amount(None, finding("amount unknown", state="no figures"))


def _by(
    state: str,
    area_m2: float,
    value: float | None,
    loss_pct: float = 0.0,
    solids_pct: float | None = None,
) -> Finding:
    return finding(
        "amount reckoned",
        state=state,
        area_m2=area_m2,
        value=value,
        share=loss_pct / 100.0 if loss_pct else None,
        solids_pct=solids_pct,
    )


def _theory_m2_l(sheet: Sheet) -> float | None:
    given = sheet.amounts
    if not given.volume_solids or not given.dry_film:
        return None
    return spreading_m2_l(given.volume_solids, given.dry_film)


def parts_of(sheet: Sheet, litres: float | None) -> list[Part]:
    """The parts a product is mixed from, with amounts where they can be told."""
    given = sheet.amounts
    if given.mix_by_volume:
        whole = sum(given.mix_by_volume)
        return [
            Part(
                parts=part,
                by="volume",
                unit="L",
                amount=None if litres is None else _up(litres * part / whole, 3),
            )
            for part in given.mix_by_volume
        ]
    if given.mix_by_mass:
        whole = sum(given.mix_by_mass)
        mass = None if litres is None or given.density is None else litres * given.density
        return [
            Part(
                parts=part,
                by="mass",
                unit="kg",
                amount=None if mass is None else _up(mass * part / whole, 3),
            )
            for part in given.mix_by_mass
        ]
    return []


def batch_for(
    sheet: Sheet, step: Step, job: Job, coat_litres: float | None, setpoint_c: float | None
) -> Batch | None:
    """The largest batch that is used up before it sets; None where the sheet has no pot life.

    Parameters
    ----------
    sheet : Sheet
    step : Step
    job : Job
    coat_litres : float or None
        What a coat takes [L].
    setpoint_c : float or None
        The warmest its cabin is held for it [°C].
    """
    working = sheet.working
    if working is None or not working.pot_life:
        return None
    pot_c = max(_POT_C, setpoint_c if setpoint_c is not None else _POT_C)
    pot_h = hours_at(working.temps, working.pot_life, pot_c)
    wait_h = hours_at(working.temps, working.induction, pot_c) if working.induction else 0.0
    usable_h = max(_USABLE * pot_h - wait_h, 0.0)
    area: float | None = None
    litres: float | None = None
    count: int | None = None
    hands_h = hands_on_h(step, job)
    if usable_h > 0.0 and hands_h > 0.0:
        share = min(usable_h / hands_h, 1.0)
        if coat_litres:
            mass, density = working.pot_life_mass, sheet.amounts.density
            if mass and density:
                # a larger batch warms itself and sets sooner than the sheet says
                share = min(share, mass / density / coat_litres)
            litres = coat_litres * share
        area = job.area * share if job.area else None
        count = math.ceil(1.0 / share - 1e-9)
    return Batch(
        job=job.name,
        pot_c=pot_c,
        pot_life_h=pot_h,
        usable_h=usable_h,
        area_m2=None if area is None else _down(area, 1),
        litres=None if litres is None else _down(litres, 3),
        batches_a_coat=count,
    )


def to_buy(litres: float) -> float:
    """Litres rounded up as one buys them: to 0.05 L below one, else to 0.1 L."""
    step = 0.05 if litres < 1.0 else 0.1
    return round(math.ceil(litres / step - 1e-9) * step, 2)


def _up(value: float, digits: int) -> float:
    scale = 10.0**digits
    return math.ceil(value * scale - 1e-9) / scale


def _down(value: float, digits: int) -> float:
    scale = 10.0**digits
    return math.floor(value * scale + 1e-9) / scale
