"""How a finding is said: one template a kind, three forms of it.

The templates stand in the files beside this one, a file a subject, as the kinds do in
:mod:`curewindow.findings.kinds`. A template gets the finding and the boat's
:class:`~curewindow.wording.Wording` and gives one text, or several forms of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from importlib import import_module
from typing import Final, NamedTuple

from curewindow.findings import KINDS, Finding
from curewindow.wording import Wording


class Said(NamedTuple):
    """The forms of a text.

    Attributes
    ----------
    short : str
        A line of a phone or two, no capital, no full stop.
    full : str
        All of it; '' where that is the short form.
    act : str
        As something to be done, with its verb first; '' where it is none.
    """

    short: str
    full: str = ""
    act: str = ""


Template = Callable[[Finding, Wording], "Said | str"]
TEMPLATES: Final[dict[str, Template]] = {}
"""By kind; filled when first asked for."""
_SUBJECTS: Final = (
    "cautions",
    "vapour",
    "starts",
    "jobs",
    "layers",
    "coats",
    "changes",
    "basis",
    "weather",
    "cabin",
    "heat",
    "heaters",
    "notices",
    "verification",
    "learned",
    "whatif",
    "supplies",
    "variations",
    "order",
)


def spoken_of(*kinds: str) -> Callable[[Template], Template]:
    """Name the kinds a template says."""

    def named(template: Template) -> Template:
        for kind in kinds:
            if kind not in KINDS:
                raise ValueError(f"no kind of finding is called '{kind}'")
            if kind in TEMPLATES:
                raise ValueError(f"two templates for '{kind}'")
            TEMPLATES[kind] = template
        return template

    return named


def said(found: Finding, words: Wording) -> Said:
    """A finding in all its forms.

    Parameters
    ----------
    found : Finding
    words : Wording
        The boat's zone and degrees, and what 'today' is.
    """
    if found.kind not in TEMPLATES:  # none has been asked for yet
        for subject in _SUBJECTS:
            import_module(f"curewindow.voice.{subject}")
    text = TEMPLATES[found.kind](found, words)
    return Said(text) if isinstance(text, str) else text


def short(found: Finding, words: Wording) -> str:
    """A finding in a phone's line or two."""
    return said(found, words).short


def full(found: Finding, words: Wording) -> str:
    """All there is to say of a finding."""
    forms = said(found, words)
    return forms.full or forms.short


def act(found: Finding, words: Wording) -> str:
    """A finding as something to do; as :func:`full` where nobody has to do anything."""
    forms = said(found, words)
    return forms.act or forms.full or forms.short


def and_all(names: Sequence[str]) -> str:
    """'saloon, forepeak and pump well'."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def in_full(found: Iterable[Finding], words: Wording) -> str:
    """Findings in full, each once, in one line; jobs that come first are named together."""
    found = list(found)
    first = list(dict.fromkeys(f"'{e.text('other_job')}'" for e in found if e.kind == "after job"))
    texts = [
        f"{and_all(first)} come first"
        if each.kind == "after job" and len(first) > 1
        else full(each, words)
        for each in found
    ]
    return "; ".join(dict.fromkeys(texts))


def listed(found: Iterable[Finding], words: Wording, *, most: int | None = None) -> str:
    """Findings in one line, each once; those beyond ``most`` are counted."""
    found = list(found)
    first = [each.text("other_job") for each in found if each.kind == "after job"]
    texts = [f"after {', '.join(first)}"] if first else []
    texts += [short(each, words) for each in found if each.kind != "after job"]
    texts = list(dict.fromkeys(texts))
    shown = texts if most is None else texts[:most]
    more = len(texts) - len(shown)
    return "; ".join([*shown, *([f"and {more} more"] if more else [])])
