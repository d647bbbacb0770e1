"""A heater run and what stands around it, in the trade's words."""

from __future__ import annotations

from datetime import datetime

from curewindow.boat.schema import VENTS_WORD, Ventilation
from curewindow.findings import Finding
from curewindow.rules.chance import worth_saying
from curewindow.voice.speaking import Said, act, full, short, spoken_of
from curewindow.wording import Wording, figure, span

_UNIT = {"L": "litre", "kg": "kilogram", "kWh": "kilowatt hour"}
ROUTINE_WORTH_SAYING = 0.05


def fuel_text(f: Finding) -> str:
    """'3.4 L of diesel', '4.2 kWh'; with what it costs where a price is given."""
    amount = f.number("fuel_amount")
    text = f"{figure(round(amount, 1 if amount < 20.0 else 0))} {f.text('fuel_unit')}"
    if f.text("fuel_unit") != "kWh":
        text += f" of {f.text('fuel')}"
    cost = f.maybe("cost")
    return text if cost is None else f"{text} (cost {cost:.2f})"


def vents_text(state: str) -> str:
    """What to do with the vents: 'vents ajar'."""
    return f"vents {state}"


def run_text(verdict: Finding, vents: Ventilation | None, words: Wording) -> str:
    """A step's heater run as something to do, with the vents where they are not as usual."""
    state = "" if vents in (None, "normal") else f"; {vents_text(VENTS_WORD[vents])}"
    return act(verdict, words) + state


def put_on_text(
    vents: str, start: datetime, applied: datetime, milestone: str, words: Wording
) -> str:
    """When the coat goes on in the warmth, and how far it is when that may go off."""
    return (
        f"{vents_text(vents)}; put it on {words.from_to(start, applied)}; {milestone} when the "
        "heat may go off"
    )


def air_text(
    begins: datetime,
    ends: datetime,
    flow_m3_h: float,
    changes_h: float,
    words: Wording,
    *,
    known: bool,
) -> str:
    """What air the vapour asks for; ``known``: by figures of sheet and job."""
    usual = "" if known else ", a usual figure as sheet or job lack one"
    return (
        f"air it through {words.from_to(begins, ends)}: {flow_m3_h:.0f} m³/h, {changes_h:.0f} "
        f"times its air an hour{usual}"
    )


def once_lit_text(command: str) -> str:
    """What to log then."""
    return f"once it is lit: `{command}`"


def latest_text(at: datetime, words: Wording) -> str:
    """When a heater is lit at the latest."""
    return f"latest lighting that still works: {words.when(at)}"


def tightest_text(margin: str) -> str:
    """Which limit of a run is the nearest to breaking."""
    return f"tightest limit: {margin}"


def alternative_text(found: Finding, words: Wording, *, works: bool) -> str:
    """What would do instead of a heater run, or would not."""
    return f"{'or' if works else 'no help:'} {full(found, words)}"


def heating_title(boat: str, at: datetime, words: Wording) -> str:
    """The heading of the heater runs of a boat."""
    return f"{boat}, heating as of {words.when(at)}"


def log_command(space: str, temp_c: float, until: datetime, vents: str, words: Wording) -> str:
    """What to type once the heater is lit as planned; with the date, whenever it is typed."""
    named = f"'{space}'" if " " in space else space
    degrees = temp_c * 1.8 + 32.0 if words.fahrenheit else temp_c
    warm = f"{round(degrees, 1):g}{'F' if words.fahrenheit else 'C'}"
    vent = "" if vents == "normal" else f" --vent {vents}"
    by = f"{words.local(until):%Y-%m-%d %H:%M}"
    return f"curewindow log heater {named} {warm} --until '{by}'{vent}"


def _lit(f: Finding, w: Wording) -> str:
    """'now, by 14:00 at the latest', 'by Thu 3 Dec 15:00'."""
    light, by = f.time("light_at"), f.time("light_by")
    if light > w.now:
        return f"by {w.when(light)}"
    return "now" if by <= w.now else f"now, by {w.when(by)} at the latest"


def _at_least(f: Finding) -> str:
    return "at least " if (f.maybe("share") or 0.0) >= ROUTINE_WORTH_SAYING else ""


_HARDENED = {
    "recoat": "can be recoated",
    "sand": "can be sanded",
    "work": "can be worked on",
    "cover": "can be covered",
    "touch dry": "is touch dry",
    "dust": "takes no more dust",
}


@spoken_of("heat hardens")
def _hardens(f: Finding, w: Wording) -> Said:
    until = f.time("until")
    film = f"coat {f.number('coat'):.0f}"
    if f.text("other_job"):
        film += f" of '{f.text('other_job')}'"
    otherwise = f.moment("otherwise")
    without = "without it not within the forecast"
    instead = without if otherwise is None else f"not {w.when(otherwise)}"
    gained = f"{film} {_HARDENED[f.text('state')]} {w.when(f.time('begins'))}"
    act = (
        f"light the heater {_lit(f, w)}, hold {_at_least(f)}{w.temp(f.number('temp_c'))} until "
        f"{w.when(until)}: {gained}, {instead}; {fuel_text(f)}"
    )
    chance = f.maybe("chance")
    sure = f", {w.chance(chance)}" if chance is not None and worth_saying(chance) else ""
    heat = f"heat {w.from_to(f.time('light_at'), until)}, {w.temp(f.number('temp_c'))}"
    return Said(f"{heat}, {fuel_text(f)}: {gained}", f"{act}{sure}", act=f"{act}{sure}")


@spoken_of("heater run")
def _heater_run(f: Finding, w: Wording) -> Said:
    light, when = f.time("light_at"), _lit(f, w)
    least = _at_least(f)
    hold = f"hold {least}{w.temp(f.number('temp_c'))} until {w.when(f.time('until'))}"
    lowest = f.maybe("other_temp_c")
    if lowest is not None:
        # nobody is told to hold what the heater cannot
        hold += (
            f" ({w.temp(lowest)} {'while it is aired' if f.flag('aired') else 'at the coldest'})"
        )
    act = f"light the heater {when}, {hold}: {fuel_text(f)}"
    chance = f.maybe("chance")
    sure = "" if chance is None else f", {w.chance(chance)}"
    share = f.maybe("share") or 0.0
    routine = ""
    if share >= ROUTINE_WORTH_SAYING:
        routine = f", {100.0 * min(share, 1.0):.0f} % of it by the routine anyway"
    said = sure if chance is not None and worth_saying(chance) else ""
    warm = w.temp(f.number("temp_c"))
    brief = f"heat {w.from_to(light, f.time('until'))}, {warm}, {fuel_text(f)}{said}"
    return Said(brief, f"{act}{routine}{sure}", act=f"{act}{sure}")


@spoken_of("no heater")
def _no_heater(f: Finding, w: Wording) -> str:
    return f"no heater in the {f.text('space')}"


@spoken_of("no heat opens")
def _no_heat(f: Finding, w: Wording) -> Said:
    text = f"no run of this heater opens a start before {w.day(f.time('until'))}"
    if f.because:
        why = f.because[0]
        return Said(f"{text}: {short(why, w)}", f"{text}: {full(why, w)}")
    power, have = f.maybe("power_w"), f.maybe("other_power_w")
    parts = []
    if power is not None:
        there = f"there are only {have:.0f} W" if have else "but there is no heater"
        parts.append(f"about {power:.0f} W of heat would do, {there}")
    if "thickness_mm" in f.about:
        parts.append(f"{'or ' if parts else ''}{_foam(f)} would do")
    return Said("; ".join(parts)) if parts else Said(text)


@spoken_of("no attended heat opens")
def _no_attended(f: Finding, w: Wording) -> Said:
    heater = f"the {f.text('heater')} heater in the {f.text('space')}"
    by = f"before {w.day(f.time('until'))}"
    if f.text("state") == "never":
        hours, bound = "aboard and awake", "is never left alone, by boat.toml"
    else:
        hours, bound = "aboard", "runs only while someone is aboard, by boat.toml"
    return Said(
        f"no run of heat while someone is {hours} opens a start {by}",
        f"no run of heat while someone is {hours} opens a start {by}: {heater} {bound}. Stay "
        "longer, or heat with one that may be left alone by its maker, harbour and insurer",
    )


def _foam(f: Finding) -> str:
    # nothing is stuck on what is to be coated
    where = "laid over the outside of" if f.flag("outdoors") else "on"
    return (
        f"{f.number('thickness_mm'):.0f} mm of foam {where} the {f.text('surface')} "
        f"(U {f.number('u_value'):g} W/m²K)"
    )


_PLAIN = {
    "nothing to heat for": "done: nothing to heat for",
    "no heat wanted": "every job that could go on has a window, or waits for something else",
    "each heated alone": "each job is planned by itself; with its name you get all there is to say",
    "only a tent": "outdoors: only a tent could be heated",
    "space not described": "no weather or no description of the space to reckon with",
    "routine goes on": "the heater's routine goes on before and after, and within where it is "
    "higher",
    "flame's water counted": "the water its flame gives off is counted",
    "joinery lags": "held to the joinery, which warms slower than the air",
    "dry heat assumed": "power worked out for a heater that burns nothing inside, such as electric",
}


@spoken_of(*_PLAIN)
def _plain(f: Finding, w: Wording) -> str:
    return _PLAIN[f.kind]


@spoken_of("stove to tend")
def _stove(f: Finding, w: Wording) -> Said:
    text = "a stove holds no temperature by itself: somebody has to tend it all the time"
    return Said(text, f"{text}, a little fuel at a time; where nobody can, this does not hold")


@spoken_of("heat not needed")
def _not_needed(f: Finding, w: Wording) -> str:
    return f"next is to {f.text('do')}: that needs no heat"


@spoken_of("limits with spare")
def _spare(f: Finding, w: Wording) -> Said:
    where = "" if f.flag("known") else "; so in the member it is made for, in others by less"
    spare = f"{w.difference(f.number('difference_k'))} and {f.number('rh_pct'):g} % of humidity"
    return Said(
        f"every limit is kept by {spare} to spare",
        f"every limit is kept by {spare} to spare from the first stroke to the milestone{where}",
    )


@spoken_of("bring the tin")
def _tin(f: Finding, w: Wording) -> Said:
    text = "bring the tin aboard when you light the heater"
    return Said(text, f"{text}: it warms up behind the air, which is counted", act=text)


@spoken_of("not held throughout")
def _not_held(f: Finding, w: Wording) -> str:
    return (
        "the heater cannot hold that throughout: at full power the air falls to "
        f"{w.temp(f.number('temp_c'))} between the first stroke and the milestone"
    )


@spoken_of("nobody to close up")
def _close_up(f: Finding, w: Wording) -> Said:
    text = (
        f"be aboard {w.when(f.time('at'))}, outside the hours in boat.toml, to close up: "
        "it is worked out as shut from then on"
    )
    return Said(text, act=text)


@spoken_of("nobody to turn it down")
def _turn_down(f: Finding, w: Wording) -> Said:
    until = f.moment("until")
    burns = "" if until is None else f", or it burns on until {w.when(until)}"
    text = f"set the heater's timer to {w.when(f.time('at'))}, nobody is aboard then{burns}"
    return Said(text, act=text)


@spoken_of("efficiency assumed")
def _efficiency(f: Finding, w: Wording) -> str:
    share = 100.0 * f.number("share")
    return (
        f"{f.text('fuel')}: {share:.0f} % of its heat is taken to stay aboard; give "
        "heating.efficiency to know better"
    )


@spoken_of("no fuel price")
def _no_price(f: Finding, w: Wording) -> str:
    return f"give heating.fuel_price (for a {_UNIT[f.text('fuel_unit')]}) to have the cost"


@spoken_of("heater cycles")
def _cycles(f: Finding, w: Wording) -> str:
    return (
        f"on average {f.number('power_w'):.0f} W are needed, the heater burns at "
        f"{f.number('other_power_w'):.0f} W at least: the heater goes on and off, and takes "
        "somewhat more"
    )


@spoken_of("doors shut")
def _doors(f: Finding, w: Wording) -> Said:
    text = "keep doors to other spaces shut"
    return Said(text, f"{text}: it is worked out so", act=text)


@spoken_of("airing counted")
def _airing(f: Finding, w: Wording) -> str:
    return (
        f"{f.number('flow_m3_h'):.0f} m³/h of outside air for the vapour until it is touch dry are "
        "counted"
    )


@spoken_of("start without heat")
def _without(f: Finding, w: Wording) -> str:
    return f"as things stand the step may be started {w.when(f.time('begins'))} without more heat"


@spoken_of("heater goes out")
def _out(f: Finding, w: Wording) -> str:
    at = f"if it goes out at {w.clock(f.time('at'))}"
    if not f.because:
        until = f.moment("until")
        done = "when it sets lies beyond the forecast" if until is None else f"set {w.when(until)}"
        return f"{at}: no limit breaks, {done}"
    hours = f.maybe("hours") or 0.0
    later = f"{span(hours)} later" if hours > 0.2 else "at once"
    begins = f.moment("begins")
    when = "" if begins is None else f" ({w.when(begins)})"
    return f"{at}: {short(f.because[0], w)} {later}{when}"


@spoken_of("one more coat")
def _one_more(f: Finding, w: Wording) -> str:
    state, begins = f.text("state"), f.moment("begins")
    if state == "beyond" or begins is None:
        return "one more coat: when it may go on lies beyond the forecast"
    when = w.when(begins)
    if state == "no flue":
        return (
            f"one more coat may go on from {when}, but this heater has no flue (carbon monoxide) "
            "and is not held on that long"
        )
    if state == "left alone":
        return (
            f"one more coat may go on from {when}, but this heater is not left alone so long, by "
            "boat.toml"
        )
    if state == "no start":
        return (
            f"one more coat may go on from {when}, but no start within hours aboard keeps its "
            "limits with the heat held on like this"
        )
    after = {"never": ", too late by the sheet", "sand": ", sand first"}.get(f.text("after"), "")
    return (
        f"one more coat {when}{after}: hold until {w.when(f.time('until'))}, "
        f"{span(f.number('hours'))} and {fuel_text(f)} more"
    )


_NAMES = {
    "more power": "more power",
    "insulation": "foam",
    "later start": "a later start",
    "smaller space": "tenting it off",
    "dehumidifier": "a dehumidifier",
}


@spoken_of("other way")
def _alternative(f: Finding, w: Wording) -> Said | str:
    what = f.text("kind_of")
    if not f.flag("works"):
        return _no_help(f, what)
    if what == "insulation":
        return _foam(f)
    if what == "more power":
        more = "more power" if f.maybe("other_power_w") else "a heater"
        return f"{more}: {f.number('power_w'):.0f} W in all"
    name = _NAMES.get(what, what)
    if what == "smaller space":
        power = f.maybe("power_w")
        name = f"{f.number('volume_m3'):.0f} m³ tented off"
        name += "" if power is None else f", {power:.0f} W"
        name += "; only with warm air led in, no heater inside the sheet"
    if what == "dehumidifier":
        name = f"{name} ({f.number('litres'):.0f} L a day) from now on, vents shut"
    if "light_at" not in f.about:
        begins = f.moment("begins")
        return name if begins is None else f"{name}, without heat: start {w.when(begins)}"
    light, start = w.when(f.time("light_at")), w.when(f.time("begins"))
    hold = f"hold {w.temp(f.number('temp_c'))} until {w.when(f.time('until'))}"
    return Said(
        f"{_NAMES.get(what, what)}: start {start}, {fuel_text(f)}",
        f"{name}: light the heater by {light}, {hold}, start {start}: {fuel_text(f)}",
    )


def _no_help(f: Finding, what: str) -> str:
    if what == "later start":
        return "a later start: none opens with this heater in the forecast"
    if what == "dehumidifier" and f.flag("aired"):
        return "a dehumidifier: no use while vapour has to be aired out, and it may spark"
    return f"{_NAMES.get(what, what)}: does not help alone"
