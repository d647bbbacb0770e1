"""Sentences that stay true however long a calendar keeps them: days by date, never 'today'."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from curewindow.answers import Margin, Window
from curewindow.wording import Wording


@dataclass(frozen=True, slots=True)
class Words:
    """The boat's zone and degrees, for texts that are kept."""

    wording: Wording

    @property
    def dated(self) -> Wording:
        """For findings in a text that is kept: every day by its date."""
        return replace(self.wording, days="date")

    def when(self, at: datetime) -> str:
        """'Thu 3 Dec 08:10'."""
        return self.dated.when(at)

    def clock(self, at: datetime) -> str:
        """'08:10'."""
        return self.wording.clock(at)

    def temp(self, temp_c: float) -> str:
        """'21.0 °C'."""
        return self.wording.temp(temp_c)

    def sentence(self, text: str) -> str:
        """A sentence written below, in the boat's degrees."""
        return self.wording.sentence(text)

    def margin(self, margin: Margin) -> str:
        """'surface above dew point 3.6 °C (at least 3.0 °C), Thu 3 Dec 21:00 while setting'."""
        bound = "at least" if margin.bound == "min" else "at most"
        shown = self.wording.amount(margin.value, margin.unit)
        limit = self.wording.amount(margin.limit_value, margin.unit)
        when = f"{self.when(margin.at)} while {margin.phase}"
        return f"{margin.limit} {shown} ({bound} {limit}), {when}"

    def after(self, window: Window) -> list[str]:
        """What follows the best start, a line each."""
        after = window.after
        about = "about " if after.extrapolated else ""
        lines = []
        if after.touch_dry is not None:
            lines.append(f"Then touch dry {about}{self.when(after.touch_dry)}.")
        if after.recoat_from is not None:
            until = ""
            if after.recoat_until is not None and after.recoat_until > after.recoat_from:
                until = f" to {self.when(after.recoat_until)}"
            lines.append(f"Next coat {about}{self.when(after.recoat_from)}{until}.")
        elif after.closed_up is not None:
            lines.append(f"May be covered {about}{self.when(after.closed_up)}.")
        return lines
