"""Two weeks of the demo boat as it is, morning and evening, in every face."""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from curewindow.demo import files as packaged
from curewindow.record.entries import Coat
from curewindow.record.store import Record
from tests.laws.judgement import boats, law_agree, law_danger, law_done, law_reason
from tests.laws.judgement.faces import Faces

# The gate, which has twenty minutes for everything, walks fewer of them: see .ci/run.
DAYS = int(os.environ.get("CUREWINDOW_LAW_DAYS", "14"))
EVENING = timedelta(hours=10)


def told(faces: Faces, number: int) -> Iterator[str]:
    """What breaks a law at a moment."""
    yield from law_agree.broken(faces, random.Random(number))
    yield from law_done.broken(faces)
    yield from law_danger.broken(faces)
    yield from law_reason.broken(faces, random.Random(number))


def put_on(faces: Faces, folder: Path) -> datetime | None:
    """Log the first coat that may go on now, as it is told; when its last stroke was."""
    for day in faces.sheet.jobs:
        if day.status != "go" or day.next is None or day.next.sheet is None:
            continue
        after, step = day.windows_today[0].after, day.next
        if after.start > faces.now:
            continue
        on = after.applied
        coat = Coat(day.job, step.step, step.coat or 1, after.start, on, step.sheet)
        with Record(folder / "record.db", now=lambda at=on: at) as record:
            record.add_coat(coat)
        return on
    return None


@pytest.mark.slow
@pytest.mark.parametrize("obeyed", [False, True], ids=["left alone", "one coat a morning"])
def test_no_face_contradicts_another(tmp_path: Path, obeyed: bool) -> None:
    case = boats.demo(tmp_path / "case")
    folder = tmp_path / "boat"
    packaged.write(folder, boats.MORNING)
    said: list[str] = []
    coats = 0
    for day in range(DAYS):
        morning = boats.MORNING + timedelta(days=day)
        faces = Faces(case, folder, morning)
        said += [f"{morning:%a %d %H:%M} {each}" for each in told(faces, day)]
        on = put_on(faces, folder) if obeyed else None
        coats += on is not None
        evening = max(morning + EVENING, on or morning)
        said += [f"{evening:%a %d %H:%M} {e}" for e in told(Faces(case, folder, evening), day)]
    assert not said, "\n".join(said)
    assert (coats > DAYS // 4) == obeyed
