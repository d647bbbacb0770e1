"""The picture as numbers: what `curewindow picture --json` prints."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer
from curewindow.charts.scene import Scene
from curewindow.findings import Finding
from curewindow.series import FloatArray


class PictureLimit(Answer):
    """A limit of the job's next step."""

    limit: str
    bound: Literal["min", "max"]
    value: float
    unit: str
    phases: list[Literal["applying", "setting"]]
    broken: list[bool] = Field(description="true where it is broken or not known")


class Span(Answer):
    """From the first start to the end of the work begun at the last."""

    opens: datetime
    ends: datetime


class PictureWindows(Answer):
    """The windows of a job."""

    job: str
    status: Literal["go", "wait", "blocked", "refused", "done"]
    verdict: Finding = Field(description="as on the day sheet")
    windows: list[Span]


class PictureLying(Answer):
    """What lies on a panel, in the weather as told; null is not known."""

    panel: str
    water_g_m2: list[float | None] = Field(description="liquid")
    frost_g_m2: list[float | None]


class Picture(Answer):
    """One surface, the air before it and the windows over time; null is not known.

    Lists run over `times`; of several members they hold the middle one.
    """

    boat: str
    title: str
    where: str
    job: str = Field(description="'' where it is of a whole space")
    surface: str = Field(description="what the surface is called")
    time_zone: str
    as_of: datetime
    known_until: datetime
    times: list[datetime]
    air_c: list[float | None]
    surface_c: list[float | None]
    dew_point_c: list[float | None]
    rh_pct: list[float | None]
    heat_w: list[float | None] | None = Field(description="null: no heater, or not known")
    aboard: list[bool]
    night: list[bool]
    dew: list[bool] = Field(description="dew forms on the surface")
    frost: list[bool] = Field(description="frost forms on the surface")
    lying: list[PictureLying] = Field(
        default_factory=list, description="panels with a gram or more on a square metre"
    )
    measured: list[bool] = Field(description="readings carry the values")
    limits: list[PictureLimit]
    windows: list[PictureWindows]


def picture_of(scene: Scene) -> Picture:
    """The numbers of a scene."""
    start, step = int(scene.left.timestamp()), round(scene.step_h * 3600.0)
    return Picture(
        boat=scene.boat,
        title=scene.title,
        where=scene.where,
        job=scene.job,
        surface=scene.surface,
        time_zone=scene.words.zone.key,
        as_of=scene.words.now,
        known_until=scene.until_known,
        times=[datetime.fromtimestamp(start + i * step, UTC) for i in range(scene.times.size)],
        air_c=_written(scene.air_c),
        surface_c=_written(scene.surface_c),
        dew_point_c=_written(scene.dew_point_c),
        rh_pct=_written(scene.rh_pct),
        heat_w=None if scene.heat_w is None else _written(scene.heat_w),
        aboard=scene.aboard.tolist(),
        night=scene.night.tolist(),
        dew=scene.dew.tolist(),
        frost=scene.frost.tolist(),
        lying=[
            PictureLying(
                panel=each.panel,
                water_g_m2=_written(each.water_g_m2),
                frost_g_m2=_written(each.frost_g_m2),
            )
            for each in scene.lying
        ],
        measured=scene.measured.tolist(),
        limits=[
            PictureLimit(
                limit=limit.kind.name,
                bound=limit.bound,
                value=limit.value,
                unit=limit.unit,
                phases=list(limit.phases),
                broken=limit.broken.tolist(),
            )
            for limit in scene.limits
        ],
        windows=[
            PictureWindows(
                job=bar.job,
                status=bar.status,
                verdict=bar.verdict,
                windows=[Span(opens=opens, ends=ends) for opens, ends in bar.spans],
            )
            for bar in scene.windows
        ],
    )


def _written(values: FloatArray) -> list[float | None]:
    return [None if value != value else round(value, 2) for value in values.tolist()]
