"""What an answer rests on, in words."""

from __future__ import annotations

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, spoken_of
from curewindow.wording import Wording, counted


@spoken_of("job not in work list")
def _not_listed(f: Finding, w: Wording) -> str:
    name = f.text("other_job")
    return f"'{name}' is in the record but not in work.toml: only what it gives off still counts"


@spoken_of("sensor doubted")
def _sensor(f: Finding, w: Wording) -> Said:
    what = "the humidity of sensor" if f.text("state") == "humidity" else "sensor"
    text = f"{what} '{f.text('thing')}' ({f.text('space')}) is not believed"
    return Said(text, f"{text}: {f.text('note')}, {w.when(f.time('at'))}")


_WHY_DOUBTED = {
    "°F as °C": "was it °F?",
    "swapped": "do temperature and humidity stand in each other's place?",
    "sun": "the sun shone on the sensor",
    "jump": "another reading beside it is far from it: read it once more",
    "stuck": "it stood still while the air did not",
    "carried": "that is the air of another space: was the sensor moved?",
    "colder than around": "nothing around it is so cold",
    "warmer than around": "nothing around it is so warm",
    "too dry": "no air outside was so dry",
}

_BESIDE = {
    "jump": "read beside it",
    "carried": "read before",
    "colder than around": "the coldest around it",
    "warmer than around": "the warmest around it",
}


@spoken_of("reading doubted")
def _reading(f: Finding, w: Wording) -> Said:
    what = f.text("surface") or f.text("kind_of")
    read = f"{what} {w.limit(f.number('value'), f.text('unit'))}"
    state, count = f.text("state"), int(f.number("count"))
    if count > 1:
        read = f"{counted(count, 'reading')} (the last: {read})"
    text = f"{f.text('space')}: {read} kept, not used: {_WHY_DOUBTED[state]}"
    expected = f.maybe("limit_value")
    beside = ""
    if expected is not None:
        beside = f", {w.limit(expected, f.text('unit'))} {_BESIDE.get(state, 'expected')}"
    return Said(text, f"{text} (read {w.when(f.time('at'))}{beside})")
