"""Cautions by product, space and heater.

What must be said, and what must be refused, is common practice of the trade and
of safety data sheets; no single source.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import Any, get_args
from zoneinfo import ZoneInfo

import pytest

from curewindow.boat.schema import Boat, Job, Step
from curewindow.cautions import cautions_for, grade
from curewindow.cautions.airflow import WetFilm, airflow_m3_h, solvent_airflow_m3_h
from curewindow.cautions.logged import Recorded
from curewindow.findings import Finding
from curewindow.physics.vapour import SOLVENTS
from curewindow.record.entries import Coat
from curewindow.rules.sleep import LONG_LIVED, LONG_LIVED_FOR
from curewindow.rules.solvent import given_off
from curewindow.sheets.schema import Hazard, Sheet
from curewindow.voice import full, short
from curewindow.voice.cautions import caution as said
from curewindow.voice.cautions import topic
from curewindow.wording import Wording

WORDS = Wording(ZoneInfo("Europe/London"), datetime(2026, 1, 12, 9, tzinfo=UTC))
LINING = [{"material": "plywood", "thickness": "9 mm"}]


def _sheet(hazards: list[str], **more: Any) -> Sheet:
    return Sheet.model_validate(
        {
            "name": "some product",
            "kind": "varnish",
            "chemistry": "oxidation",
            "basis": "typical of the kind",
            "applying": {},
            "setting": {},
            "cure": {"temps": ["20 °C"], "touch_dry": ["6 h"]},
            "hazards": hazards,
            **more,
        }
    )


def _heating(kind: str, vented: bool, open_flame: bool, **more: Any) -> dict[str, Any]:
    return {"kind": kind, "power": "2 kW", "vented": vented, "open_flame": open_flame, **more}


ROW = ("saloon", "passage", "forepeak")


def _boat(
    heating: dict[str, Any] | None = None,
    where: str = "saloon",
    *,
    sealed: bool = True,
    ignition: tuple[dict[str, Any], ...] = (),
    **saloon: Any,
) -> Boat:
    """Forepeak - passage - saloon in a row, and a lazarette, sealed off or not."""

    def space(name: str, joined: list[str], **more: Any) -> dict[str, Any]:
        panel = {"name": "side", "area": "4 m²", "layers": LINING}
        out = {"name": name, "volume": "10 m³", "connected_to": joined, "panel": [panel], **more}
        return out | ({"heating": heating} if heating and name == where else {})

    return Boat.model_validate(
        {
            "name": "Test",
            "place": {"latitude": 50.9, "longitude": -1.4, "time_zone": "Europe/London"},
            "space": [
                space("saloon", ["passage"], **saloon),
                space("passage", []),
                space("forepeak", ["passage"]),
                space("lazarette", []),
            ],
            "sealed": [{"between": ["lazarette", name]} for name in ROW] if sealed else [],
            "ignition": list(ignition),
        }
    )


JOB = Job.model_validate(
    {
        "name": "varnish the trim",
        "space": "saloon",
        "area": "6 m²",
        "step": [{"do": "coat", "sheet": "x", "hands_on": "2 h"}],
    }
)


def _cautions(
    sheet: Sheet, boat: Boat, space: str | None = "saloon", step: Step | None = None
) -> list[Finding]:
    where = boat.find_space(space) if space else None
    return cautions_for([sheet], JOB, where, boat, step=step or JOB.step[0])


def _topics(cautions: list[Finding], urgency: str) -> set[str]:
    return {topic(each) for each in cautions if grade(each) == urgency}


SOLVENT = _sheet(["flammable solvent"])


@pytest.mark.parametrize(
    "heating",
    [
        _heating("gas", vented=False, open_flame=True),
        _heating("gas", vented=True, open_flame=True),
        _heating("electric", vented=False, open_flame=True),
        _heating("paraffin", vented=False, open_flame=False),
        _heating("solid fuel", vented=True, open_flame=False),
    ],
    ids=["gas flame", "pilot light, flue", "glowing element", "no flue", "stove with a flue"],
)
@pytest.mark.parametrize("where", ROW)
def test_flame_with_solvent_vapour_is_refused(heating: dict[str, Any], where: str) -> None:
    """In the space, in a joined one, and two spaces on: vapour creeps."""
    cautions = _cautions(SOLVENT, _boat(heating, where))
    assert _topics(cautions, "refused") == {"fire"}
    first = cautions[0]
    assert grade(first) == "refused"
    assert "What is usual instead" in full(first, WORDS)
    assert "data sheet" not in full(first, WORDS)  # said once a screen


def test_a_space_that_nobody_says_is_sealed_counts_as_joined() -> None:
    """Common practice: what is heavier than air finds limber holes and cable runs."""
    boat = _boat(_heating("gas", vented=False, open_flame=True), "lazarette", sealed=False)
    assert _topics(_cautions(SOLVENT, boat), "refused") == {"fire"}
    assert "sleeping" in _topics(
        _cautions(SOLVENT, _boat(slept_in=True, sealed=False), "lazarette"), "warning"
    )
    assert "sleeping" not in _topics(
        _cautions(SOLVENT, _boat(slept_in=True), "lazarette"), "warning"
    )


def test_vapour_gets_to_a_sealed_space_by_a_third() -> None:
    """Two bulkheads are tight, the third is not."""
    boat = _boat(_heating("gas", vented=False, open_flame=True), "lazarette")
    around = boat.model_copy(update={"sealed": boat.sealed[:2]})
    assert _topics(_cautions(SOLVENT, around), "refused") == {"fire"}


@pytest.mark.parametrize(
    ("heating", "where"),
    [
        (_heating("gas", vented=False, open_flame=True), "lazarette"),
        (_heating("diesel", vented=True, open_flame=False), "saloon"),
        (_heating("electric", vented=False, open_flame=False), "saloon"),
        (None, "saloon"),
    ],
    ids=["not joined", "closed flame with flue", "nothing glows", "no heater"],
)
def test_without_a_flame_it_is_still_a_warning(heating: dict[str, Any] | None, where: str) -> None:
    cautions = _cautions(SOLVENT, _boat(heating, where))
    assert not _topics(cautions, "refused")
    assert {"fire", "vapour"} <= _topics(cautions, "warning")


def test_styrene_burns_as_solvent_does() -> None:
    """Styrene: flammable liquid, category 3 in Regulation (EC) 1272/2008, annex VI."""
    boat = _boat(_heating("gas", vented=False, open_flame=True))
    assert _topics(_cautions(_sheet(["styrene"]), boat), "refused") == {"fire"}


def test_a_heater_brought_along_counts_too() -> None:
    fire = _boat(_heating("gas", vented=False, open_flame=True)).space[0].heating
    boat = _boat()
    cautions = cautions_for([SOLVENT], JOB, boat.space[0], boat, fire, step=JOB.step[0])
    assert _topics(cautions, "refused") == {"fire"}


def test_a_solvent_free_product_is_not_refused_over_a_flame() -> None:
    boat = _boat(_heating("gas", vented=False, open_flame=True))
    cautions = _cautions(_sheet([]), boat)
    assert not _topics(cautions, "refused")
    assert "carbon monoxide" in _topics(cautions, "warning")


@pytest.mark.parametrize(
    ("hazard", "name", "says"),
    [
        ("isocyanate", "isocyanate", "air-fed"),
        ("styrene", "styrene", "heavier than air"),
        ("epoxy sensitiser", "epoxy", "allergic"),
        ("peroxide", "peroxide", "goggles"),
        ("self-heating rags", "rags", "start fires"),
        ("biocide", "biocide", "dry"),
        ("sanding dust", "dust", "P3"),
    ],
)
def test_each_hazard_is_warned_of(hazard: str, name: str, says: str) -> None:
    cautions = _cautions(_sheet([hazard]), _boat())
    found = [c for c in cautions if topic(c) == name and grade(c) == "warning"]
    assert len(found) == 1
    assert says in full(found[0], WORDS)
    assert "data sheet" not in full(found[0], WORDS)  # said once a screen


@pytest.mark.parametrize("hazard", get_args(Hazard))
def test_every_hazard_brings_a_caution_that_names_the_product(hazard: Hazard) -> None:
    found = _cautions(_sheet([hazard]), _boat())
    bare = _cautions(_sheet([]), _boat())
    more = [each for each in found if each not in bare]
    assert more
    named = " ".join(full(each, WORDS) for each in more)
    assert "some product" in named or hazard == "sanding dust"


def test_isocyanate_defers_to_a_licensed_practice() -> None:
    text = next(full(c, WORDS) for c in _cautions(_sheet(["isocyanate"]), _boat()))
    assert "licensed" in text
    assert "training" in text


@pytest.mark.parametrize("hazard", ["flammable solvent", "isocyanate", "styrene"])
def test_nobody_sleeps_over_it(hazard: str) -> None:
    cautions = _cautions(_sheet([hazard]), _boat(slept_in=True), "forepeak")
    assert "sleeping" in _topics(cautions, "warning")


@pytest.mark.parametrize("hazard", get_args(Hazard))
def test_a_product_that_is_on_and_in_the_hand_is_named_once(hazard: Hazard) -> None:
    sheet, boat = _sheet([hazard]), _boat(slept_in=True)
    saloon = boat.find_space("saloon")
    found = cautions_for([sheet], JOB, saloon, boat, step=JOB.step[0], films=[WetFilm(sheet, JOB)])
    for each in found:
        assert len(set(each.texts("products"))) == len(each.texts("products"))


@pytest.mark.parametrize("hazard", LONG_LIVED)
def test_nobody_sleeps_over_it_for_a_day_though_nobody_knows_the_job(hazard: Hazard) -> None:
    """Given off long after the film is hard to the finger: common practice, no source."""
    sheet = _sheet([hazard], cure={"temps": ["20 °C"], "touch_dry": ["1 h"], "handling": ["3 h"]})
    end = datetime(2026, 1, 12, 9, tzinfo=UTC)
    left = Recorded(Coat("x", 1, 1, end - timedelta(hours=1), end, "x"), None, sheet)
    until = max(left.gone, left.hard)
    assert end + LONG_LIVED_FOR - timedelta(minutes=1) < until
    assert not end + LONG_LIVED_FOR < until


def test_sanding_step_brings_dust() -> None:
    step = Step.model_validate({"do": "sand"})
    assert "dust" in _topics(_cautions(_sheet([]), _boat(), step=step), "warning")
    prepare = Step.model_validate({"do": "prepare"})
    assert "old paint" in _topics(_cautions(_sheet([]), _boat(), step=prepare), "warning")


@pytest.mark.parametrize(
    ("routine", "warned"),
    [
        ([{"from": "07:00", "setpoint": "18 °C"}, {"from": "19:00"}], False),
        ([{"from": "07:00", "setpoint": "18 °C"}, {"from": "19:00", "setpoint": "8 °C"}], True),
        ([{"from": "07:00", "setpoint": "18 °C"}], True),
        ([{"from": "19:00"}, {"from": "05:00", "setpoint": "16 °C"}], True),
        ([], False),
    ],
)
def test_heater_left_alone_at_night(routine: list[dict[str, str]], warned: bool) -> None:
    heating = _heating("diesel", vented=True, open_flame=False, routine=routine)
    cautions = _cautions(_sheet([]), _boat(heating))
    assert ("unattended heating" in _topics(cautions, "warning")) is warned
    assert "carbon monoxide" in _topics(cautions, "reminder")


def test_airflow_for_a_coat_of_varnish() -> None:
    """Against the US rule's own form, 29 CFR 1910.94(c)(6)(ii), worked by hand.

    0.5 L with 370 g/L of white spirit: 0.185 kg, 0.25 L at 0.74 kg/L, in 2 h. With
    0.1735 m³ of vapour a litre and a limit of 1.0 % (table G-11, from memory):
    (100 - 1)/1 * 0.1735 * 0.125 = 2.147 m³/h to the limit itself, ten times that to
    a tenth of it, five times that for poor mixing.
    """
    sheet = _sheet(
        ["flammable solvent"],
        amounts={"spreading_rate": "12 m²/L", "solvent": "370 g/L"},
        solvent={
            "name": "white spirit",
            "lower_explosive_limit": "1 %",
            "vapour_per_litre": 0.1735,
            "source": "29 CFR 1910.94 table G-11, from memory",
        },
    )
    flow = solvent_airflow_m3_h(sheet, JOB, JOB.step[0])
    assert flow == pytest.approx(107.4, abs=0.1)
    text = next(full(c, WORDS) for c in _cautions(sheet, _boat()) if topic(c) == "vapour")
    assert "110 m³/h" in text
    assert "11 times its air" in text


def test_without_figures_it_says_so() -> None:
    text = next(full(c, WORDS) for c in _cautions(SOLVENT, _boat()) if topic(c) == "vapour")
    assert "cannot be worked out" in text


_WHITE_SPIRIT = {"name": "white spirit", "lower_explosive_limit": "1 %", "source": "made up"}


@pytest.mark.parametrize(
    ("content", "solvent", "as_known"),
    [
        # nothing said: 500 g/L, and no solvent in the table asks for more air than white spirit
        (None, None, ("500 g/L", {**_WHITE_SPIRIT, "lower_explosive_limit": "0.6 %"})),
        ("370 g/L", None, ("370 g/L", {**_WHITE_SPIRIT, "lower_explosive_limit": "0.6 %"})),
        (None, _WHITE_SPIRIT, ("500 g/L", _WHITE_SPIRIT)),
    ],
)
def test_solvent_a_sheet_does_not_tell_is_filled_by_a_rule_that_is_said(
    content: str | None, solvent: dict[str, str] | None, as_known: tuple[str, dict[str, str]]
) -> None:
    """500 g/L: EU directive 2004/42/EC, annex II, one-pack performance coatings (from memory)."""

    def flow(content: str | None, solvent: dict[str, str] | None) -> tuple[float | None, str]:
        amounts = {"spreading_rate": "12 m²/L", "solvent": content}
        rest = {} if solvent is None else {"solvent": solvent}
        sheet = _sheet(
            ["flammable solvent"],
            amounts={key: value for key, value in amounts.items() if value is not None},
            **rest,
        )
        text = next(full(c, WORDS) for c in _cautions(sheet, _boat()) if topic(c) == "vapour")
        return solvent_airflow_m3_h(sheet, JOB, JOB.step[0]), text

    filled, said = flow(content, solvent)
    known, plain = flow(*as_known)
    assert filled is not None
    assert filled == known
    assert "usual in such products" in said
    assert "usual in such products" not in plain


def test_a_bead_a_brushed_film_and_a_spray_ask_for_more_air_in_this_order() -> None:
    """A thick bead lets its solvent go by and by; most of a spray never gets to the surface."""
    cure = {"temps": ["10 °C", "20 °C"], "touch_dry": ["6 h", "4 h"], "handling": ["24 h", "16 h"]}
    sheet = _sheet(["flammable solvent"], cure=cure, amounts={"spreading_rate": "12 m²/L"})

    def flow(by: str) -> float:
        found = solvent_airflow_m3_h(sheet, JOB, JOB.step[0].model_copy(update={"by": by}))
        assert found is not None
        return found

    bead, brush, spray = flow("cartridge"), flow("brush"), flow("spray")
    assert bead < brush < spray
    assert flow("roller") == flow("pad") == brush
    # 0.3 of what is sprayed ends on the surface (from memory, 25 to 65 % in print)
    assert spray == pytest.approx(brush / 0.3)
    # 0.4 an hour at first: a fifth is left after 4 h, at 20 °C; hands on for 2 h: a half
    assert bead == pytest.approx(brush * (math.log(5.0) / 4.0) / 0.5)


def test_no_solvent_known_asks_for_more_air_than_the_one_that_is_taken() -> None:
    def litre(lel: float, vapour: float) -> float:
        return vapour * (100.0 - lel) / lel

    taken = given_off(_sheet(["flammable solvent"]))
    for known in SOLVENTS.values():
        assert litre(known.lel_pct, known.vapour_m3_per_l) <= litre(
            taken.lel_pct, taken.vapour_m3_per_l
        )
        # of a name nobody knows: as much at its own limit, and no less
        odd = {"name": "larch oil", "lower_explosive_limit": f"{known.lel_pct} %", "source": "x"}
        other = given_off(_sheet(["flammable solvent"], solvent=odd))
        assert other.taken
        assert other.vapour_m3_per_l >= known.vapour_m3_per_l * (1.0 - 1e-9)


def test_outdoors_warns_of_open_hatches() -> None:
    cautions = _cautions(SOLVENT, _boat(_heating("gas", False, True)), None)
    assert not _topics(cautions, "refused")
    assert any("hatches" in full(c, WORDS) for c in cautions if topic(c) == "fire")


def test_each_has_a_line_short_enough_for_a_phone() -> None:
    """Two lines of 40 columns with its topic, and no cut sentence."""
    night = {"from": "07:00", "setpoint": "18 °C"}
    heater = _heating("paraffin", vented=False, open_flame=True, routine=[night])
    for boat in (_boat(heater, slept_in=True), _boat()):
        for hazard in get_args(Hazard):
            for caution in _cautions(_sheet([hazard]), boat):
                assert short(caution, WORDS)
                assert grade(caution) == "refused" or len(said(caution, WORDS)) <= 80
                assert not short(caution, WORDS).endswith((".", "…"))


def test_every_danger_has_a_short_name_of_its_own() -> None:
    """It stands alone where a caution is folded: a word or two, none longer than the alarm's."""
    from curewindow.findings import KINDS
    from curewindow.findings.sample import samples
    from curewindow.voice.cautions import standing_alone

    for kind, known in KINDS.items():
        if known.weight != "danger" or kind == "refused":  # a verdict: says its own reason
            continue
        for found in samples(kind):
            assert 2 < len(topic(found)) <= 20, kind
            assert len(standing_alone(found)) <= 34, kind
            assert grade(found) in ("refused", "warning", "reminder")


# ---- what can light vapour, apart from heaters ---------------------------------

WHITE_SPIRIT = {
    "amounts": {"spreading_rate": "12 m²/L", "solvent": "370 g/L"},
    "solvent": {
        "name": "white spirit",
        "lower_explosive_limit": "1 %",
        "vapour_per_litre": 0.1735,
        "source": "29 CFR 1910.94 table G-11, from memory",
    },
}
REACHED = _sheet(["flammable solvent"], **WHITE_SPIRIT)
FLAMES = ("cooker", "gas water heater", "gas fridge", "stove")
SPARKS = (
    "battery on charge",
    "charger",
    "engine",
    "generator",
    "bilge pump",
    "water pump",
    "fridge",
)


@pytest.mark.parametrize("kind", FLAMES)
@pytest.mark.parametrize("where", ["saloon", "forepeak", "lazarette"])
def test_a_flame_that_is_declared_refuses_until_it_is_said_to_be_off(kind: str, where: str) -> None:
    boat = _boat(sealed=False, ignition=({"kind": kind, "space": where},))
    first = _cautions(REACHED, boat)[0]
    assert (first.kind, grade(first), topic(first)) == ("flame over vapour", "refused", "fire")
    assert kind in short(first, WORDS)
    assert "off = true" in full(first, WORDS)
    off = _boat(sealed=False, ignition=({"kind": kind, "space": where, "off": True},))
    assert not _topics(_cautions(REACHED, off), "refused")


@pytest.mark.parametrize("kind", SPARKS)
def test_what_sparks_is_named_and_off_at_the_main_before_the_tin_is_opened(kind: str) -> None:
    """No more than that: an aired coat goes on with the fridge switched off."""
    boat = _boat(ignition=({"kind": kind, "space": "passage"},))
    found = [each for each in _cautions(REACHED, boat) if each.kind == "spark over vapour"]
    assert len(found) == 1
    assert grade(found[0]) == "warning"
    assert kind in short(found[0], WORDS)
    assert "before the tin is opened" in full(found[0], WORDS)
    behind = _boat(ignition=({"kind": kind, "space": "lazarette"},))
    assert not [e for e in _cautions(REACHED, behind) if e.kind == "spark over vapour"]
    harmless = _cautions(_sheet([]), boat)
    assert not [e for e in harmless if e.kind == "spark over vapour"]


@pytest.mark.parametrize("kind", SPARKS)
def test_a_spark_refuses_where_nobody_knows_how_much_air_the_vapour_needs(kind: str) -> None:
    boat = _boat(ignition=({"kind": kind, "space": "saloon"},))
    found = _cautions(SOLVENT, boat)
    assert _topics(found, "refused") == {"fire"}
    assert "area or amount" in full(found[0], WORDS)


ROUTINE = [{"from": "07:00", "setpoint": "18 °C"}, {"from": "19:00"}]


def test_an_electric_heater_by_its_routine_or_brought_along_sparks() -> None:
    by_routine = _boat(_heating("electric", vented=False, open_flame=False, routine=ROUTINE))
    idle = _boat(_heating("electric", vented=False, open_flame=False))

    def sparks(boat: Boat, *, lit: bool = False) -> bool:
        heater = boat.space[0].heating if lit else None
        found = cautions_for([REACHED], JOB, boat.space[0], boat, heater, step=JOB.step[0])
        assert not _topics(found, "refused")
        return any(each.kind == "spark over vapour" for each in found)

    assert sparks(by_routine)
    assert not sparks(idle)
    assert sparks(idle, lit=True)


@pytest.mark.parametrize("kind", ["desiccant", "condensing"])
def test_a_dehumidifier_that_runs_sparks(kind: str) -> None:
    drier = {"kind": kind, "rated": "8 L/d"}
    for running in (True, False):
        boat = _boat(dehumidifier={**drier, "running": running})
        found = any(each.kind == "spark over vapour" for each in _cautions(REACHED, boat))
        assert found is running


# ---- air that nobody can make, and spaces that are confined --------------------------


def test_air_that_no_fan_makes_is_refused() -> None:
    """60 m² in half an hour: 5 L with 1.85 kg of solvent, 2.5 L of it, 5 L/h: 43,000 m³/h."""
    boat = _boat()
    wide = JOB.model_copy(update={"area": 60.0})
    step = Step.model_validate({"do": "coat", "sheet": "x", "hands_on": "30 min"})
    found = cautions_for([REACHED], wide, boat.space[0], boat, step=step)
    assert _topics(found, "refused") == {"vapour"}
    assert "no fan" in short(found[0], WORDS)
    assert not _topics(_cautions(REACHED, boat), "refused")


@pytest.mark.parametrize(("volume", "told"), [("1 m³", True), ("3 m³", True), ("3.1 m³", False)])
def test_a_locker_is_a_confined_space(volume: str, told: bool) -> None:
    boat = _boat(volume=volume)
    found = [each for each in _cautions(REACHED, boat) if each.kind == "confined space"]
    assert bool(found) is told
    assert not [e for e in _cautions(_sheet([]), boat) if e.kind == "confined space"]
    if told:
        assert "hatch" in short(found[0], WORDS)
        assert not _topics(_cautions(REACHED, boat), "refused")


def test_vapour_of_two_coats_adds_up() -> None:
    """A film just put on, touch dry after 6 h: 0.25 L leave at ln 5 / 6 h, against 0.125 L/h."""
    film = WetFilm(REACHED, JOB)
    alone = solvent_airflow_m3_h(REACHED, JOB, JOB.step[0])
    both = airflow_m3_h(REACHED, JOB, JOB.step[0], [film])
    assert alone is not None
    assert both is not None
    assert both / alone == pytest.approx(1.0 + 2.0 * math.log(5.0) / 6.0, rel=1e-9)
    assert airflow_m3_h(REACHED, JOB, JOB.step[0], [WetFilm(SOLVENT, JOB)]) is None
    assert airflow_m3_h(REACHED, JOB, JOB.step[0], [WetFilm(_sheet([]), JOB)]) == alone


def test_outdoors_an_unflued_heater_goes_out_before_the_vents_are_shut() -> None:
    for flued in (False, True):
        boat = _boat(_heating("paraffin", vented=flued, open_flame=False))
        told = next(e for e in _cautions(SOLVENT, boat, None) if e.kind == "flammable vapour")
        for text in (short(told, WORDS), full(told, WORDS)):
            out = text.find("out first")
            assert "vents" in text
            assert (out == -1) is flued
            assert flued or out < text.find("vents")


# ---- three degrees of what gets into the air ---------------------------------------------


def _isocyanate(kind: str, **step: Any) -> Finding:
    sheet = _sheet(["isocyanate"], kind=kind)
    made = Step.model_validate({"do": "coat", "sheet": "x", "hands_on": "2 h", **step})
    return next(e for e in _cautions(sheet, _boat(), step=made) if e.kind == "isocyanate")


def test_a_bead_a_brush_and_a_spray_are_three_degrees_of_isocyanate() -> None:
    bead, brush, spray = (_isocyanate("adhesive", by=by) for by in ("cartridge", "brush", "spray"))
    assert _isocyanate("sealant") == bead  # as is usual for it
    assert _isocyanate("paint") == _isocyanate("paint", by="roller") == brush
    texts = [full(each, WORDS) for each in (bead, brush, spray)]
    assert len(set(texts)) == 3
    assert "air-fed" not in texts[0]
    assert "asthma" in texts[0]  # a little of it is enough
    assert "air-fed" in texts[1]
    assert [grade(each) for each in (bead, brush, spray)] == ["warning", "warning", "refused"]
    assert "licensed" in texts[2]


def test_sprayed_isocyanate_is_for_whoever_has_the_apparatus() -> None:
    """Outdoors too: the sprayer stands in the mist."""
    sheet = _sheet(["isocyanate"])
    for air_fed in (False, True):
        step = Step.model_validate(
            {"do": "coat", "sheet": "x", "hands_on": "1 h", "by": "spray", "air_fed": air_fed}
        )
        for space in ("saloon", None):
            found = _cautions(sheet, _boat(), space, step=step)
            assert ("isocyanate" in _topics(found, "refused")) is not air_fed


@pytest.mark.parametrize(("by", "told"), [("spray", True), ("brush", False), ("pad", False)])
def test_what_is_sprayed_hangs_in_the_air(by: str, told: bool) -> None:
    step = Step.model_validate({"do": "coat", "sheet": "x", "hands_on": "2 h", "by": by})
    found = _cautions(_sheet(["skin irritant"]), _boat(), step=step)
    assert ("spray mist" in {each.kind for each in found}) is told
