"""What an answer rests on, in words."""

from __future__ import annotations

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, spoken_of
from curewindow.wording import Wording


@spoken_of("job not in work list")
def _not_listed(f: Finding, w: Wording) -> str:
    return f"'{f.text('other_job')}' is in the record but not in work.toml: its coat does not count"


@spoken_of("sensor doubted")
def _sensor(f: Finding, w: Wording) -> Said:
    what = "the humidity of sensor" if f.text("state") == "humidity" else "sensor"
    text = f"{what} '{f.text('thing')}' ({f.text('space')}) is not believed"
    return Said(text, f"{text}: {f.text('note')}, {w.when(f.time('at'))}")
