"""What the judgement says of one job on one day."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from curewindow.answers import Answer, Dewfall, NextStep, Obstacle, Wait, Window
from curewindow.findings import Finding
from curewindow.heating.models import HeatPlan

Status = Literal["go", "wait", "blocked", "refused", "done"]
# The order in which people want to read them.
STATUSES: tuple[Status, ...] = ("go", "wait", "blocked", "refused", "done")


class JobDay(Answer):
    """A job on this day."""

    job: str
    where: str
    space: str = Field(description="the space it is in, or 'outdoors'")
    surface: str = Field("", description="a panel, 'joinery', or outdoors what it is of")
    status: Status
    verdict: Finding = Field(description="when the step may start, or why not")
    next: NextStep | None = Field(None, description="None where the job is done")
    windows_today: list[Window] = Field(default_factory=list)
    next_window: Window | None = Field(None, description="the first one after today")
    if_wiped: Window | None = Field(
        None, description="the first window once water that lies on the surface is wiped off"
    )
    obstacles: list[Obstacle] = Field(default_factory=list)
    waits: list[Wait] = Field(default_factory=list)
    heat: HeatPlan | None = Field(
        None, description="what heat would open a start, where nothing else does; looked at quickly"
    )
    dewfall: Dewfall | None = Field(
        None,
        description="outdoors: the first dew or frost on it from its next window, or from now, to "
        "noon of the day after",
    )
    cautions: list[Finding] = Field(
        default_factory=list, description="what can hurt someone in its next step, gravest first"
    )
    typical_sheet: bool = Field(False, description="goes by a generic sheet: check your tin")
    notes: list[Finding] = Field(default_factory=list, description="what else there is to know")
