"""What each route answers, without a browser."""

from __future__ import annotations

import json
import re
import shutil
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner
from curewindow_service.outbox import Outbox
from curewindow_service.page.workings import work_out
from curewindow_service.sensors import LinkStatus, SensorsStatus, SensorStatus

from curewindow.boat.folder import RECORD_FILE
from curewindow.cli.main import command
from curewindow.daysheet.planning import make_plan
from curewindow.demo import files as demofiles
from curewindow.record.entries import Reading
from curewindow.record.store import Record
from curewindow.reminders import Reminder
from tests.fewer_jobs import only_jobs, weather_until
from tests.page.hands import MORNING, Caller, as_read, client_of, form_token, wait_until_worked

PAGES = (
    "/",
    "/spaces",
    "/space?name=saloon",
    "/space?name=outdoors",
    "/jobs",
    "/job?name=chart%20table",
    "/job?name=forepeak%20frames",
    "/job?name=wet%20locker%20primer",
    "/log",
    "/log/reading?space=saloon",
    "/log/work?job=chart%20table",
    "/log/work?job=wet%20locker%20slats",
    "/sheets",
    "/sheet?name=two-part-epoxy-primer-winter",
    "/why?job=forepeak%20frames&at=15:00",
    "/more",
    "/reminders",
    "/sensors",
    "/settings",
)


@pytest.mark.parametrize("address", PAGES)
def test_every_page_answers_within_100_kb(reader: Caller, address: str) -> None:
    """With its style, script and icon, unsqueezed; 100 kB is what was asked for."""
    answer = reader.get(address)
    assert answer.status_code == 200
    assert "<h1>" in answer.text
    files = {part.split('"')[0] for part in answer.text.split('"/static/')[1:]}
    assert files
    size = len(answer.content)
    for name in files:
        found = reader.get(f"/static/{name}")
        assert found.status_code == 200
        size += len(found.content)
    assert size < 100_000, size


def test_no_page_asks_for_a_command(reader: Caller) -> None:
    """On a phone nothing can be typed."""
    for address in PAGES:
        page = as_read(reader.get(address).text)
        assert not re.search(r"[`'\"]curewindow \w|\s--\w", page), address


def test_today_says_what_the_command_says(reader: Caller) -> None:
    page = as_read(reader.get("/").text)
    for text in ("saloon doors", "Now until 17:55, last start 16:40", "Do not miss", "Take care"):
        assert text in page


def test_json_is_what_the_command_prints(reader: Caller) -> None:
    folder = reader.app.state.site.folder
    printed = CliRunner().invoke(
        command, ["today", "--json", "--boat", str(folder), "--at", "2026-11-25 08:30"]
    )
    assert reader.get("/api/today").json() == json.loads(printed.stdout)


@pytest.mark.parametrize(
    ("address", "arguments"),
    [
        ("/api/windows?days=3", ["windows", "--days", "3"]),
        ("/api/windows?job=chart%20table&days=2", ["windows", "chart table", "--days", "2"]),
        ("/api/picture?of=saloon", ["picture", "saloon", "--days", "3"]),
        ("/api/picture?of=chart%20table&days=1", ["picture", "chart table", "--days", "1"]),
        ("/api/why?job=forepeak%20frames", ["why", "forepeak frames"]),
    ],
)
def test_answers_are_those_of_the_commands(
    reader: Caller, address: str, arguments: list[str]
) -> None:
    folder = reader.app.state.site.folder
    at = ["--boat", str(folder), "--at", "2026-11-25 08:30", "--json"]
    printed = CliRunner().invoke(command, [*arguments, *at])
    assert printed.exit_code == 0, printed.output
    assert reader.get(address).json() == json.loads(printed.stdout)


def test_one_computation_for_many(reader: Caller) -> None:
    """Asked again, nothing is worked out and nothing but a mark is sent."""
    current = reader.app.state.site.current
    rounds = current.rounds
    answers = [reader.get("/") for _ in range(20)]
    assert current.rounds == rounds
    again = reader.get("/", headers={"if-none-match": answers[0].headers["etag"]})
    assert again.status_code == 304
    assert again.content == b""


def test_squeezed_only_where_it_is_taken(reader: Caller) -> None:
    plain = reader.get("/", headers={"accept-encoding": "identity"})
    assert "content-encoding" not in plain.headers
    squeezed = reader.get("/", headers={"accept-encoding": "gzip"})  # httpx unpacks it
    assert squeezed.headers["content-encoding"] == "gzip"
    assert int(squeezed.headers["content-length"]) < len(plain.content) / 3
    assert squeezed.content == plain.content


def test_a_reading_in_two_taps_and_back(writer: Caller, boat: Path) -> None:
    form = writer.get("/log/reading?space=saloon").text
    sent = {
        "form_token": form_token(form),
        "once": "a",
        "space": "saloon",
        "unit": "°C",
        "air": "12,5",
        "humidity": "70",
    }
    first = writer.post("/log/reading", data=sent)
    assert first.status_code == 303
    again = writer.post("/log/reading", data=sent)  # a double tap
    assert again.headers["location"] == first.headers["location"]
    page = as_read(writer.get(first.headers["location"]).text)
    assert "air 12.5 °C, humidity 70 %" in page
    with Record(boat / RECORD_FILE, read_only=True) as record:
        before = len(record.readings("saloon"))
        assert record.readings("saloon")[-1].air_c == 12.5
    entry = first.headers["location"].rpartition("=")[2]
    undone = writer.post("/log/undo", data={"form_token": form_token(page), "entry": entry})
    assert "Taken back" in undone.text
    with Record(boat / RECORD_FILE, read_only=True) as record:
        assert len(record.readings("saloon")) == before - 1
        assert record.history()[-1].kind == "undo"  # nothing is ever deleted
    twice = writer.post("/log/undo", data={"form_token": form_token(page), "entry": entry})
    assert twice.status_code == 409
    with Record(boat / RECORD_FILE, read_only=True) as record:
        assert len(record.readings("saloon")) == before - 1


def test_a_doubted_reading_is_said_and_used_when_somebody_is_sure(
    writer: Caller, boat: Path
) -> None:
    """Ten minutes and more than a dozen kelvin beside the one before it."""
    with Record(boat / RECORD_FILE, now=lambda: MORNING) as record:
        before = [each for each in record.readings("saloon") if each.air_c is not None][-1]
    form = writer.get("/log/reading?space=saloon").text
    odd = (before.air_c or 0.0) + 14.0
    at = f"{before.at.astimezone(ZoneInfo('Europe/Amsterdam')):%Y-%m-%d %H:%M:%S}"[:16]
    sent = {
        "form_token": form_token(form),
        "once": "doubted",
        "space": "saloon",
        "unit": "°C",
        "air": f"{odd:.1f}",
        "at": at,
    }
    first = writer.post("/log/reading", data=sent)
    assert first.status_code == 303, first.text
    page = as_read(writer.get(first.headers["location"]).text)
    assert "kept, not used" in page
    with Record(boat / RECORD_FILE, read_only=True) as record:
        assert round(odd, 1) not in [each.air_c for each in record.readings("saloon")]
    entry = first.headers["location"].rpartition("=")[2]
    sure = writer.post("/log/believe", data={"form_token": form_token(page), "entry": entry})
    assert sure.status_code == 303
    assert "kept, not used" not in as_read(writer.get(sure.headers["location"]).text)
    with Record(boat / RECORD_FILE, read_only=True) as record:
        assert round(odd, 1) in [each.air_c for each in record.readings("saloon")]
    gone = writer.post("/log/believe", data={"form_token": form_token(page), "entry": "999999"})
    assert gone.status_code == 409


def test_an_entry_is_taken_back_though_newer_ones_came(writer: Caller, boat: Path) -> None:
    with Record(boat / RECORD_FILE, now=lambda: MORNING) as record:
        older = record.entry_of(record.add_reading(Reading("saloon", MORNING, air_c=11.0)))
        record.add_reading(Reading("saloon", MORNING, air_c=12.0))
    page = writer.get("/log").text
    assert f'name="entry" value="{older.id}"' in page
    sent = {"form_token": form_token(page), "entry": str(older.id)}
    assert "Taken back" in writer.post("/log/undo", data=sent).text
    assert writer.post("/log/undo", data=sent).status_code == 409
    answer = writer.post("/api/undo", json={})
    assert "12 °C" in answer.json()["said"]
    assert writer.post("/api/undo", json={"entry": older.id}).status_code == 404


@pytest.mark.slow
def test_a_surface_wiped_dry_is_said_from_its_job(tmp_path: Path) -> None:
    """Where only water is in the way one tap from the job, and one more, say it is gone."""
    boat = tmp_path / "boat"
    demofiles.write(boat, MORNING)
    weather_until(boat, "2026-12-03")
    only_jobs(boat, "mooring bitts")
    with client_of(boat) as reader:
        page = reader.get("/job?name=mooring%20bitts").text
        (way,) = re.findall(r'href="(/log/dry[^"]*)"', page)
        form = reader.get(way).text
        told = {"form_token": form_token(form), "once": "wiped", "job": "mooring bitts"}
        wrong = reader.post("/log/dry", data={**told, "at": "tomorrow 8:00"})
        assert wrong.status_code == 422
        assert "still to come" in wrong.text
        first = reader.post("/log/dry", data=told)
        assert first.status_code == 303
        again = reader.post("/log/dry", data=told)  # a double tap
        assert again.headers["location"] == first.headers["location"]
        page = reader.get(first.headers["location"]).text
        assert "mooring bitts, today 08:30: wiped dry" in page
        sent = {"surface": "locker side", "at": MORNING.isoformat()}
        answer = reader.post("/api/dry", json=sent)
        assert answer.status_code == 201
        assert answer.json()["logged"]["dry"]["space"] == "saloon"
        refused = reader.post("/api/dry", json={"surface": "outdoors"})
        assert refused.status_code == 422
    with Record(boat / RECORD_FILE, read_only=True) as record:
        one, other = record.wiped()
        assert (one.job, one.space, one.panel) == ("mooring bitts", None, None)
        assert (other.job, other.space, other.panel) == (None, "saloon", "locker side")


def test_a_coat_that_had_dew_is_asked_about_until_it_is_answered(tmp_path: Path) -> None:
    boat = tmp_path / "boat"
    demofiles.write(boat, MORNING)
    weather_until(boat, "2026-12-03")
    only_jobs(boat, "wet locker primer")
    asked = "check the coat"
    with client_of(boat) as reader:
        assert asked in reader.get("/").text
        page = reader.get("/job?name=wet%20locker%20primer").text
        (way,) = re.findall(r'href="(/log/look[^"]*)"', page)
        form = reader.get(way).text
        names = ("form_token", "once", "job", "step", "coat")
        sent = {n: v for n in names for v in re.findall(rf'name="{n}" value="([^"]*)"', form)}
        assert re.findall(r'name="found" value="(\w+)"', form) == [
            "sound",
            "dull",
            "sanded",
            "cleared",
            "spoilt",
        ]
        assert reader.post("/log/look", data={**sent, "found": "shiny"}).status_code == 422
        rounds = reader.app.state.site.current.rounds
        first = reader.post("/log/look", data={**sent, "found": "sound"})
        assert first.status_code == 303
        wait_until_worked(reader.app, rounds + 1)
        assert "looked at: sound" in reader.get(first.headers["location"]).text
        assert asked not in reader.get("/").text
        assert "<dd>today 08:30: sound</dd>" in reader.get("/job?name=wet%20locker%20primer").text
        new = {"job": "wet locker primer", "found": "dull"}
        answer = reader.post("/api/inspections", json=new)
        assert answer.status_code == 201
        assert "data sheet comes first" in answer.json()["logged"]["notes"][0]
        assert reader.post("/api/inspections", json={**new, "coat": 9}).status_code == 422
        assert reader.get("/api/coats").json()["inspections"][-1]["found"] == "dull"


@pytest.mark.slow
def test_a_heater_in_two_taps_by_its_plan(boat: Path) -> None:
    """What the heating plan says stands in the form; saved, the space tells of it."""
    only_jobs(boat, "forepeak frames")
    whole = Path(demofiles.__file__).parents[1] / "demo_boat" / "weather.csv"
    shutil.copy(whole, boat / "weather.csv")  # its heater run ends in a night behind the cut
    with client_of(boat) as writer:
        assert "/log/heater?space=forepeak" in writer.get("/job?name=forepeak%20frames").text
        form = writer.get("/log/heater?space=forepeak").text
        assert "Filled in as planned for forepeak frames" in form
        sent = {
            name: value
            for name in ("form_token", "once", "space", "unit", "setpoint", "until")
            for value in re.findall(rf'name="{name}" value="([^"]*)"', form)
        }
        rounds = writer.app.state.site.current.rounds
        wrong = writer.post("/log/heater", data={**sent, "setpoint": "warm", "do": "lit"})
        assert wrong.status_code == 422
        assert "is not a temperature" in wrong.text
        lit = writer.post("/log/heater", data={**sent, "vents": "vents ajar", "do": "lit"})
        assert lit.status_code == 303
        again = writer.post("/log/heater", data={**sent, "vents": "vents ajar", "do": "lit"})
        assert again.headers["location"] == lit.headers["location"]
        wait_until_worked(writer.app, rounds + 1)
        assert "Heater held at" in writer.get("/").text
        with Record(boat / RECORD_FILE, read_only=True) as record:
            (heat,) = record.heat("forepeak")
        assert (heat.at, heat.ventilation) == (MORNING, "open")
        form = writer.get("/log/heater?space=forepeak").text
        token = {"form_token": form_token(form), "space": "forepeak", "do": "off"}
        assert writer.post("/log/heater", data=token).status_code == 303
        with Record(boat / RECORD_FILE, read_only=True) as record:
            assert record.heat("forepeak")[-1].setpoint_c is None
        assert writer.get("/log/heater?space=wheelhouse").status_code == 422


def test_a_coat_in_two_taps_changes_the_day(boat: Path) -> None:
    only_jobs(boat, "chart table")
    with client_of(boat) as writer:
        _coat_in_two_taps(writer, boat)


def _coat_in_two_taps(writer: Caller, boat: Path) -> None:
    form = writer.get("/log/work?job=chart%20table").text
    site = writer.app.state.site
    rounds = site.current.rounds
    sent = {
        "form_token": form_token(form),
        "once": "b",
        "job": "chart table",
        "step": "2",
        "coat": "1",
    }
    answer = writer.post("/log/work", data=sent)
    assert answer.status_code == 303
    wait_until_worked(writer.app, rounds + 1)
    clocks = writer.get("/api/today").json()["clocks"]
    assert next(clock for clock in clocks if clock["job"] == "chart table")["coat"] == 1
    with Record(boat / RECORD_FILE, read_only=True) as record:
        coat = record.coats("chart table")[-1]
    assert coat.end == MORNING
    assert coat.end - coat.start == timedelta(minutes=30)  # hands_on of the demo's work.toml


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("air", "warm", "is not a temperature"),
        ("air", "95", "did you mean °F"),
        ("humidity", "140", "is not between 0 and 100 %"),
        ("at", "tomorrow 8:00", "still to come"),
        ("surface", "9", "which surface in saloon was measured"),
    ],
)
def test_slips_are_told_and_nothing_is_lost(
    reader: Caller, field: str, typed: str, said: str
) -> None:
    form = reader.get("/log/reading?space=saloon").text
    sent = {
        "form_token": form_token(form),
        "space": "saloon",
        "air": "11.5",
        "note": "by the stove",
        field: typed,
    }
    answer = reader.post("/log/reading", data=sent)
    assert answer.status_code == 422
    assert said in as_read(answer.text)
    assert "--" not in answer.text.split("<h1>")[1].split("<form")[0]  # no command line's advice
    for value in {"by the stove", typed, sent["air"]}:
        assert f'value="{value}"' in answer.text


def test_empty_reading_is_refused(reader: Caller) -> None:
    form = reader.get("/log/reading?space=forepeak").text
    answer = reader.post("/log/reading", data={"form_token": form_token(form), "space": "forepeak"})
    assert answer.status_code == 422
    assert "at least one value" in answer.text


@pytest.mark.slow
def test_fahrenheit(boat: Path) -> None:
    text = (boat / "boat.toml").read_text()
    (boat / "boat.toml").write_text(text.replace('temperature = "°C"', 'temperature = "°F"'))
    only_jobs(boat, "chart table")
    with client_of(boat) as client:
        page = client.get("/").text
        assert "°F" in page
        assert "°C" not in page
        assert "≥ 53.6 °F" in as_read(client.get("/space?name=saloon").text)  # 12 °C on its sheet
        form = client.get("/log/reading?space=saloon").text
        sent = {"form_token": form_token(form), "space": "saloon", "unit": "°F", "air": "53.6"}
        assert client.post("/log/reading", data=sent).status_code == 303
    with Record(boat / RECORD_FILE, read_only=True) as record:
        assert record.readings("saloon")[-1].air_c == pytest.approx(12.0)


def test_reminders_are_noted_and_put_off(writer: Caller, boat: Path) -> None:
    def at(hours: float) -> datetime:
        return MORNING + timedelta(hours=hours)

    with Outbox(boat / RECORD_FILE, clock=lambda: MORNING) as outbox:
        outbox.sync(
            Reminder(
                key=name,
                kind="window opens",
                about="chart table",
                level="normal",
                due=at(-1),
                expires=at(5),
                title=f"the window of {name} opens",
            )
            for name in ("one", "two")
        )
        outbox.give_out([])
    page = writer.get("/reminders").text
    assert "the window of one opens" in page
    first, second = (each["id"] for each in writer.get("/api/reminders").json()["reminders"])
    token = {"form_token": form_token(page)}
    assert writer.post(f"/reminders/{first}/acknowledge", data=token).status_code == 303
    assert (
        writer.post(f"/reminders/{second}/snooze", data={**token, "hours": "4"}).status_code == 303
    )
    noted, later = writer.get("/api/reminders").json()["reminders"]
    assert noted["acknowledged_at"] is not None
    assert datetime.fromisoformat(later["snoozed_until"]) == at(4)
    assert later["state"] == "waiting"
    assert writer.post("/reminders/999/acknowledge", data=token).status_code == 404


def test_written_by_a_program(writer: Caller, boat: Path) -> None:
    new = {"space": "forepeak", "air_c": 7.5, "rh_pct": 80, "by_hand": True}
    answer = writer.post("/api/readings", json=new)
    assert answer.status_code == 201
    kept = answer.json()
    assert kept["logged"]["reading"]["air_c"] == 7.5
    assert writer.post("/api/undo", json={"entry": kept["entry"]}).json()["size"] == 1
    answer = writer.post("/api/coats", json={"job": "saloon doors"})
    assert answer.status_code == 201
    assert "--" not in "".join(answer.json()["logged"]["notes"])
    assert writer.post("/api/done", json={"job": "wet locker slats"}).status_code == 201
    lit = {"space": "forepeak", "setpoint_c": 21.0, "until": "2026-11-26T02:00:00Z"}
    answer = writer.post("/api/heater", json={**lit, "ventilation": "open"})
    assert answer.status_code == 201
    assert answer.json()["logged"]["heater"]["setpoint_c"] == 21.0
    assert writer.get("/api/readings?space=forepeak").json()["heater"][-1]["until"]
    assert writer.post("/api/heater", json={"space": "forepeak"}).status_code == 201  # off
    for wrong in ({"setpoint_c": 21.0, "until": None}, {"space": "wheelhouse"}):
        assert writer.post("/api/heater", json={**lit, **wrong}).status_code == 422
    for wrong in (
        {"space": "attic", "air_c": 7},
        {"space": "saloon"},
        {"space": "saloon", "air_c": 900},
        {"space": "saloon", "air_c": 7, "at": "2030-01-01T00:00:00Z"},
        {"space": "saloon", "aircraft": 7},
    ):
        answer = writer.post("/api/readings", json=wrong)
        assert answer.status_code in (404, 422), answer.text
        assert answer.headers["content-type"] == "application/problem+json"
        assert "\n" not in answer.json()["title"]


def test_health_and_figures(reader: Caller) -> None:
    assert reader.get("/health").json() == {"status": "ok"}
    figures = reader.get("/metrics")
    assert figures.headers["content-type"].startswith("text/plain; version=0.0.4")
    assert 'curewindow_jobs{status="go"}' in figures.text
    assert 'curewindow_space_air_celsius{space="saloon"} 18.3' in figures.text
    assert 'route="/health",status="200"' in figures.text


def test_names_that_are_not_there(reader: Caller) -> None:
    for address in ("/space?name=attic", "/job?name=attic", "/sheet?name=attic", "/nothing"):
        answer = reader.get(address)
        assert answer.status_code == 404
        assert "<h1>Not there</h1>" in answer.text
    assert reader.get("/space").status_code == 422
    assert reader.get("/api/why?job=attic").status_code == 404
    assert reader.get("/why?job=forepeak%20frames&at=noonish").status_code == 422


def test_files_that_cannot_be_used_leave_the_last_day_standing(writer: Caller, boat: Path) -> None:
    site = writer.app.state.site
    rounds = site.current.rounds
    site.current.work_out = work_out
    beside = boat / "boat.toml.new"
    beside.write_text("name = 'nothing else'\n")
    beside.replace(boat / "boat.toml")  # never half of it
    wait_until_worked(writer.app, rounds + 1)
    page = writer.get("/")
    assert page.status_code == 200
    assert "Not up to date." in page.text
    assert "boat.toml: place: is missing" in page.text
    assert str(boat) not in page.text
    assert "chart table" in page.text  # of this morning, and it says so
    assert writer.get("/health").status_code == 503
    assert writer.get("/log").status_code == 503
    assert writer.get("/settings").status_code == 200


def test_without_weather_it_says_so(boat: Path) -> None:
    (boat / "weather.csv").unlink()
    with client_of(boat) as client:
        page = client.get("/")
        assert page.status_code == 503
        assert "weather.csv" in page.text
        answer = client.get("/api/today")
        assert answer.status_code == 503
        assert answer.headers["retry-after"]


def test_a_thousand_readings(boat: Path, reader: Caller) -> None:
    """Entered by sensors over ten days; the log shows the last, the interface all."""
    from curewindow.record.entries import Reading

    start = MORNING - timedelta(days=10)
    with Record(boat / RECORD_FILE, now=lambda: MORNING) as record:
        record.add_readings(
            Reading(
                "saloon", start + timedelta(minutes=14 * i), 15.0 + i % 5, 60.0, source="sensor"
            )
            for i in range(1000)
        )
    worked = reader.app.state.site.current.worked
    with client_of(boat, work=lambda *_: worked) as client:
        assert len(client.get("/log").content) < 30_000
        shown = client.get("/api/readings?space=saloon&last=10000").json()["readings"]
        assert len(shown) >= 1000
        assert len(client.get("/api/readings?last=5").json()["readings"]) == 5


def test_openapi_names_the_models_of_the_answers(reader: Caller) -> None:
    described = reader.get("/api/openapi.json").json()
    for path, model in (
        ("/api/today", "DaySheet"),
        ("/api/windows", "WindowsAhead"),
        ("/api/why", "Why"),
        ("/api/picture", "Picture"),
        ("/api/sheets/{name}", "SheetAnswer"),
    ):
        answer = described["paths"][path]["get"]["responses"]["200"]
        assert model in answer["content"]["application/json"]["schema"]["$ref"]
    assert not [path for path in described["paths"] if not path.startswith("/api/")]


@pytest.mark.slow
def test_today_shows_the_kept_order_of_work(boat: Path) -> None:
    made = make_plan(boat, MORNING, days=5, seconds=5.0)
    first = min(made.plan.steps, key=lambda step: step.start)
    with client_of(boat) as client:
        page = client.get("/").text
        told = client.get("/api/today").json()["plan"]
    assert "Today, in this order" in page
    assert f"{first.job}, coat {first.coat} of {first.of_coats}" in page
    assert told["fresh"] is True
    assert told["today"][0]["key"] == first.key
    assert told["today"][0]["allowed"] is True


SENSORS = """
[[sensor]]
name = "saloon meter"
topic = "aboard/saloon"
space = "saloon"
[[sensor]]
name = "bow"
path = "environment.inside.forepeak"
space = "forepeak"
"""


@pytest.mark.slow
def test_sensors_on_their_page_their_space_and_the_health_address(boat: Path) -> None:
    """Through the listener's own status: one that was heard, one silent, a broker that is gone."""
    from types import SimpleNamespace

    with (boat / "boat.toml").open("a", encoding="utf-8") as file:
        file.write(SENSORS)
    ago = MORNING - timedelta(minutes=4)
    status = SensorsStatus(
        as_of=MORNING,
        links=[
            LinkStatus(
                kind="mqtt",
                address="127.0.0.1:1883",
                connected=False,
                since=ago,
                said="cannot be reached",
            )
        ],
        sensors=[
            SensorStatus(
                name="saloon meter",
                space="saloon",
                link="mqtt",
                source="aboard/saloon",
                last_message=ago,
                message_age_s=240.0,
                air_c=31.0,
                rh_pct=40.0,
                messages=9,
                readings=3,
                set_aside=1,
                doubt="sun: 31.0 °C where 12.0 is expected",
            ),
            SensorStatus(
                name="bow",
                space="forepeak",
                link="signal k",
                source="environment.inside.forepeak",
                overdue=True,
            ),
        ],
    )
    with client_of(boat) as page:
        alone = page.get("/sensors").text
        assert "The page runs alone" in alone
        assert "aboard/saloon" in alone
        assert "sensors" not in page.get("/health").json()
        service = SimpleNamespace(sensors=lambda: status, status=lambda: SimpleNamespace(well=True))
        page.app.state.service = service
        told = as_read(page.get("/sensors").text)
        for said in (
            "31 °C, 40 %, heard 4 min ago",
            "not connected since",
            "cannot be reached",
            "sun: 31.0 °C where 12.0 is expected",
            "1 set aside",
            "nothing heard yet",
            "environment.inside.forepeak",
        ):
            assert said in told, said
        assert page.get("/api/sensors").json() == status.model_dump(mode="json")
        assert page.get("/health").json() == {"status": "ok", "sensors": "not connected"}
        assert "Sensors here: saloon meter" in page.get("/space?name=saloon").text
        assert "Sensors here" not in page.get("/space?name=outdoors").text
