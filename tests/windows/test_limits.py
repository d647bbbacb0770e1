"""Each limit of a sheet is held against the right quantity, from the right side."""

from __future__ import annotations

import numpy as np
import pytest

from curewindow.clocks.past import broken_limits
from curewindow.rules.limits import AIR, above_dew
from curewindow.sheets.schema import Limits
from curewindow.windows import judge, limit_tracks
from curewindow.windows.limits import LimitTrack

EVERYTHING = Limits.model_validate(
    {
        "air": {"min": "8 °C", "max": "30 °C"},
        "surface": {"min": "9 °C", "max": "28 °C"},
        "product": {"min": "12 °C"},
        "mixed": {"max": "25 °C"},
        "humidity": {"min": "35 %", "max": "80 %"},
        "above_dew_point": "3 K",
        "wood_moisture": {"max": "15 %"},
        "wind_max": "8 m/s",
        "direct_sun": False,
    }
)


def test_margins_have_the_right_sign_and_size(cabin) -> None:
    series = cabin(
        hours=1,
        wood_moisture_pct=17.0,
        wind_ms=5.0,
        rain_mm_h=0.2,
        sun_w_m2=100.0,
        outdoors=True,
    )
    tracks = limit_tracks(series, EVERYTHING, "applying", bare_wood=True)
    margins = {(track.name, track.bound): float(track.margin[0, 0]) for track in tracks}
    assert margins == pytest.approx(
        {
            ("air temperature", "min"): 2.0,
            ("air temperature", "max"): 20.0,
            ("surface temperature", "min"): 1.0,
            ("surface temperature", "max"): 18.0,
            ("tin temperature", "min"): -2.0,  # as warm as the air
            ("mixed product temperature", "max"): 15.0,
            ("relative humidity", "min"): 22.5,
            ("relative humidity", "max"): 22.5,
            ("surface above dew point", "min"): 5.0,
            ("wood moisture", "max"): -2.0,
            ("wind", "max"): 3.0,
            ("rain", "max"): -0.2,
            ("direct sun", "max"): 20.0,
        }
    )


def test_indoors_on_coated_wood_nobody_asks_for_wind_or_wood(cabin) -> None:
    names = {track.name for track in limit_tracks(cabin(hours=1), EVERYTHING, "applying")}
    assert names.isdisjoint({"wood moisture", "wind", "rain", "direct sun"})


def test_the_tin_does_not_matter_once_the_coat_is_on(cabin) -> None:
    names = {track.name for track in limit_tracks(cabin(hours=1), EVERYTHING, "setting")}
    assert names.isdisjoint({"tin temperature", "mixed product temperature"})


def test_what_the_series_does_not_have_is_not_known(cabin) -> None:
    tracks = limit_tracks(cabin(hours=1, outdoors=True), EVERYTHING, "applying", bare_wood=True)
    dark = {track.name for track in tracks if np.isnan(track.margin).all()}
    assert dark == {"wood moisture", "wind", "rain", "direct sun"}


SILENT = Limits.model_validate({"surface": {"min": "-10 °C"}})


@pytest.mark.parametrize(
    ("surface_c", "dew_point_c", "kept"),
    [
        (10.0, 9.5, True),
        (10.0, 10.0, False),  # saturated air before it: it is wet
        (10.0, 11.0, False),
        # Frost point of air with a dew point of -5 °C: -4.4 °C (WMO-No. 8, annex 4.B tables:
        # 421.5 Pa over water at -5 °C is that over ice at -4.4 °C).
        (-4.7, -5.0, False),
        (-4.2, -5.0, True),
    ],
)
def test_a_sheet_that_is_silent_on_dew_allows_no_wet_surface(
    cabin, surface_c: float, dew_point_c: float, kept: bool
) -> None:
    series = cabin(hours=1, surface_c=surface_c, dew_point_c=dew_point_c)
    (dew,) = (track for track in limit_tracks(series, SILENT, "applying") if "dew" in track.name)
    assert bool((dew.margin >= 0.0).all()) is kept
    assert not any("dew" in track.name for track in limit_tracks(series, SILENT, "setting"))


def test_what_dew_is_not_known_is_not_kept(cabin) -> None:
    series = cabin(hours=1, dew_point_c=np.nan)
    (dew,) = (track for track in limit_tracks(series, SILENT, "applying") if "dew" in track.name)
    assert not (dew.margin >= 0.0).any()


def test_below_freezing_height_counts_from_the_frost_point(cabin) -> None:
    """-9 °C dew point is a frost point of -8.0 °C: a surface at -7.5 °C is 0.5 K above it."""
    limits = Limits.model_validate({"above_dew_point": "1 K"})
    series = cabin(hours=1, surface_c=-7.5, dew_point_c=-9.0)
    (track,) = (t for t in limit_tracks(series, limits, "applying") if "dew" in t.name)
    assert float(track.value[0, 0]) == pytest.approx(0.5, abs=0.05)
    assert (track.margin < 0.0).all()


@pytest.mark.parametrize(
    ("surface_c", "dew_point_c", "height"),
    [(0.3, -3.0, 3.3), (-0.2, 0.3, -0.5)],
    ids=["a surface above freezing", "a dew point above freezing"],
)
def test_where_no_frost_forms_height_counts_from_the_dew_point(
    cabin, surface_c: float, dew_point_c: float, height: float
) -> None:
    """Ice is there below 0 °C alone: frost comes onto no warmer surface, nor out of damper air."""
    series = cabin(hours=1, surface_c=surface_c, dew_point_c=dew_point_c)
    assert above_dew(series) == pytest.approx(height)


def test_it_breaks_from_where_it_does_in_half_of_the_members() -> None:
    margin = np.array(
        [
            [1.0, -1.0, 2.0, -1.0, 1.0, -1.0],
            [1.0, 1.0, 2.0, -0.1, 1.0, -1.0],
            [1.0, 1.0, 2.0, 0.0, 1.0, -1.0],
            [1.0, 1.0, 2.0, np.nan, 1.0, -1.0],
        ]
    )
    track = LimitTrack(AIR, "min", margin + 8.0, 8.0, margin, "setting")
    assert track.first_break(0, 5) == 3  # at the limit is kept, not known is not broken
    assert track.first_break(3, 3) == 3
    assert track.first_break(4, 5) == 5
    assert track.first_break(0, 2) is None
    assert track.first_break(4, 4) is None
    assert track.first_break(5, 4) is None


def test_a_limit_holds_to_the_end_of_its_own_phase(cabin, sheet) -> None:
    """1 h of work; what counts while applying is asked for until then, the rest until dry."""
    series = cabin(hours=24)
    verdict = judge(series, sheet(), 1.0, hours_ok=np.ones(len(series.times), np.bool_))
    ends = {track.phase: int(verdict.span_end(track)[0, 0]) for track in verdict.tracks}
    assert ends == {"applying": 6, "setting": int(verdict.setting_end[0, 0])}
    assert ends["setting"] > 6


@pytest.mark.parametrize(("cold", "told"), [(11, []), (12, []), (13, ["limit will break"])])
def test_what_has_been_broken_is_not_still_to_come(cabin, sheet, cold: int, told: list) -> None:
    """A point too cold before or at the moment that is asked about, or behind it."""
    surface = np.full(24 * 6 + 1, 10.0)
    surface[cold] = 4.0
    series = cabin(hours=24, surface_c=surface)
    *_, notes = broken_limits(series, sheet(), (0, 6, 12), 40, bare_wood=False)
    assert [note.kind for note in notes if note.kind == "limit will break"] == told
