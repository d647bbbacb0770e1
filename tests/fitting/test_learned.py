"""Kept values: written to be read by hand, used by the conditions, left aside when they no
longer belong to what boat.toml describes."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from trial import make

from curewindow.conditions import Learned, keep_learned, learned_in, space_conditions
from curewindow.conditions.learned import fingerprint
from curewindow.errors import BoatError
from tests.voiced import said

TRIAL = make(1)
KEPT = Learned(
    space="saloon",
    fitted_at=datetime(2026, 1, 10, 9, tzinfo=UTC),
    readings=42,
    air_within_k=0.62,
    dew_within_k=0.9,
    fingerprint=fingerprint(TRIAL.space),
    air_changes_h=1.9,
    heat_loss=1.6,
    mass_j_k=310_000.0,
    buffer_kg=4.2,
    moisture_kg_h=0.1,
    heater_w=1400.0,
)


def _conditions(learned, space=TRIAL.space, now=TRIAL.now):
    boat = TRIAL.boat.model_copy(update={"space": [space]})
    return space_conditions(boat, space, TRIAL.forecast, (), now, learned=learned)


def test_what_is_kept_is_read_back(tmp_path: Path) -> None:
    keep_learned(tmp_path, KEPT, {"air_change": "times or divided by 1.2"})
    assert learned_in(tmp_path) == {"saloon": KEPT}
    text = (tmp_path / "learned.toml").read_text(encoding="utf-8")
    assert 'air_change = "1.9 /h"  # times or divided by 1.2' in text
    assert 'moisture = "100 g/h"' in text


def test_other_spaces_and_remarks_stay(tmp_path: Path) -> None:
    keep_learned(tmp_path, replace(KEPT, space="fore peak"), {"moisture": "by night"})
    keep_learned(tmp_path, KEPT, {})
    file = tmp_path / "learned.toml"
    file.write_text(file.read_text(encoding="utf-8") + "# new hatch on 3 March\n", encoding="utf-8")
    keep_learned(tmp_path, replace(KEPT, space="fore peak", readings=60), {})
    kept = learned_in(tmp_path)
    assert list(kept) == ["fore peak", "saloon"]
    assert kept["fore peak"].readings == 60
    assert "# new hatch on 3 March" in file.read_text(encoding="utf-8")


def test_none_kept_is_none_read(tmp_path: Path) -> None:
    assert learned_in(tmp_path) == {}


def test_a_broken_file_is_told_and_not_written_over(tmp_path: Path) -> None:
    file = tmp_path / "learned.toml"
    file.write_text('format = 1\n[[space]]\nnam = "saloon"\n', encoding="utf-8")
    with pytest.raises(BoatError, match=r"learned\.toml"):
        learned_in(tmp_path)
    with pytest.raises(BoatError, match=r"learned\.toml"):
        keep_learned(tmp_path, KEPT, {})
    assert "nam =" in file.read_text(encoding="utf-8")


def test_conditions_run_on_what_was_kept_and_say_so() -> None:
    plain, fitted = _conditions(None), _conditions({"saloon": KEPT})
    assert np.nanmean(np.abs(plain.air_c - fitted.air_c)) > 0.3
    assert "saloon: fitted to 42 readings on Sat 10 Jan 2026, air within 0.6 °C" in said(
        fitted.notes
    )
    assert any("assumed" in note for note in said(plain.notes))
    assert not any("saloon: assumed" in note for note in said(fitted.notes))


@pytest.mark.slow
def test_another_description_leaves_them_aside_and_says_so() -> None:
    other = TRIAL.space.model_copy(update={"volume": TRIAL.space.volume + 1.0})
    plain, left = _conditions(None, other), _conditions({"saloon": KEPT}, other)
    np.testing.assert_array_equal(plain.air_c, left.air_c)
    assert any(
        "describes it otherwise than on Sat 10 Jan 2026" in note for note in said(left.notes)
    )


def test_another_routine_does_not() -> None:
    """When the heater is lit is no property of the cabin."""
    heating = TRIAL.space.heating.model_copy(update={"routine": []})
    other = TRIAL.space.model_copy(update={"heating": heating})
    assert fingerprint(other) == fingerprint(TRIAL.space)
    stronger = heating.model_copy(update={"power": heating.power * 2.0})
    changed = TRIAL.space.model_copy(update={"heating": stronger})
    assert fingerprint(changed) != fingerprint(TRIAL.space)


@pytest.mark.slow
def test_old_values_are_used_and_said_to_be_old() -> None:
    fresh = _conditions({"saloon": KEPT})
    stale = _conditions({"saloon": replace(KEPT, fitted_at=TRIAL.now - timedelta(days=61))})
    np.testing.assert_array_equal(fresh.air_c, stale.air_c)
    assert any("61 d ago: fit it anew" in note for note in said(stale.notes))
    assert not any("fit it anew" in note for note in said(fresh.notes))
