"""What a job says it goes on, read by a few known words: 'old alkyd, sound', 'bare steel', 'ash'.

Free text is no fault: what is not understood is unknown, and said to be.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from curewindow.boat.schema import Job
from curewindow.sheets.families import BINDERS, Binder, Substrate

Condition = Literal["sound", "flaking", ""]

_METALS: Final[dict[str, Substrate]] = {
    "steel": "bare steel",
    "iron": "bare steel",
    "galvanised": "galvanised steel",
    "galvanized": "galvanised steel",
    "zinc": "galvanised steel",
    "aluminium": "aluminium",
    "aluminum": "aluminium",
    "alloy": "aluminium",
    "gelcoat": "laminate",
    "grp": "laminate",
    "fibreglass": "laminate",
    "fiberglass": "laminate",
    "laminate": "laminate",
    "glass": "glass",
}
_WOODS: Final = frozenset(
    [
        "ash",
        "oak",
        "mahogany",
        "khaya",
        "sapele",
        "meranti",
        "larch",
        "pine",
        "spruce",
        "fir",
        "elm",
        "cedar",
        "plywood",
        "ply",
        "birch",
        "beech",
        "maple",
        "cherry",
        "walnut",
        "sipo",
        "okoume",
        "gaboon",
        "poplar",
        "hardwood",
        "softwood",
        "wood",
        "wooden",
        "timber",
    ]
)
# Rich in oil of their own: the face is wiped with solvent before glue or film. Common practice,
# no source.
_OILY: Final = frozenset(["teak", "iroko", "afrormosia", "rosewood"])
_FILMS: Final[dict[str, Binder]] = {
    **{name.casefold(): name for name in BINDERS},
    "enamel": "alkyd",
    "oiled": "oil",
    "linseed": "oil",
    "antifouling": "eroding antifouling",
    "antifoul": "eroding antifouling",
    "tar": "bituminous",
    "bitumen": "bituminous",
    "tarred": "bituminous",
    "creosote": "bituminous",
    "creosoted": "bituminous",
    "zinc-rich": "zinc-rich epoxy",
    "latex": "acrylic",
    "waterborne": "acrylic",
    "two-part polyurethane": "two-part polyurethane",
    "two-part urethane": "two-part polyurethane",
    "urethane alkyd": "urethane-alkyd",
    "polyester": "polyester",
}
_SOME_FILM: Final = frozenset(
    [
        "paint",
        "painted",
        "primed",
        "primer",
        "varnish",
        "varnished",
        "coated",
        "coating",
        "undercoat",
        "lacquer",
        "lacquered",
        "treated",
        "preserved",
        "impregnated",
        "stained",
        "glue",
        "glued",
    ]
)
_SOUND: Final = frozenset(["sound", "firm", "good"])
_LOOSE: Final = frozenset(
    ["flaking", "peeling", "loose", "blistered", "blistering", "chalking", "cracked"]
)
_PLAIN: Final = frozenset(
    [
        "old",
        "existing",
        "bare",
        "clean",
        "cleaned",
        "dry",
        "new",
        "the",
        "a",
        "an",
        "of",
        "on",
        "is",
        "and",
    ]
)


@dataclass(frozen=True, slots=True)
class Stands:
    """What is there before a job begins.

    Attributes
    ----------
    film : str
        Family of the film on top; '' where there is none or nobody knows which.
    bare : str
        What lies bare; '' where a film is on it or nobody knows.
    condition : str
        'sound', 'flaking' or '' where it is not said.
    unknown : bool
        There is something there, and its words do not say what.
    told : bool
        Anything was said at all.
    """

    film: Binder | Literal[""] = ""
    bare: Substrate | Literal[""] = ""
    condition: Condition = ""
    unknown: bool = False
    told: bool = True


def stands_before(job: Job) -> Stands:
    """What a job's ``substrate`` and ``bare_wood`` say of what it goes on."""
    text = job.substrate.casefold().strip()
    if not text:
        if job.bare_wood:
            return Stands(bare="bare wood")
        return Stands(unknown=True, told=False)
    condition: Condition = ""
    films = [name for name in sorted(_FILMS, key=len, reverse=True) if _there(name, text)]
    rest = text
    for name in films:
        rest = re.sub(rf"(?<![\w-]){re.escape(name)}(?![\w-])", " ", rest)
    words = re.findall(r"[\w-]+", rest)
    bare: Substrate | Literal[""] = ""
    some_film = strange = False
    for word in words:
        if word in _LOOSE:
            condition = "flaking"
        elif word in _SOUND:
            condition = condition or "sound"
        elif word in _OILY:
            bare = "oily wood"
        elif word in _WOODS:
            bare = bare or "bare wood"
        elif word in _METALS:
            bare = _METALS[word] if bare in ("", "bare steel") else bare
        elif word in _SOME_FILM:
            some_film = True
        elif word not in _PLAIN:
            strange = True
    if films:
        return Stands(film=_FILMS[films[0]], condition=condition)
    if some_film or not bare or "unknown" in words:
        return Stands(condition=condition, unknown=True)
    if strange and "bare" not in words:
        return Stands(condition=condition, unknown=True)
    return Stands(bare=bare, condition=condition)


def surface_name(job: Job) -> str:
    """What the surface is called: the first words of the substrate, 'painted steel'."""
    return job.substrate.split(",")[0].strip()


def _there(name: str, text: str) -> bool:
    return re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", text) is not None
