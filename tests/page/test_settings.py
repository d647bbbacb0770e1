"""boat.toml changed by the page: checked, comments kept, whole or not at all."""

from __future__ import annotations

import html
import os
import re
import stat
import tomllib
from pathlib import Path

import pytest
from curewindow_service.page import boatform

from tests.page.hands import Caller, form_token
from tests.service.sink import Endpoint


def sent_by(page: str, **changed: str) -> dict[str, str]:
    """What a browser sends of the settings form, with some fields typed anew."""
    values: dict[str, str] = {}
    for name, value in re.findall(r'<input[^>]* name="([^"]+)" value="([^"]*)"', page):
        values[name] = html.unescape(value)
    for name, choices in re.findall(r'<select[^>]* name="([^"]+)"[^>]*>(.*?)</select>', page):
        chosen = re.search(r'value="([^"]*)" selected', choices)
        values[name] = html.unescape(chosen[1]) if chosen else ""
    values["form_token"] = form_token(page)
    return {**values, **changed}


def test_nothing_changed_writes_nothing(writer: Caller, boat: Path) -> None:
    before = (boat / "boat.toml").read_bytes()
    answer = writer.post("/settings", data=sent_by(writer.get("/settings").text))
    assert answer.headers["location"] == "/settings?saved=nothing"
    assert (boat / "boat.toml").read_bytes() == before


def test_changed_values_and_nothing_else(writer: Caller, boat: Path) -> None:
    path = boat / "boat.toml"
    os.chmod(path, 0o640)
    before = path.read_text("utf-8").splitlines()
    typed = {
        "space[2].volume": "27 m³",
        "hours[1].from": "9:30",
        "hours[1].days": "sat, sun",
        "place.latitude": "52.35",
        "units.temperature": "°F",
        "service.morning": "06:45",
    }
    answer = writer.post("/settings", data=sent_by(writer.get("/settings").text, **typed))
    assert answer.headers["location"] == "/settings?saved=yes", answer.text
    text = path.read_text("utf-8")
    data = tomllib.loads(text)
    assert data["space"][1]["volume"] == "27 m³"
    assert f"{data['hours'][0]['from']:%H:%M}" == "09:30"
    assert data["hours"][0]["days"] == ["Sat", "Sun"]
    assert data["place"]["latitude"] == 52.35
    assert data["units"]["temperature"] == "°F"
    assert f"{data['service']['morning']:%H:%M}" == "06:45"
    for comment in ("# a thermometer on a string", '# or "°F"', "# a litre", "# old sliding doors"):
        assert comment in text
    untouched = [line for line in before if line in text.splitlines()]
    assert len(before) - len(untouched) == 5
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert [file.name for file in boat.iterdir() if file.name.startswith(".")] == []


@pytest.mark.parametrize(
    ("key", "typed", "said"),
    [
        ("space[2].volume", "27", "has no unit"),
        ("space[2].volume", "", "needs its volume"),
        ("place.latitude", "north", "is not a number"),
        ("place.latitude", "99", "less than or equal to 90"),
        ("place.latitude", "nan", "too large"),
        ("place.time_zone", "Europe/Amsterdm", "Europe/Amsterdam"),
        ("hours[1].until", "07:00", "must be before"),
        ("hours[1].until", "25:00", "is not a time of day"),
        ("hours[1].days", "Mon Tues Wedd Fri Sunn Day", "not known"),
        ("name", "", "is missing"),
        ("weather.file", "../../etc/passwd", "outside the boat folder"),
        ("weather.file", "/etc/passwd", "outside the boat folder"),
        ("weather.file", "C:\\secret.csv", "outside the boat folder"),
        ("weather.feed", "telepathy", "telepathy"),
        ("space[2].heating.routine[1].setpoint", "64 °C", "hotter than a cabin"),
        ("service.reading_every", "0 h", "at least"),
    ],
)
def test_what_is_wrong_stands_at_its_field(reader: Caller, key: str, typed: str, said: str) -> None:
    folder = reader.app.state.site.folder
    before = (folder / "boat.toml").read_bytes()
    sent = sent_by(reader.get("/settings").text, **{key: typed, "place.name": "the far quay"})
    answer = reader.post("/settings", data=sent)
    text = html.unescape(answer.text)
    assert answer.status_code == 422
    assert "Not saved." in text
    assert said in text
    assert f'href="#f-{key}"' in text
    assert 'value="the far quay"' in text  # nothing typed is lost
    assert (folder / "boat.toml").read_bytes() == before


def test_changed_elsewhere_meanwhile(writer: Caller, boat: Path) -> None:
    page = writer.get("/settings").text
    path = boat / "boat.toml"
    path.write_text(path.read_text("utf-8").replace("26 m³", "25 m³"), "utf-8")
    answer = writer.post("/settings", data=sent_by(page, **{"place.name": "the far quay"}))
    assert answer.status_code == 422
    assert "changed elsewhere" in answer.text
    assert 'value="the far quay"' in answer.text
    assert "25 m³" in path.read_text("utf-8")
    again = sent_by(answer.text, **{"place.name": "the far quay", "space[2].volume": "25 m³"})
    assert writer.post("/settings", data=again).headers["location"] == "/settings?saved=yes"


def test_addresses_and_unknown_keys_are_left_alone(writer: Caller, boat: Path) -> None:
    page = writer.get("/settings").text
    typed = {"weather.base_address": "http://evil.example", "channel[1].address": "x", "a": "b"}
    answer = writer.post("/settings", data=sent_by(page, **typed))
    assert answer.headers["location"] == "/settings?saved=nothing"
    assert "evil" not in (boat / "boat.toml").read_text("utf-8")


def test_a_disk_that_fails_leaves_the_old_file(boat: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = boat / "boat.toml"
    before = path.read_bytes()
    _, mark = boatform.read(boat)

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(boatform.BoatError, match="No space left on device; nothing changed"):
        boatform.change(boat, {"place.name": "the far quay"}, mark)
    assert path.read_bytes() == before
    assert [file.name for file in boat.iterdir() if file.name.startswith(".")] == []


def test_a_sample_by_each_channel_and_what_came_back(
    writer: Caller, boat: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that takes it, one that says no, one that cannot be read; secrets stay out of it."""
    good, bad = Endpoint(), Endpoint()
    bad.answers.append((403, {}, 0.0))
    monkeypatch.setenv("T_GOOD", f"{good.address}?key=very-secret-4711")
    monkeypatch.setenv("T_BAD", bad.address)
    with (boat / "boat.toml").open("a", encoding="utf-8") as file:
        for name, variable in (("phone", "T_GOOD"), ("office", "T_BAD"), ("lost", "T_NOWHERE")):
            file.write(f'[[channel]]\nname = "{name}"\naddress_env = "{variable}"\n')
    try:
        page = writer.get("/settings").text
        assert "Send a sample by each" in page
        foreign = writer.post("/settings/try-channels", data={"form_token": "0" * 64})
        assert foreign.status_code == 409
        assert good.posts == []
        given = {"form_token": form_token(page)}
        answer = writer.post("/settings/try-channels", data=given)
        assert answer.status_code == 200
        told = html.unescape(answer.text)
        assert "Not every sample went out." in told
        assert "✓</span> phone (http://•••): sent: 204" in told
        assert "✕</span> office (http://•••): refused: 403" in told
        assert "✕</span> lost: cannot be used: boat.toml: channel" in told
        assert "very-secret-4711" not in told
        assert str(boat) not in told
        assert len(good.posts) == 1
        again = writer.post("/settings/try-channels", data=given)
        assert again.status_code == 429
        assert "again in" in again.text
        assert len(good.posts) == 1
    finally:
        good.close()
        bad.close()
