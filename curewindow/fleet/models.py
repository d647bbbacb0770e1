"""The answer: what there is to say of one boat among many."""

from __future__ import annotations

from datetime import date, datetime

from pydantic import Field, RootModel

from curewindow.answers import AllDone, Answer


class FleetBoat(Answer):
    """One boat of a yard or a club: its date, and what is next, or what is wrong."""

    folder: str = Field(description="its folder's name")
    boat: str = Field(description="its own name; its folder's where boat.toml cannot be read")
    time_zone: str | None = None
    as_of: datetime | None = None
    finish: datetime | None = Field(
        None, description="None: nothing is left, nothing fits, or it lies beyond the forecast"
    )
    all_done: AllDone | None = Field(None, description="by the seasons, as the plan has it")
    known_until: datetime | None = Field(None, description="end of the forecast")
    done_by: date | None = None
    days_in_hand: int | None = Field(None, description="before done_by; negative: late")
    left_out: list[str] = Field(default_factory=list, description="jobs that cannot be planned")
    next_job: str | None = None
    next_act: str | None = Field(None, description="as 'curewindow plan --fix' knows the step")
    next_at: datetime | None = None
    problem: str = Field("", description="why there is no plan of it; '': there is one")
    exit_code: int = Field(0, description="what 'curewindow plan' would end with")
    seconds: float = Field(0.0, description="processor time of its process")


class Fleet(RootModel[list[FleetBoat]]):
    """All boats of a folder, by their folders' names."""
