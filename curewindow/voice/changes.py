"""What is no longer as it was told, in the trade's words."""

from __future__ import annotations

from curewindow.findings import Finding
from curewindow.voice.jobs import chance_text
from curewindow.voice.speaking import Said, full, short, spoken_of
from curewindow.wording import Wording, span


@spoken_of("window new")
def _new(f: Finding, w: Wording) -> Said:
    text = f"new window {w.from_to(f.time('begins'), f.time('until'))}{chance_text(f, w)}"
    return Said(text, _because(text, f, w))


@spoken_of("window lost")
def _lost(f: Finding, w: Wording) -> Said:
    text = f"no window any more {w.from_to(f.time('begins'), f.time('until'))}"
    why = [each for each in f.because if each.kind != "window ahead"]
    following = [each for each in f.because if each.kind == "window ahead"]
    whole = f"{text}: {'; '.join(full(each, w) for each in why)}" if why else text
    return Said(text, "; next ".join([whole, *(short(each, w) for each in following)]))


@spoken_of("window moved")
def _moved(f: Finding, w: Wording) -> Said:
    opens, last = f.moment("begins"), f.moment("last_start")
    parts = []
    if opens is not None:
        parts.append(f"opens {w.when(opens)}, {_by(f.number('hours'))}")
    if last is not None:
        same = opens is not None and w.local(opens).date() == w.local(last).date()
        at = w.clock(last) if same else w.when(last)
        parts.append(f"last start {at}, {_by(f.number('other_hours'))}")
    text = "; ".join(parts) or "the window moved"
    return Said(text, _because(text, f, w))


@spoken_of("window doubted")
def _doubted(f: Finding, w: Wording) -> str:
    return (
        f"{w.from_to(f.time('begins'), f.time('until'))}: {w.chance(f.number('chance'))}, was "
        f"{w.chance(f.number('other_chance'))}"
    )


def _because(text: str, f: Finding, w: Wording) -> str:
    return f"{text}: {'; '.join(full(each, w) for each in f.because)}" if f.because else text


def _by(hours: float) -> str:
    return f"{span(abs(hours))} {'later' if hours > 0.0 else 'earlier'}"
