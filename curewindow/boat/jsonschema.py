"""JSON Schemas of all files an owner writes by hand: sheet, boat, work."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Literal, get_args

from pydantic import BaseModel

from curewindow.boat.schema import Boat, Work
from curewindow.files import write_whole
from curewindow.sheets.jsonschema import schema_of
from curewindow.sheets.schema import Sheet

FileName = Literal["sheet", "boat", "work"]
FILE_NAMES: tuple[FileName, ...] = get_args(FileName)

_FILES: dict[FileName, tuple[type[BaseModel], str]] = {
    "sheet": (Sheet, "A product sheet"),
    "boat": (Boat, "boat.toml: place, spaces, heating, hours aboard"),
    "work": (Work, "work.toml: the jobs"),
}


def schema_for(file: FileName) -> dict[str, Any]:
    """JSON Schema (draft 7) of one of the hand-written files.

    Parameters
    ----------
    file : {'sheet', 'boat', 'work'}
        Which file.

    Returns
    -------
    dict
        Ready for ``json.dumps``.
    """
    return schema_of(*_FILES[file])


def write_schemas(folder: Path) -> None:
    """Write into a boat folder the JSON Schemas that the first lines of its files point to."""
    (folder / "schema").mkdir(exist_ok=True)
    for name in FILE_NAMES:
        text = json.dumps(schema_for(name), indent=1, ensure_ascii=False) + "\n"
        write_whole(folder / "schema" / f"{name}.json", text)
