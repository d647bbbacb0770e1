"""Members for a forecast of one: their errors are what the model says, and can be fitted back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.physics.air import dew_point_from_pressure, saturation_pressure
from curewindow.weather.errormodel import ErrorModel, fit_errors
from curewindow.weather.forecast import Forecast
from curewindow.weather.spread import members_from_percentiles, with_members
from tests.cases import cases

NOW = datetime(2025, 1, 7, tzinfo=UTC)


def forecast(hours: int = 240, past_h: int = 24, temp: float = 8.0, dew: float = -2.0) -> Forecast:
    start = np.datetime64("2025-01-07T00:00:00", "s") - np.timedelta64(past_h, "h")
    times = start + np.arange((hours + past_h) * 6 + 1) * np.timedelta64(600, "s")
    shape = (1, times.size)
    return Forecast(
        times=times,
        temp_c=np.full(shape, temp),
        vapour_pa=np.full(shape, float(saturation_pressure(dew))),
        wind_ms=np.full(shape, 3.0),
        rain_mm_h=np.zeros(shape),
        cloud_frac=np.full(shape, 0.5),
        sun_w_m2=np.zeros(shape),
        gap_h=np.ones(times.size),
        source="test",
        attribution="",
        issued_at=None,
        fetched_at=NOW,
    )


def test_spread_grows_as_stated() -> None:
    model = ErrorModel()
    got = with_members(forecast(), NOW, members=600, model=model)
    lead = (got.times - np.datetime64("2025-01-07T00:00:00")) / np.timedelta64(3600, "s")
    error = got.temp_c[1:] - 8.0
    for lead_h, want in [(0, 1.0), (24, 1.384), (120, 2.92), (230, 4.5)]:
        near = np.abs(lead - lead_h) < 3.0
        assert error[:, near].std() == pytest.approx(want, rel=0.08), lead_h
    assert np.abs(error.mean(axis=0)).max() < 1e-9  # no bias of its own
    dew = np.asarray(dew_point_from_pressure(got.vapour_pa[1:])) + 2.0
    near = np.abs(lead - 24) < 3.0
    assert dew[:, near].std() == pytest.approx(1.1 * 1.384, rel=0.08)
    assert np.corrcoef(error[:, near].ravel(), dew[:, near].ravel())[0, 1] == pytest.approx(
        0.6, abs=0.08
    )


def test_errors_hang_together_in_time() -> None:
    got = with_members(forecast(), NOW, members=600)
    error = (got.temp_c[1:] - 8.0) / ErrorModel().sigma_k(
        np.asarray((got.times - np.datetime64("2025-01-07")) / np.timedelta64(3600, "s"))
    )
    for apart_h in (6, 18, 36):
        a, b = error[:, : -6 * apart_h], error[:, 6 * apart_h :]
        assert float((a * b).mean()) == pytest.approx(np.exp(-apart_h / 18.0), abs=0.06)


@cases(15)
@given(
    seed=st.integers(0, 2**31),
    members=st.integers(2, 12),
    temp=st.floats(-30, 35),
    below=st.floats(0, 25),
)
def test_laws(seed: int, members: int, temp: float, below: float) -> None:
    one = forecast(48, 0, temp, temp - below)
    got = with_members(one, NOW, members=members, seed=seed)
    again = with_members(one, NOW, members=members, seed=seed)
    assert got.temp_c.shape == got.vapour_pa.shape == got.rain_mm_h.shape == (members, 289)
    assert np.array_equal(got.temp_c, again.temp_c)
    assert np.array_equal(got.vapour_pa, again.vapour_pa)
    assert np.array_equal(got.temp_c[0], one.temp_c[0])
    assert np.array_equal(got.vapour_pa[0], one.vapour_pa[0])
    assert (got.vapour_pa[1:] <= np.asarray(saturation_pressure(got.temp_c[1:])) + 1e-9).all()
    assert (got.vapour_pa > 0.0).all()
    assert one.members == 1  # the forecast given is left alone
    assert with_members(got, NOW, members=5) is got


def test_unknown_stays_unknown() -> None:
    one = forecast(24, 0)
    one.temp_c[0, 30:40] = np.nan
    one.vapour_pa[0, 50:60] = np.nan
    got = with_members(one, NOW)
    assert np.isnan(got.temp_c[:, 30:40]).all()
    assert np.isnan(got.vapour_pa[:, 50:60]).all()
    assert np.isfinite(got.temp_c[:, 60:]).all()


def test_a_wide_step_counts_as_a_longer_lead() -> None:
    one = forecast(48, 0)
    one.gap_h[:] = 6.0
    wide, plain = with_members(one, NOW), with_members(forecast(48, 0), NOW)
    assert (wide.temp_c.std(axis=0) > plain.temp_c.std(axis=0)).all()


def test_percentiles_come_back() -> None:
    one = forecast(120, 0)
    low, high = one.temp_c[0] - 2.5, one.temp_c[0] + 4.0
    got = members_from_percentiles(one, NOW, low, high, members=800)
    # By definition of a percentile: a tenth of them below, a tenth above, half on either side.
    share = np.array(
        [
            (got.temp_c[1:] < low).mean(),
            (got.temp_c[1:] > high).mean(),
            (got.temp_c[1:] > 8.0).mean(),
        ]
    )
    assert share == pytest.approx([0.1, 0.1, 0.5], abs=0.02)


def test_percentiles_missing_or_too_narrow() -> None:
    one = forecast(120, 0)
    low, high = one.temp_c[0] - 0.1, one.temp_c[0] + 0.1
    low[300:] = np.nan
    got = members_from_percentiles(one, NOW, low, high, members=400)
    spread = got.temp_c[1:].std(axis=0)
    assert spread[:300].mean() == pytest.approx(1.0, rel=0.1)  # no narrower than a place's own
    assert spread[-60:].mean() == pytest.approx(ErrorModel().sigma_k(np.array(115.0)), rel=0.1)


def _season(model: ErrorModel, runs: int = 400) -> dict[str, np.ndarray]:
    """Invented pairs whose errors are known: the truth is the draw, not our own code's."""
    rng = np.random.default_rng(5)
    lead = np.arange(0.0, 241.0, 6.0)
    rho = np.exp(-6.0 / model.memory_h)
    out: dict[str, list[np.ndarray]] = {k: [] for k in ("lead", "run", "temp", "dew")}
    for run in range(runs):
        walk = np.empty((2, lead.size))
        walk[:, 0] = rng.standard_normal(2)
        for i in range(1, lead.size):
            walk[:, i] = rho * walk[:, i - 1] + np.sqrt(1 - rho**2) * rng.standard_normal(2)
        sigma = np.minimum(model.now_k + model.per_h_k * lead, model.most_k)
        dew = model.together * walk[0] + np.sqrt(1 - model.together**2) * walk[1]
        out["lead"].append(lead)
        out["run"].append(np.full(lead.size, float(run)))
        out["temp"].append(sigma * walk[0])
        out["dew"].append(model.dew_share * sigma * dew)
    return {name: np.concatenate(parts) for name, parts in out.items()}


def test_known_errors_are_fitted_back() -> None:
    truth = ErrorModel(
        now_k=1.4, per_h_k=0.02, most_k=4.0, dew_share=1.3, memory_h=12.0, together=0.4
    )
    pairs = _season(truth)
    zero = np.zeros_like(pairs["lead"])
    got = fit_errors(
        pairs["lead"],
        pairs["temp"],
        zero,
        run=pairs["run"],
        dew_forecast_c=pairs["dew"],
        dew_observed_c=zero,
    )
    assert got.now_k == pytest.approx(truth.now_k, abs=0.12)
    assert got.per_h_k == pytest.approx(truth.per_h_k, rel=0.1)
    assert got.most_k == pytest.approx(truth.most_k, rel=0.05)
    assert got.dew_share == pytest.approx(truth.dew_share, rel=0.05)
    assert got.together == pytest.approx(truth.together, abs=0.05)
    assert got.memory_h == pytest.approx(truth.memory_h, rel=0.15)


def test_what_pairs_cannot_say_stays() -> None:
    lead = np.tile(np.arange(0.0, 48.0, 6.0), 10)
    error = np.tile([1.0, -1.0], 40)  # no growth at all
    got = fit_errors(lead, error, np.zeros(80))
    assert got.now_k == pytest.approx(1.0)
    assert got.sigma_k(np.array([0.0, 100.0])) == pytest.approx([1.0, 1.0])
    assert got.memory_h == ErrorModel().memory_h
    with pytest.raises(ValueError, match="at least 30 pairs, got 20"):
        fit_errors(lead[:20], error[:20], np.zeros(20))
    error[::2] = np.nan
    assert fit_errors(lead, error, np.zeros(80)).now_k == pytest.approx(1.0)


def test_lead_counts_from_now() -> None:
    late = with_members(forecast(120), NOW + timedelta(hours=72))
    early = with_members(forecast(120), NOW)
    assert late.temp_c[1:, -1].std() < early.temp_c[1:, -1].std()
