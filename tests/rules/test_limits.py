"""The registry of limits: whole, of one mind with the schema, and said wherever it is read."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from curewindow.charts.limits import drawn_limits, limits_text
from curewindow.rules.asked import AtLeast, AtMost, Between, Unless
from curewindow.rules.limits import BY_NAME, KINDS, LimitKind
from curewindow.rules.uncertainty import MOST_SIGMAS
from curewindow.series import SurfaceSeries
from curewindow.sheets.checks import check
from curewindow.sheets.content import Pairs, sections_of
from curewindow.sheets.schema import Limits, Sheet
from curewindow.windows.confidence import sigmas
from curewindow.windows.limits import limit_tracks
from curewindow.windows.reasons import broken, kept
from tests.voiced import WORDS
from tests.voiced import said as told

_MARKS = ("{", "}")
_FIGURES = {
    "°C": ("9 °C", "21 °C"),
    "K": ("4 K", "4 K"),
    "%": ("11 %", "61 %"),
    "m/s": ("7 m/s",) * 2,
}


def kinds(*forms: type) -> list[LimitKind]:
    return [kind for kind in KINDS if isinstance(kind.form, forms)]


def asking(kind: LimitKind, phase: str = "applying") -> Sheet:
    """A sheet that sets this limit, and of the others what none can leave out."""
    table: dict[str, object] = {"rain": True, "direct_sun": True, "above_dew_point": "0 K"}
    low, high = _FIGURES.get(kind.unit, (f"1 {kind.unit}",) * 2)
    if isinstance(kind.form, Between):
        table[kind.form.field] = {"min": low, "max": high}
    elif isinstance(kind.form, AtLeast | AtMost):
        table[kind.form.field] = low
    elif isinstance(kind.form, Unless):
        table[kind.form.field] = False
    free: dict[str, object] = {"rain": True, "direct_sun": True}
    return Sheet.model_validate(
        {
            "name": "made up",
            "kind": "paint",
            "chemistry": "oxidation",
            "basis": "data sheet of no date",
            "applying": table if phase == "applying" else free,
            "setting": table if phase == "setting" else free,
            "cure": {"temps": ["10 °C", "20 °C"], "touch_dry": ["8 h", "4 h"]},
        }
    )


def course(outdoors: bool) -> SurfaceSeries:
    """Two members, a week, everything known, from frost to a heat no one meets."""
    swing = np.linspace(0.0, 1.0, 169)
    both = np.stack([swing, swing[::-1]])
    return SurfaceSeries(
        space="outdoors" if outdoors else "saloon",
        surface="deck",
        times=np.datetime64("2026-01-12T00:00:00") + np.arange(169) * np.timedelta64(3600, "s"),
        air_c=-12.0 + 60.0 * both,
        tin_c=-12.0 + 60.0 * both,
        rh_pct=5.0 + 95.0 * both,
        dew_point_c=-20.0 + 40.0 * both,
        surface_c=-15.0 + 60.0 * both[::-1],
        wood_moisture_pct=2.0 + 80.0 * both,
        wind_ms=20.0 * both,
        rain_mm_h=np.maximum(both - 0.5, 0.0),
        sun_w_m2=600.0 * both,
        measured=np.zeros(169, np.bool_),
        lead_h=np.arange(169.0),
        outdoors=outdoors,
        lying_kg_m2=0.001 * np.maximum(both - 0.5, 0.0),
    )


def test_every_key_of_the_schema_is_one_limits() -> None:
    """A key that no record reads would be written on a sheet and never judged."""
    fields = [kind.form.field for kind in KINDS if kind.form.field]
    assert sorted(fields) == sorted(Limits.model_fields)
    assert len(BY_NAME) == len(KINDS)


@pytest.mark.parametrize("outdoors", [True, False])
@pytest.mark.parametrize("phase", ["applying", "setting"])
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_a_limit_asked_for_is_judged_where_it_counts(
    kind: LimitKind, phase: str, outdoors: bool
) -> None:
    """And nowhere else; its margin is the distance to the bound, its doubt keeps the sign."""
    series, sheet = course(outdoors), asking(kind, phase)
    limits = sheet.applying if phase == "applying" else sheet.setting
    for bare in (True, False):
        counts = {
            "anywhere": True,
            "outdoors": outdoors,
            "bare wood": bare,
            "where followed": True,
        }[kind.scope]
        tracks = limit_tracks(series, limits, phase, bare_wood=bare)  # type: ignore[arg-type]
        own = [track for track in tracks if track.kind is kind]
        assert bool(own) == (counts and phase in kind.phases)
        assert {track.bound for track in own} <= {"min", "max"}
        assert len(own) == (2 if isinstance(kind.form, Between) else 1) * bool(own)
        for track in own:
            assert np.allclose(np.abs(track.value - track.limit), np.abs(track.margin), atol=1e-5)
            assert (track.margin < 0.0).any(), "the course reaches past every bound"
            assert (track.margin >= 0.0).any()
            sure = sigmas(track, series.lead_h)
            assert sure.shape == track.margin.shape
            assert ((sure < 0.0) == (track.margin < 0.0)).all()
            assert sure.max() <= MOST_SIGMAS
            later = sigmas(track, series.lead_h + 24.0)
            assert (np.abs(later) <= np.abs(sure) + 1e-9).all(), "doubt grows with the days ahead"


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_what_is_not_known_is_not_kept(kind: LimitKind) -> None:
    series = course(True)
    dark = replace(
        series,
        **{
            name: None if name != "lying_kg_m2" and value is not None and name in OUTSIDE else value
            for name in SurfaceSeries.__dataclass_fields__
            for value in [getattr(series, name)]
            if name in OUTSIDE
        },
        **{
            name: np.full_like(series.air_c, np.nan)
            for name in ("air_c", "tin_c", "rh_pct", "dew_point_c", "surface_c", "lying_kg_m2")
        },
    )
    tracks = limit_tracks(dark, asking(kind).applying, "applying", bare_wood=True)
    own = [track for track in tracks if track.kind is kind]
    assert own
    for track in own:
        assert not (track.margin >= 0.0).any()
        assert np.isnan(sigmas(track, series.lead_h)).all()


OUTSIDE = ("wood_moisture_pct", "wind_ms", "rain_mm_h", "sun_w_m2")


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_a_limit_has_words_wherever_it_is_told(kind: LimitKind) -> None:
    series = course(True)
    sheet = asking(kind)
    for track in limit_tracks(series, sheet.applying, "applying", bare_wood=True):
        if track.kind is not kind:
            continue
        for value in (track.limit - 0.5, track.limit + 0.5, -1.0):
            said = told(broken(track, series, value))
            assert said
            assert not any(mark in said for mark in _MARKS)
        held = told(kept(track, series))
        assert held
        assert held != said
        words = kind.said(track.limit)
        assert bool(words.kept) == bool(words.broken)
        assert words.too_low if track.bound == "min" else words.too_high
    drawn = drawn_limits(series, sheet, slice(0, None), "deck")
    if kind.scope != "bare wood":
        mine = [limit for limit in drawn if limit.kind is kind]
        assert mine
        assert all(limit.complaint and limit.subject for limit in mine)
        assert mine[0].subject in limits_text(drawn, WORDS)


@pytest.mark.parametrize("kind", kinds(Between, AtLeast, AtMost, Unless), ids=lambda k: k.name)
@pytest.mark.parametrize("fahrenheit", [False, True])
def test_a_sheets_page_shows_what_the_sheet_sets(kind: LimitKind, fahrenheit: bool) -> None:
    """And the page without it does not."""

    def shown(sheet: Sheet) -> list[tuple[str, str]]:
        first = sections_of(sheet, fahrenheit=fahrenheit)[0].items[0]
        assert isinstance(first, Pairs)
        return list(first.rows)

    free = shown(asking(BY_NAME["water on the surface"]))
    rows = [row for row in shown(asking(kind)) if row not in free]
    assert len(rows) == 1, rows
    label, text = rows[0]
    assert label == ("outdoors" if kind.scope == "outdoors" else kind.words.on_sheet)
    assert text


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_a_limit_where_it_does_not_count_is_told(kind: LimitKind) -> None:
    """[setting] with the tin's temperature is a mistake of whoever copied the sheet."""
    if not kind.form.field or isinstance(kind.form, Unless):
        return
    keys = [finding.key for finding in check(asking(kind, "setting"))]
    assert (f"setting.{kind.form.field}" in keys) == ("setting" not in kind.phases)


@pytest.mark.parametrize("kind", kinds(AtLeast, AtMost), ids=lambda kind: kind.name)
def test_no_figure_below_nothing(kind: LimitKind) -> None:
    sheet = asking(kind)
    wrong = sheet.model_copy(
        update={"applying": sheet.applying.model_copy(update={kind.form.field: -1.0})}
    )
    found = [f for f in check(wrong) if f.key == f"applying.{kind.form.field}"]
    assert [f.level for f in found] == ["error"]
