"""What an explained start says, section by section, before a screen or a page lays it out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from curewindow.explain.models import LimitAt, Rule, State, Why
from curewindow.rules.limits import BY_NAME
from curewindow.voice import full, short
from curewindow.voice.cautions import care_lines, topics
from curewindow.voice.day import step_text
from curewindow.wording import Wording, wording_of

_GROUPS: tuple[tuple[str, tuple[State, ...]], ...] = (
    ("in the way", ("broken", "unknown")),
    ("in doubt", ("doubtful",)),
    ("kept", ("kept",)),
)


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One rule or limit: how it stands, and in words."""

    state: State
    text: str


@dataclass(frozen=True, slots=True)
class WhyContent:
    """An explained start.

    Attributes
    ----------
    title, verdict : str
    then : tuple of str
        The surface at that time, and how long it has to hold.
    groups : tuple of (str, tuple of LimitLine)
        A heading and what stands under it, what is in the way first.
    care : tuple of str
        What to take care of in the step, whenever it is done: a line each; of a start that is
        not allowed only by name.
    notes : tuple of str
        What was taken for granted.
    attribution : str
        Whose weather it is.
    """

    title: str
    verdict: str
    then: tuple[str, ...] = ()
    groups: tuple[tuple[str, tuple[LimitLine, ...]], ...] = ()
    care: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    attribution: str = ""


def content_of(answer: Why, *, commands: bool = True) -> WhyContent:
    """The answer in words; ``commands``: is there a command line to type at?"""
    words = replace(wording_of(answer), commands=commands)
    title = answer.job if answer.next is None else f"{answer.job}: {step_text(answer.next)}"
    said = short(answer.verdict, words)
    verdict = said[:1].upper() + said[1:]
    if answer.next is None:
        return WhyContent(title, verdict)
    return WhyContent(
        title,
        verdict,
        tuple(_then(answer, words)),
        tuple(_groups(answer, words)),
        tuple(_care(answer, words)),
        tuple(full(note, words) for note in answer.notes),
        answer.attribution or "",
    )


def _care(answer: Why, words: Wording) -> list[str]:
    if answer.allowed:
        return care_lines(answer.cautions, words)
    named = topics(answer.cautions)
    return [f"{named[:1].upper()}{named[1:]}."] if named else []


def _groups(answer: Why, words: Wording) -> Iterator[tuple[str, tuple[LimitLine, ...]]]:
    known: set[str] = set()
    for heading, states in _GROUPS:
        rules = [rule for rule in answer.rules if rule.state in states]
        limits = [limit for limit in answer.limits if limit.state in states]
        if states == ("kept",):  # of what is too cold nobody asks whether it is too warm
            limits = [limit for limit in limits if limit.limit not in known]
        known |= {limit.limit for limit in limits}
        said = [LimitLine(rule.state, _rule(rule, words)) for rule in rules]
        said += [
            LimitLine(limit.state, _limit(limit, phase, words)) for limit, phase in _merged(limits)
        ]
        if said:
            yield heading, tuple(said)


def _then(answer: Why, words: Wording) -> Iterator[str]:
    """The surface at the start, and how long it has to hold."""
    then = answer.surface
    if then.surface_c is not None and then.dew_point_c is not None and then.air_c is not None:
        state = {"dew": ", wet with dew", "frost": ", white with frost"}.get(then.state, "")
        yield (
            f"Then: {answer.where} {words.temp(then.surface_c)}{state}, air "
            f"{words.temp(then.air_c)}, dew point {words.temp(then.dew_point_c)}"
        )
    if then.wet_at is not None and then.wet_at > answer.start:
        yield f"{(then.wet_as or 'water').capitalize()} forms on it from {words.when(then.wet_at)}"
    if answer.applied is not None and answer.set_until:
        by = "beyond the forecast" if answer.set_by is None else words.when(answer.set_by)
        # of a start that is refused nothing may read like an order
        lead = "Put on" if answer.allowed else "If you started anyway: on"
        yield f"{lead} by {words.when(answer.applied)}, {answer.set_until} {by}"


def _rule(rule: Rule, words: Wording) -> str:
    ends = "" if rule.ends is None else f" (until {words.when(rule.ends)})"
    return f"{full(rule.why, words)}{ends}"


def _merged(limits: list[LimitAt]) -> list[tuple[LimitAt, str]]:
    """Of limits of one quantity the tightest, with the phases it is about.

    Where it is broken each bound counts for itself: too cold is not too warm.
    """
    first: dict[tuple[str, str], LimitAt] = {}
    phases: dict[tuple[str, str], list[str]] = {}
    for limit in limits:
        key = (limit.limit, "" if limit.state == "kept" else limit.bound)
        first.setdefault(key, limit)
        phases.setdefault(key, [])
        if limit.phase not in phases[key]:
            phases[key].append(limit.phase)
    return [
        (limit, limit.phase if limit.state == "kept" else " and ".join(sorted(phases[key])))
        for key, limit in first.items()
    ]


def _limit(limit: LimitAt, phase: str, words: Wording) -> str:
    worst, text = limit.worst, full(limit.margin, words)
    if BY_NAME[limit.limit].figures:
        value = "" if worst is None else f" {words.amount(worst.value, worst.unit)}"
        text = f"{limit.limit}{value}: {text}"
    if worst is not None and limit.state != "kept":
        text += f" ({words.when(worst.at)}, {phase})"
    if limit.state == "doubtful":
        text += f"; holds in {words.chance(limit.holds_in)} members"
    return text
