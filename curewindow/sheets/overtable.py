"""What goes over what where no sheet says so: the shelf's table of families, with its sources."""

from __future__ import annotations

from functools import cache
from typing import Final

from pydantic import Field

from curewindow.errors import SheetError
from curewindow.handwritten import FileModel, parse_file
from curewindow.sheets.families import Binder, FilmState, How, Substrate, Why
from curewindow.sheets.schema import ProductKind
from curewindow.sheets.shelf import find_products_dir

FILE: Final = "tables/over.toml"


class OverRow(FileModel):
    """Families that go, or do not, on other families or bare substrates."""

    over: list[Binder] = Field(min_length=1, description="what is put on")
    kinds: list[ProductKind] = Field(
        default_factory=list, description="only products of these kinds; else of any"
    )
    on: list[Binder | Substrate] = Field(min_length=1, description="what is below")
    state: FilmState | None = Field(None, description="of a film below; else in any")
    how: list[How] = Field(min_length=1)
    why: Why | None = None
    source: list[str] = Field(description="names of [sources]; empty: common practice, no source")


class OverTable(FileModel):
    """The whole table; of several rows that fit a pair the first counts."""

    sources: dict[str, str]
    row: list[OverRow]


@cache
def over_table() -> OverTable:
    """The table that ships with the shelf, read once."""
    return parse_file(find_products_dir() / FILE, OverTable, SheetError)
