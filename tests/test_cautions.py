"""Cautions by product, space and heater.

What must be said, and what must be refused, is common practice of the trade and
of safety data sheets; no single source.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, get_args
from zoneinfo import ZoneInfo

import pytest

from curewindow.boat.schema import Boat, Job, Step
from curewindow.cautions import cautions_for, grade
from curewindow.cautions.airflow import solvent_airflow_m3_h
from curewindow.findings import Finding
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


def _boat(heating: dict[str, Any] | None = None, where: str = "saloon", **saloon: Any) -> Boat:
    """Forepeak - passage - saloon in a row, and a lazarette on its own."""

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
@pytest.mark.parametrize("where", ["saloon", "passage", "forepeak"])
def test_flame_with_solvent_vapour_is_refused(heating: dict[str, Any], where: str) -> None:
    """In the space, in a joined one, and two spaces on: vapour creeps."""
    cautions = _cautions(SOLVENT, _boat(heating, where))
    assert _topics(cautions, "refused") == {"fire"}
    first = cautions[0]
    assert grade(first) == "refused"
    assert "What is usual instead" in full(first, WORDS)
    assert "data sheet" not in full(first, WORDS)  # said once a screen


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
