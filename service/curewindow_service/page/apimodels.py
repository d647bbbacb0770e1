"""What the JSON interface takes in, and how it says that something is wrong."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from fastapi import Path, Query
from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from curewindow.boat.schema import Ventilation
from curewindow.record.entries import Found

Name = Annotated[str | None, Query(max_length=200, description="as boat.toml or work.toml has it")]
Days = Annotated[float | None, Query(gt=0, le=60)]
Last = Annotated[int, Query(ge=1, le=10_000, description="only the newest so many")]
Id = Annotated[int, Field(ge=1, le=2**53)]
NoticeId = Annotated[int, Path(ge=1, le=2**53)]
_Short = Annotated[str, Field(max_length=200)]


class ProblemDetails(BaseModel):
    """What is wrong (RFC 9457)."""

    type: str = "about:blank"
    title: str = Field(description="one line: what is wrong and what would be right")
    status: int


def _problem(about: str) -> dict[str, Any]:
    schema = {"$ref": "#/components/schemas/ProblemDetails"}
    return {
        "model": ProblemDetails,
        "description": about,
        "content": {"application/problem+json": {"schema": schema}},
    }


PROBLEMS: dict[int | str, dict[str, Any]] = {
    400: _problem("not a name this page goes by"),
    401: _problem("the token is asked for"),
    403: _problem("came from another site"),
    404: _problem("there is no such thing"),
    413: _problem("too large"),
    415: _problem("not JSON"),
    422: _problem("cannot be"),
    429: _problem("too much at once"),
    503: _problem("cannot be answered now: files, weather or record"),
}


class Incoming(BaseModel):
    """What a program sends: unknown keys are errors."""

    model_config = ConfigDict(extra="forbid")


class NewReading(Incoming):
    """A reading; at least one value."""

    space: _Short = Field(description="a space of boat.toml, or 'outdoors'")
    at: AwareDatetime | None = Field(None, description="with its offset; else now")
    air_c: float | None = None
    rh_pct: float | None = None
    surface_c: float | None = None
    panel: _Short | None = None
    wood_moisture_pct: float | None = None
    by_hand: bool = Field(False, description="a person typed it in: undo takes it back")
    note: str = Field("", max_length=2000)


class NewCoatLine(Incoming):
    """A coat; what is left out is filled in from the work list and the record."""

    job: _Short
    step: int | None = Field(None, ge=1, le=1000)
    coat: int | None = Field(None, ge=1, le=1000)
    earlier_unknown: bool = Field(
        False, description="nobody knows when the coats before it went on"
    )
    start: AwareDatetime | None = Field(None, description="else the usual time before the end")
    end: AwareDatetime | None = Field(None, description="else now")
    sheet: _Short | None = None
    batch: _Short = ""
    area_m2: float | None = None
    note: str = Field("", max_length=2000)


class NewDone(Incoming):
    """A finished step without a product."""

    job: _Short
    step: int | None = Field(None, ge=1, le=1000)
    at: AwareDatetime | None = Field(None, description="else now")
    note: str = Field("", max_length=2000)


class NewHeat(Incoming):
    """A heater lit or put out outside its routine."""

    space: _Short
    setpoint_c: float | None = Field(None, description="None: off, or back to its routine")
    until: AwareDatetime | None = Field(
        None, description="to be so until then; needed with setpoint_c; else its routine at once"
    )
    ventilation: Ventilation = "normal"
    at: AwareDatetime | None = Field(None, description="else now")
    note: str = Field("", max_length=2000)


class NewDry(Incoming):
    """A surface that was wiped dry."""

    surface: _Short = Field(description="a job, a panel or a space; of one name the job's alone")
    panel: _Short | None = Field(None, description="of a space with several: which")
    every: bool = Field(False, description="every surface of a space")
    at: AwareDatetime | None = Field(None, description="else now")
    note: str = Field("", max_length=2000)


class NewInspection(Incoming):
    """What somebody found at a coat, or that it was sanded for the next."""

    job: _Short
    found: Found
    step: int | None = Field(None, ge=1, le=1000, description="else any")
    coat: int | None = Field(None, ge=1, le=1000, description="else the last")
    at: AwareDatetime | None = Field(None, description="else now")
    note: str = Field("", max_length=2000)


class Undo(Incoming):
    """Which entry is to be taken back, whatever came after it."""

    entry: Id | None = Field(None, description="as it was told when it was written; else the last")


class Snooze(Incoming):
    """For how long."""

    hours: float = Field(ge=0.25, le=24 * 14)


class Snoozed(BaseModel):
    """When it is told again."""

    until: datetime
