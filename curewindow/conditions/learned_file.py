"""learned.toml in the boat folder: fitted values, kept when the owner says so."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from datetime import UTC
from pathlib import Path
from typing import Any, Literal

from pydantic import AwareDatetime, Field

from curewindow.conditions.learned import Learned
from curewindow.errors import BoatError
from curewindow.files import write_whole
from curewindow.handwritten import FileModel, parse_file, parse_text
from curewindow.quantity import (
    AIR_CHANGE,
    MASS,
    POWER,
    TEMP_DIFFERENCE,
    AirChange,
    HeatCapacity,
    Mass,
    MoistureFlow,
    Power,
    TempDifference,
    write,
)
from curewindow.sheets.jsonschema import schema_of

LEARNED_FILE = "learned.toml"
_HEAD = """\
# What the readings taught of each space, written by 'curewindow learn SPACE --keep'.
# Used instead of boat.toml's figures as long as the space is described the same there.
# Throw out a table (or the file) to go back to what boat.toml says.
format = 1
"""
# Each table begins a line of its own.
_TABLES = re.compile(r"^(?=\[\[space\]\])", re.MULTILINE)


class LearnedSpace(FileModel):
    """Fitted values of one space."""

    name: str
    fitted: AwareDatetime
    readings: int = Field(ge=1)
    air_within: TempDifference
    dew_point_within: TempDifference
    described: str = Field(description="mark of the description the values belong to")
    air_change: AirChange
    heat_loss: float = Field(gt=0, description="times what boat.toml's panels lose")
    interior_mass: HeatCapacity
    held_water: Mass = Field(description="water that joinery takes up from dry to saturated air")
    moisture: MoistureFlow
    heater_output: Power | None = None


class LearnedFile(FileModel):
    """learned.toml."""

    format: Literal[1] = 1
    space: list[LearnedSpace] = Field(default_factory=list)


def learned_schema() -> dict[str, Any]:
    """JSON Schema (draft 7) of learned.toml, ready for ``json.dumps``."""
    return schema_of(LearnedFile, "learned.toml: what the readings taught of each space")


def learned_in(folder: Path) -> dict[str, Learned]:
    """Fitted values kept in a boat folder, by space; none where there is no file.

    Raises
    ------
    BoatError
        learned.toml cannot be used.
    """
    path = folder / LEARNED_FILE
    if not path.exists():
        return {}
    return {
        item.name: Learned(
            space=item.name,
            fitted_at=item.fitted.astimezone(UTC),
            readings=item.readings,
            air_within_k=item.air_within,
            dew_within_k=item.dew_point_within,
            fingerprint=item.described,
            air_changes_h=item.air_change,
            heat_loss=item.heat_loss,
            mass_j_k=item.interior_mass,
            buffer_kg=item.held_water,
            moisture_kg_h=item.moisture,
            heater_w=item.heater_output,
        )
        for item in parse_file(path, LearnedFile, BoatError).space
    }


def keep_learned(folder: Path, learned: Learned, remarks: Mapping[str, str]) -> Path:
    """Write the values of one space into learned.toml; other spaces and comments stay.

    Parameters
    ----------
    folder : Path
        The boat folder.
    learned : Learned
        What to keep.
    remarks : mapping of str to str
        By key of the file: what stands behind the value as a comment.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    BoatError
        The file that is there cannot be used, or cannot be written.
    """
    path = folder / LEARNED_FILE
    written = _HEAD
    if path.exists():
        parse_file(path, LearnedFile, BoatError)  # a broken file is told, never overwritten
        written = path.read_text(encoding="utf-8-sig")
    head, *tables = _TABLES.split(written)
    new = _table(learned, remarks)
    own = [index for index, table in enumerate(tables) if _name_in(table) == learned.space]
    if own:
        tables[own[0]] = new
    else:
        tables.append(new)
    text = "\n\n".join(part.strip() for part in (head, *tables)) + "\n"
    parse_text(text, LearnedFile, BoatError, path)
    try:
        write_whole(path, text)
    except OSError as bad:
        raise BoatError(f"cannot be written: {bad.strerror}", file=path) from None
    return path


def _name_in(table: str) -> str:
    found: list[dict[str, object]] = tomllib.loads(table)["space"]
    return str(found[0]["name"])


def _table(learned: Learned, remarks: Mapping[str, str]) -> str:
    values: dict[str, str | float] = {
        "name": learned.space,
        "fitted": "",
        "readings": learned.readings,
        "air_within": write(round(learned.air_within_k, 2), TEMP_DIFFERENCE),
        "dew_point_within": write(round(learned.dew_within_k, 2), TEMP_DIFFERENCE),
        "described": learned.fingerprint,
        "air_change": write(_figures(learned.air_changes_h), AIR_CHANGE),
        "heat_loss": _figures(learned.heat_loss),
        "interior_mass": f"{_figures(learned.mass_j_k / 1000.0):g} kJ/K",
        "held_water": write(_figures(learned.buffer_kg), MASS),
        "moisture": f"{_figures(1000.0 * learned.moisture_kg_h):g} g/h",
    }
    if learned.heater_w is not None:
        values["heater_output"] = write(_figures(learned.heater_w), POWER)
    lines = ["[[space]]"]
    for key, value in values.items():
        if key == "fitted":
            shown = f"{learned.fitted_at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
        else:
            # JSON's strings and numbers are TOML's too.
            shown = json.dumps(value, ensure_ascii=False)
        remark = f"  # {remarks[key]}" if key in remarks else ""
        lines.append(f"{key} = {shown}{remark}")
    return "\n".join(lines)


def _figures(value: float) -> float:
    """Three figures: easily read, and more than the values are known to."""
    return float(f"{value:.3g}")
