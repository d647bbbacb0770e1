"""The rules of order and of the space, in weather in which everything else would go."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curewindow.daysheet import DaySheet
from curewindow.record.entries import Done
from curewindow.sheets.shelf import find_products_dir
from curewindow.voice.cautions import topic
from tests.daysheet.conftest import COAT, FLAME, NOW, SAND, SOLVENT, VARNISH, WORDS, job, of, put_on
from tests.voiced import said

Make = Callable[..., DaySheet]


def test_goes_in_good_weather(make: Make) -> None:
    day = of(make(job("door")), "door")
    assert day.status == "go"
    window = day.windows_today[0]
    # someone is aboard 08:00 to 18:00 British Summer Time and needs an hour
    assert window.opens == NOW
    assert window.closes == datetime(2026, 5, 11, 16, tzinfo=UTC)
    assert said(day.verdict, WORDS) == "now until 18:00, last start 17:00; best start 09:30"
    assert day.next is not None
    assert (day.next.coat, day.next.of_coats) == (1, 3)


def test_after_waits_for_the_other_job(make: Make) -> None:
    work = job("door") + job("handle", '[[job.step]]\ndo = "fit"', 'after = ["door"]')
    day = of(make(work), "handle")
    assert day.status == "wait"
    assert [(w.kind, w.about, w.until) for w in day.waits] == [("job", "door", None)]
    assert day.windows_today == []


def test_lining_waits_until_the_paint_under_it_is_cured(make: Make) -> None:
    fit = '[[job.step]]\ndo = "fit"'
    work = job("side") + job("lining", fit, 'after_cured = ["side"]')
    coats = [put_on("side", NOW - timedelta(days=d), coat=4 - d) for d in (3, 2, 1)]
    sheet = make(work, coats=coats)
    day = of(sheet, "lining")
    assert of(sheet, "side").status == "done"
    assert day.status == "wait"
    (wait,) = day.waits
    assert (wait.kind, wait.about) == ("cured", "side")
    assert wait.until is not None
    assert wait.until == sheet.clocks[0].closed_up
    # and in the work list as it will be: the first moment aboard after that
    assert day.next_window is not None
    assert day.next_window.opens >= wait.until


@pytest.mark.parametrize(
    ("delivery", "until", "wanted"),
    [
        ("on = 2026-05-13", datetime(2026, 5, 13, 17, tzinfo=UTC), "ply due by"),
        (
            "earliest = 2026-05-12\nlatest = 2026-05-14",
            datetime(2026, 5, 14, 17, tzinfo=UTC),
            "ply due by",
        ),
        ("on = 2026-05-10", None, "overdue"),
        ("on = 2026-05-11", datetime(2026, 5, 11, 17, tzinfo=UTC), "due today"),
        ("earliest = 2026-05-12", None, "no latest date"),
    ],
)
def test_deliveries(make: Make, delivery: str, until: datetime | None, wanted: str) -> None:
    table = f'[[job.delivery]]\nwhat = "ply"\n{delivery}'
    day = of(make(job("door", table + VARNISH)), "door")
    assert day.status == "wait"
    (wait,) = day.waits
    assert wait.until == until
    assert wanted in said(wait.why, WORDS)
    if until is None:
        assert day.next_window is None
    else:
        assert day.next_window is not None
        assert day.next_window.opens >= until


def test_arrived_delivery_is_no_wait(make: Make) -> None:
    table = '[[job.delivery]]\nwhat = "ply"\non = 2026-05-20\narrived = true\n'
    assert of(make(job("door", table + VARNISH)), "door").status == "go"


def test_recoat_not_open_yet(make: Make) -> None:
    # the sheet asks for at least 6 h at 15 °C; the coat is half an hour old
    coat = put_on("door", NOW - timedelta(hours=1.5))
    sheet = make(job("door"), coats=[coat])
    day, clock = of(sheet, "door"), sheet.clocks[0]
    assert clock.recoat_from is not None
    assert clock.recoat_from >= coat.end + timedelta(hours=6)
    assert [w.kind for w in day.waits] == ["recoat"]
    starts = [*day.windows_today, *([day.next_window] if day.next_window else [])]
    assert starts
    assert all(window.opens >= clock.recoat_from for window in starts)


@pytest.mark.parametrize(
    ("wet_in", "status"),
    [("cabin", "go"), ("fore cabin", "go"), ("lazarette", "go"), ("", "go")],
)
def test_no_dust_in_wet_coats(make: Make, wet_in: str, status: str) -> None:
    """Same space and joined spaces wait until the coat is tack free, others do not."""
    work = job("wet one", VARNISH, space=wet_in) + job("dusty", SAND)
    sheet = make(work, coats=[put_on("wet one", NOW - timedelta(hours=1.25))])
    day = of(sheet, "dusty")
    joined = wet_in in ("cabin", "fore cabin")
    assert [w.kind for w in day.waits] == (["dust"] if joined else [])
    if joined:
        # tack free takes 3 h at 15 °C on the sheet; the slow side is later
        assert day.waits[0].until is not None
        assert day.waits[0].until >= NOW + timedelta(hours=2.5)
        assert all(window.opens >= day.waits[0].until for window in day.windows_today)
    else:
        assert day.status == status
        assert day.windows_today[0].opens == NOW


def test_dry_coats_do_not_stop_sanding(make: Make) -> None:
    work = job("dry one") + job("dusty", SAND)
    sheet = make(work, coats=[put_on("dry one", NOW - timedelta(days=2))])
    assert of(sheet, "dusty").status == "go"


def test_sanding_between_coats_is_dust_too(make: Make) -> None:
    between = VARNISH + 'between = "sand"\n'
    work = job("wet one") + job("door", between)
    coats = [
        put_on("wet one", NOW - timedelta(hours=1.25)),
        put_on("door", NOW - timedelta(days=2)),
    ]
    day = of(make(work, coats=coats), "door")
    assert [w.kind for w in day.waits] == ["dust"]
    assert day.next is not None
    assert day.next.sand_first


def test_who_sands_between_coats_has_no_deadline_for_not_sanding(make: Make) -> None:
    coat = put_on("door", NOW - timedelta(hours=10))
    with_sanding = make(job("door", VARNISH + 'between = "sand"\n'), coats=[coat])
    without = make(job("door"), coats=[coat])
    assert without.clocks[0].next_deadline is not None
    assert with_sanding.clocks[0].next_deadline is None


def test_a_flame_near_solvent_refuses(make: Make) -> None:
    day = of(make(job("door", SOLVENT), heating=FLAME), "door")
    assert day.status == "refused"
    assert day.windows_today == []
    assert day.next_window is None
    assert "gas heater" in said(day.verdict, WORDS)


def test_the_same_without_the_flame_goes(make: Make) -> None:
    assert of(make(job("door", SOLVENT)), "door").status == "go"


def test_a_flame_next_door_refuses_but_not_behind_a_bulkhead(make: Make) -> None:
    work = job("a", SOLVENT, space="fore cabin") + job("b", SOLVENT, space="lazarette")
    sheet = make(work, heating=FLAME)
    assert of(sheet, "a").status == "refused"
    assert of(sheet, "b").status == "go"


def test_nobody_sleeps_over_solvent(make: Make) -> None:
    """Where someone sleeps next door the last start leaves time to set before 22:00."""
    free = of(make(job("door", SOLVENT)), "door")
    slept = of(make(job("door", SOLVENT), fore="slept_in = true"), "door")
    assert slept.status == "go"
    assert slept.windows_today[0].closes < free.windows_today[0].closes
    bedtime = datetime(2026, 5, 11, 21, tzinfo=UTC)  # 22:00 British Summer Time
    # touch dry takes 4 h at 15 °C on the sheet, after an hour of work
    assert slept.windows_today[0].closes <= bedtime - timedelta(hours=5)
    assert slept.windows_today[0].closes_because.kind == "vapour at night"


def test_sleepers_do_not_bind_products_without_vapour(make: Make) -> None:
    slept = of(make(job("door"), fore="slept_in = true"), "door")
    assert slept.windows_today[0].closes == datetime(2026, 5, 11, 16, tzinfo=UTC)


def test_what_is_recorded_later_is_not_known_yet(make: Make, folder: Path) -> None:
    coat = put_on("door", NOW - timedelta(hours=3))
    before = NOW - timedelta(hours=6)
    make(job("door"), coats=[coat])

    from curewindow.daysheet import day_sheet

    sheet = day_sheet(folder, before)
    assert sheet.clocks == []
    day = of(sheet, "door")
    assert day.next is not None
    assert day.next.coat == 1


def test_done_jobs_and_cautions_of_today_only(make: Make) -> None:
    work = job("sole", SAND) + job("door", SOLVENT, 'after = ["mast"]') + job("mast", SAND)
    # dust that nobody wipes off is told of for three days
    sheet = make(work, done=[Done("sole", 1, NOW - timedelta(days=4))])
    assert of(sheet, "sole").status == "done"
    assert of(sheet, "door").status == "wait"
    topics = {topic(each.danger) for each in sheet.cautions}
    assert "dust" in topics  # of sanding the mast
    assert "fire" not in topics  # the varnish is not for today
    assert all(caution.jobs == ["mast"] for caution in sheet.cautions)


def test_each_job_by_itself_is_said(make: Make) -> None:
    assert make(job("a")).notes == []
    assert "judged by itself" in said(make(job("a") + job("b")).notes)[0]


def test_now_must_be_aware(folder: Path) -> None:

    from curewindow.daysheet import day_sheet

    with pytest.raises(ValueError, match="aware"):
        day_sheet(folder, datetime(2026, 5, 11, 8))  # noqa: DTZ001


OLD = NOW - timedelta(days=5)  # the sheet's interval at 15 °C is 30 h


def test_a_coat_too_old_is_sanded_first(make: Make) -> None:
    day = of(make(job("door"), coats=[put_on("door", OLD)]), "door")
    assert day.status == "go"
    assert day.next is not None
    assert day.next.sand_first


def test_sanding_an_old_coat_is_dust_too(make: Make) -> None:
    work = job("wet one") + job("door")
    coats = [put_on("wet one", NOW - timedelta(hours=1.25)), put_on("door", OLD)]
    assert [w.kind for w in of(make(work, coats=coats), "door").waits] == ["dust"]


def test_once_sanded_it_is_not_sanded_again(make: Make) -> None:
    work = job("door", VARNISH.replace("coats = 3", "coats = 1") + SAND + VARNISH)
    coats = [put_on("door", OLD)]
    planned = make(work, coats=coats)
    assert planned.clocks[0].next_deadline is None
    assert of(planned, "door").next is not None
    sanded = make(work, coats=coats, done=[Done("door", 2, NOW - timedelta(days=1))])
    ahead = of(sanded, "door").next
    assert ahead is not None
    assert (ahead.step, ahead.sand_first) == (3, False)
    notes = of(sanded, "door").notes
    assert not any("sand first" in note for note in notes)


def test_a_planned_sanding_step_takes_the_deadline_away(make: Make) -> None:
    coats = [put_on("door", NOW - timedelta(hours=10))]
    work = job("door", VARNISH.replace("coats = 3", "coats = 1") + SAND + VARNISH)
    assert make(work, coats=coats).clocks[0].next_deadline is None
    straight_on = job("door", VARNISH.replace("coats = 3", "coats = 1") + VARNISH)
    assert make(straight_on, coats=coats).clocks[0].next_deadline is not None


def test_a_wet_coat_binds_those_who_sleep_near_it(make: Make) -> None:
    coat = put_on("door", NOW - timedelta(hours=2), sheet="one-part-urethane-varnish")
    work = job("door", SOLVENT)
    nobody = make(work, coats=[coat], fore="slept_in = false")
    assert "sleeping" not in {topic(c.danger) for c in nobody.cautions}
    slept = make(work, coats=[coat], fore="slept_in = true")
    assert {tuple(c.jobs) for c in slept.cautions if topic(c.danger) == "sleeping"} == {("door",)}


def test_coats_of_jobs_not_in_the_list_are_said(make: Make) -> None:
    sheet = make(job("door"), coats=[put_on("hatch", NOW - timedelta(days=2))])
    assert sheet.clocks == []
    assert any(
        "'hatch' is in the record but not in work.toml" in note for note in said(sheet.notes)
    )


def dampen(folder: Path, dew_point: str) -> None:
    """From 05:00 UTC today on the air is damper."""
    path = folder / "weather.csv"
    head, *lines = path.read_text(encoding="utf-8").splitlines()
    damp = [
        line.replace(",15,5,", f",15,{dew_point},") if line > "2026-05-11T05" else line
        for line in lines
    ]
    path.write_text("\n".join([head, *damp]) + "\n", encoding="utf-8")


def test_a_recoat_time_that_is_not_known_is_a_wait_and_no_refusal(make: Make, folder: Path) -> None:
    """The sheet's drying stops above 85 %: nobody can tell when the coat below is ready."""
    dampen(folder, "14.9")
    day = of(make(job("door", space=""), coats=[put_on("door", NOW - timedelta(hours=5))]), "door")
    assert [(wait.kind, wait.until) for wait in day.waits] == [("recoat", None)]
    assert day.status == "wait"
    assert said(day.verdict, WORDS) == "the coat below is not ready"
    assert day.next_window is None


@pytest.mark.usefixtures("sure")
def test_a_wait_that_ends_today_does_not_hide_what_stands_behind_it(
    make: Make, folder: Path
) -> None:
    """The coat below is ready today, but at 78 % it is too damp for another (at most 75 %)."""
    dampen(folder, "11.2")
    day = of(make(job("door", space=""), coats=[put_on("door", NOW - timedelta(hours=6))]), "door")
    (wait,) = day.waits
    assert wait.until is not None
    assert wait.until < NOW + timedelta(hours=14)
    assert day.status == "blocked"
    assert said(day.verdict, WORDS).startswith("no window in the forecast (ends ")
    assert "humidity above 75 %" in said(day.verdict, WORDS)


def test_no_further_coat_is_refused(make: Make, folder: Path) -> None:
    """A sheet of the boat's own that says 'never after'."""
    own = folder / "sheets"
    own.mkdir(exist_ok=True)
    text = (find_products_dir() / "waterborne-acrylic-varnish.toml").read_text(encoding="utf-8")
    never = text.replace('after = "sand"', 'after = "never"')
    assert never != text
    (own / "strict.toml").write_text(never, encoding="utf-8")
    coat = put_on("door", OLD, sheet="strict")
    day = of(make(job("door", COAT.format(sheet="strict")), coats=[coat]), "door")
    assert day.status == "refused"
    assert "allows no further coat" in said(day.verdict, WORDS)
