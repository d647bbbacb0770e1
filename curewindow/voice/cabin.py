"""What was taken for granted of a space, in words."""

from __future__ import annotations

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, spoken_of
from curewindow.wording import Wording, figure, span


@spoken_of("space assumed")
def _assumed(f: Finding, w: Wording) -> str:
    said = []
    if (air := f.maybe("air_changes_h")) is not None:
        said.append(f"{figure(air)} air changes an hour")
    if (heat := f.maybe("heat_kj_k")) is not None:
        held = f" ({heat:.0f} kJ/K)" if w.for_engineers else ""
        said.append(f"joinery and stores usual for its size{held}")
    if (water := f.maybe("moisture_g_h")) is not None:
        said.append(f"{water:.0f} g/h of moisture given off" if water else "no moisture given off")
    return f"{f.text('space')}: assumed {', '.join(said) or 'nothing'}"


@spoken_of("heater assumed")
def _heater(f: Finding, w: Wording) -> str:
    doing = "taken to run by its routine" if f.text("state") == "routine" else "taken as off"
    but = " but for what the log says" if f.flag("known") else ""
    return f"{f.text('space')}: heater {doing}{but}"


@spoken_of("dehumidifier assumed")
def _drier(f: Finding, w: Wording) -> str:
    humidity = f.maybe("rh_pct")
    doing = "taken as off" if humidity is None else f"taken to hold {figure(humidity)} %"
    return f"{f.text('space')}: dehumidifier {doing}"


@spoken_of("heater out of order")
def _out_of_order(f: Finding, w: Wording) -> str:
    when = w.from_to(f.time("begins"), f.time("until"))
    return f"{f.text('space')}: heater out of order {when}, by boat.toml"


@spoken_of("heater read to be out")
def _read_out(f: Finding, w: Wording) -> Said:
    text = (
        f"{f.text('space')}: heater lit by the log, but {w.temp(f.number('temp_c'))} was read: "
        "taken as out"
    )
    return Said(text, f"{text}; log it once it is lit again")


@spoken_of("heater by the log")
def _by_log(f: Finding, w: Wording) -> str:
    held = f.maybe("temp_c")
    doing = "off" if held is None else f"held at {w.temp(held)}"
    vents = f", vents {f.text('vents')}" if "vents" in f.about else ""
    return f"{f.text('space')}: heater {doing} until {w.when(f.time('until'))}{vents}, by the log"


@spoken_of("doors assumed")
def _doors(f: Finding, w: Wording) -> str:
    names = f.texts("spaces")
    door = "doors" if len(names) > 1 else "door"
    return f"{f.text('space')}: {door} to {', '.join(names)} taken as {f.text('state')}"


_WEATHER = {
    "wind": "no wind figures part of the time: a light wind is taken then",
    "cloud": "no cloud figures part of the time: a clear sky is taken then",
    "sun": "no sunshine figures part of the time: none is taken then",
}


@spoken_of("weather figure missing")
def _figure(f: Finding, w: Wording) -> str:
    kind = f.text("kind_of")
    return _WEATHER.get(kind, f"no {kind} figures part of the time")


_PLAIN = {
    "weather has holes": "the weather has holes: conditions there count as not known",
    "past weather missing": "little or no past weather is known: warmth and damp at the start are "
    "worked out from the forecast's first day",
    "wood never read": "wood moisture is worked out, never read: a meter on the piece has the last "
    "word",
}


@spoken_of(*_PLAIN)
def _plain(f: Finding, w: Wording) -> str:
    return _PLAIN[f.kind]


# Clear sky takes some 90 W/m² from a level surface, calm air gives some 9 W/m²K back.
_UNDER_CLEAR_SKY_K = 10.0


@spoken_of("deck in the open")
def _deck(f: Finding, w: Wording) -> Said:
    text = "outdoors: worked out for a light, level surface open to the whole sky"
    colder = w.difference(_UNDER_CLEAR_SKY_K)
    return Said(text, f"{text}; on a clear, calm night it gets some {colder} colder than the air")


@spoken_of("water estimated")
def _water(f: Finding, w: Wording) -> Said:
    text = f"water taken as {w.temp(round(f.number('temp_c')))}"
    return Said(
        text,
        f"{text}, give or take {w.difference(round(f.number('difference_k')))}, from "
        f"{f.text('state')}; give place.water_temp to know better",
    )


@spoken_of("space never read")
def _never_read(f: Finding, w: Wording) -> str:
    return f"no reading from the {f.text('space')}: its conditions are worked out, not measured"


@spoken_of("space read long ago")
def _long_ago(f: Finding, w: Wording) -> str:
    ago = span(f.number("hours"))
    return f"the last reading from the {f.text('space')} is {ago} old: worked out since then"


@spoken_of("space unknown unread")
def _unread(f: Finding, w: Wording) -> Said:
    text = f"{f.text('space')}: nothing is known without readings of temperature and humidity"
    return Said(text, f"{text}; log one, or describe the space", act="log a reading")


@spoken_of("space by readings alone")
def _readings_alone(f: Finding, w: Wording) -> Said:
    text = f"{f.text('space')}: known from readings alone, the last {span(f.number('hours'))} ago"
    return Said(
        text,
        f"{text}; held from then on and let go within some {f.number('other_hours'):.0f} h towards "
        "the colder and damper of the weather outside and the readings' mean",
    )


@spoken_of("surface never read")
def _surface(f: Finding, w: Wording) -> Said:
    text = f"{f.text('space')}, {f.text('surface')}: surface never read"
    return Said(text, f"{text}; taken as cold as a bare skin between the air inside and outside")


@spoken_of("surface by its readings")
def _surface_read(f: Finding, w: Wording) -> Said:
    below = w.difference(f.number("difference_k"))
    text = (
        f"{f.text('space')}, {f.text('surface')}: surface taken as far below the air as it was "
        f"ever read ({below})"
    )
    if f.text("state") == "follows outside":
        return Said(text, f"{text}, further where it is colder outside")
    return Said(
        text,
        f"{text}, and no warmer than a bare skin: inside and outside were alike when it was read",
    )


@spoken_of("wood thickness assumed")
def _thickness(f: Finding, w: Wording) -> str:
    return f"wood taken as {figure(f.number('thickness_mm'))} mm thick"


@spoken_of("wood read long ago")
def _wood_read(f: Finding, w: Wording) -> Said:
    text = f"wood moisture last read {span(f.number('hours'))} ago, worked out since then"
    return Said(text, f"{text}: a meter on the piece has the last word")


@spoken_of("fit left aside")
def _fit_aside(f: Finding, w: Wording) -> Said:
    text = (
        f"{f.text('space')}: boat.toml describes it otherwise than on {w.date(f.time('at'))}, when "
        "it was fitted"
    )
    anew = w.by_command("; 'curewindow learn' fits it anew")
    return Said(text, f"{text}: the fit is left aside{anew}")


@spoken_of("space fitted")
def _fitted(f: Finding, w: Wording) -> str:
    text = (
        f"{f.text('space')}: fitted to {f.number('count'):.0f} readings on {w.date(f.time('at'))}, "
        f"air within {w.difference(f.number('difference_k'))}"
    )
    ago = f.maybe("hours")
    return text if ago is None else f"{text}; that is {span(ago)} ago: fit it anew"


def dew_margin_text(name: str, margin_k: float, words: Wording) -> str:
    """How a surface stands to the dew point: 'roof, 0.8 °C above dew point'."""
    away = words.difference(abs(margin_k))
    if away == words.difference(0.0):
        return f"{name}, at dew point"
    if margin_k < 0.0:
        return f"{name}: wet, {away} below dew point"
    return f"{name}, {away} above dew point"


def dew_margin_parts(name: str, margin_k: float, words: Wording) -> list[str]:
    """The same under a heading that names the dew point: 'roof +0.8 °C', most needed first."""
    away = words.difference(abs(margin_k))
    if away == words.difference(0.0):
        return [f"{name} at dew point"]
    return [f"{name} wet", f", {away} below"] if margin_k < 0.0 else [f"{name} +{away}"]
