"""Of a joint with a contact adhesive both faces are coated: twice its area, twice the vapour."""

from __future__ import annotations

import pytest

from curewindow.boat.amount import product_litres
from curewindow.boat.schema import Job
from curewindow.sheets.shelf import get_sheet
from curewindow.supplies.amounts import coat_amount

JOB = Job.model_validate(
    {"name": "lining", "area": "4.5 m²", "step": [{"do": "bond", "sheet": "a"}]}
)


@pytest.mark.parametrize(
    ("stem", "litres"),
    [
        ("contact-adhesive-solvent", 2.0),  # 4.5 m² at 4.5 m²/L, twice
        ("alkyd-enamel", None),
    ],
)
def test_both_faces_count(stem: str, litres: float | None) -> None:
    sheet = get_sheet(stem).sheet
    once = sheet.model_copy(
        update={"amounts": sheet.amounts.model_copy(update={"both_faces": False})}
    )
    whole, single = product_litres(sheet, JOB), product_litres(once, JOB)
    assert whole is not None
    assert single is not None
    if litres is None:
        assert whole == single
        return
    assert whole == pytest.approx(litres)
    assert whole == pytest.approx(2.0 * single)
    assert coat_amount(sheet, JOB).litres == pytest.approx(whole)
    # what the owner says the job takes is taken as it is
    told = JOB.model_copy(update={"amount": 1.5})
    assert product_litres(sheet, told) == 1.5


def test_only_a_laminating_resin_stays_tacky() -> None:
    assert get_sheet("polyester-resin").sheet.stays_tacky
    assert not get_sheet("epoxy-resin-slow").sheet.stays_tacky
    assert not get_sheet("polyester-gelcoat").sheet.stays_tacky
