"""What a film is made of, what it may stand on, and what is done to that first."""

from __future__ import annotations

from typing import Final, Literal, get_args

from pydantic import Field

from curewindow.handwritten import FileModel

Binder = Literal[
    "alkyd",
    "oil",
    "urethane-alkyd",
    "epoxy",
    "zinc-rich epoxy",
    "two-part polyurethane",
    "moisture-cured polyurethane",
    "acrylic",
    "PVA",
    "polychloroprene",
    "silicone",
    "hybrid",
    "polyester",
    "vinyl",
    "bituminous",
    "hard antifouling",
    "eroding antifouling",
]
"""Families of films, in the trade's words; 'acrylic' is the waterborne one."""
BINDERS: Final[tuple[Binder, ...]] = get_args(Binder)

Substrate = Literal[
    "bare steel",
    "galvanised steel",
    "aluminium",
    "bare wood",
    "oily wood",
    "laminate",
    "glass",
]
"""What a film may stand on that is none; 'laminate' is glass fibre with or without its gelcoat."""
SUBSTRATES: Final[tuple[Substrate, ...]] = get_args(Substrate)

How = Literal["as is", "wash", "degrease", "sand", "prime", "tie coat", "test patch", "never"]
"""How something goes on: as it is, after something is done to what is below, or not at all."""
ALONE: Final[tuple[How, ...]] = ("as is", "never")
"""What nothing else is said beside."""

FilmState = Literal["fresh", "cured"]
"""A film that has not cured fully yet, and one that has."""

Why = Literal[
    "lifts",
    "saponifies",
    "soft below",
    "oil below",
    "cure stopped",
    "nothing holds",
    "weak below",
    "rigid over flexible",
    "bleeds",
    "needs bare steel",
    "does not soak in",
    "copper on metal",
]
"""Why something does not go on something, or not without more."""


class StandsOn(FileModel):
    """One thing a product may, or may not, stand on, as its data sheet has it."""

    what: str = Field(
        description="'itself', a substrate ('bare steel'), a family ('alkyd') or a sheet's name"
    )
    how: list[How] = Field(
        min_length=1, description="'as is' or 'never' alone, else what is done first, in order"
    )
    state: FilmState | None = Field(None, description="only while it is so; else in any state")
    why: Why | None = None
    note: str = ""
    source: str = Field("", description="else the sheet's own")
