"""How long the hands are on a step."""

from __future__ import annotations

from curewindow.boat.schema import Job, Step
from curewindow.findings import Finding, finding

# Setting up, and hours a square metre, of one person with brush, roller and
# sanding block. Common practice, no source; the owner's own figures win.
_SET_UP_H = 0.25
_RATE_H_M2 = {"prepare": 0.3, "coat": 0.15, "sand": 0.25, "bond": 0.3, "seal": 0.15, "fit": 0.5}
# Where there is no area either. Common practice, no source.
_WHOLE_STEP_H = {"prepare": 2.0, "coat": 1.0, "sand": 1.5, "bond": 1.0, "seal": 0.5, "fit": 3.0}


def hands_on_h(step: Step, job: Job) -> float:
    """Hands-on time of a step.

    Parameters
    ----------
    step : Step
        The step.
    job : Job
        Its job, for the area.

    Returns
    -------
    float
        Hours for one coat of a coat, bond or seal step, else for the whole step:
        ``hands_on``, else ``rate`` times the job's area, else a usual figure
        (see :func:`hands_on_assumed`).
    """
    if step.hands_on is not None:
        return step.hands_on
    if job.area:
        if step.rate is not None:
            return step.rate * job.area
        return _SET_UP_H + _RATE_H_M2[step.do] * job.area
    return _WHOLE_STEP_H[step.do]


# Hours a square metre of what is done to what is below. Common practice, no source.
_ACT_H_M2 = {
    "scrape": 0.5,
    "wash": 0.1,
    "degrease": 0.1,
    "sand": 0.25,
    "prime": 0.15,
    "tie coat": 0.15,
    "clean again": 0.3,
}
_PATCH_H, _ACT_WHOLE_H = 0.25, 1.0


def act_h(act: str, job: Job) -> float:
    """Hands-on time of what is done to what is below before a product goes on.

    A test patch is a hand's breadth; the rest goes by the job's area, or a usual figure.
    """
    if act == "test patch":
        return _PATCH_H
    return _SET_UP_H + _ACT_H_M2[act] * job.area if job.area else _ACT_WHOLE_H


def hands_on_assumed(step: Step, job: Job) -> Finding | None:
    """What has to be told where :func:`hands_on_h` had to assume a time, else None."""
    if step.hands_on is not None or (step.rate is not None and job.area):
        return None
    return finding("hands-on time assumed", hours=hands_on_h(step, job), area_m2=job.area or None)
