"""What reminders are worked out from, and the one way to write one down."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from curewindow.answers import Clock
from curewindow.boat.service import Level, ServiceSettings
from curewindow.daysheet.models import DaySheet
from curewindow.findings import Finding, finding
from curewindow.findings.kinds.notices import NoticeKind
from curewindow.findings.parameters import Value
from curewindow.judgement.models import JobDay
from curewindow.reminders.models import Reminder
from curewindow.reminders.quiet import quiet_stretch, sent_at
from curewindow.situation import Situation
from curewindow.voice.cautions import DEFER, care_lines
from curewindow.voice.notices import lines_of, title_of
from curewindow.wording import Wording

_CARE_LINES = 3
# Verdicts that say 'now' where they name no beginning.
_OPEN_NOW = ("start today", "hands on today")


def of_step(
    kind: str, day: JobDay, because: Sequence[Finding] = (), **about: Value | None
) -> Finding:
    """A finding about the next step of a job."""
    assert day.next is not None
    coat = day.next.coat if day.next.do == "coat" else None
    of_coats = None if coat is None else day.next.of_coats
    step = {"job": day.job, "do": day.next.do, "coat": coat, "of_coats": of_coats}
    return finding(kind, because=because, **step, **about)


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """What there is to tell from.

    Attributes
    ----------
    facts : Situation
        Boat, work, record, weather and conditions.
    sheet : DaySheet
        Made from them.
    clocks : sequence of Clock
        Of every job's last coat, cured ones too.
    plan : mapping or None
        The plan as it was last told, see `changed.plan_of`.
    """

    facts: Situation
    sheet: DaySheet
    clocks: Sequence[Clock]
    plan: Mapping[str, Any] | None = None

    @property
    def now(self) -> datetime:
        """The moment it is."""
        return self.facts.now

    @property
    def words(self) -> Wording:
        """The boat's zone and degrees."""
        return self.facts.words

    @property
    def settings(self) -> ServiceSettings:
        """What the owner set."""
        return self.facts.boat.service

    def day(self, job: str) -> JobDay | None:
        """A job on the day sheet."""
        return next((day for day in self.sheet.jobs if day.job == job), None)

    @property
    def dated(self) -> Wording:
        """The same for what is read at another time: days by their names."""
        return replace(self.facts.words, days="weekday", commands=False)

    def stands(self, day: JobDay) -> Finding:
        """How a job stands, by the day sheet's own verdict."""
        return finding("stands now", because=[self.verdict(day)])

    def verdict(self, day: JobDay) -> Finding:
        """The day sheet's verdict; what is open now is told as open from this moment on."""
        if day.verdict.kind in _OPEN_NOW and day.verdict.moment("begins") is None:
            return day.verdict.changed(begins=self.now)
        return day.verdict

    def reminder(
        self,
        kind: NoticeKind,
        which: str,
        *,
        about: str,
        level: Level,
        due: datetime,
        expires: datetime,
        head: Finding,
        body: Sequence[Finding] = (),
        latest: datetime | None = None,
        only_after: str | None = None,
        at_that_time: bool = False,
        care: Sequence[Finding] = (),
    ) -> Reminder:
        """Write a reminder down.

        Parameters
        ----------
        which : str
            With the kind it makes the key.
        head : Finding
            The title.
        body : sequence of Finding
            A line each.
        latest : datetime, optional
            Too late after this: told before the quiet hours rather than behind them.
        at_that_time : bool
            Told when due, quiet hours or not: the owner chose the time.
        care : sequence of Finding
            Of the step it tells of: a line each behind the body, the last ones by their topics.
        """
        words = self.dated
        lines = lines_of(body, words)
        lines += care_lines(care, words, _CARE_LINES)
        if care or any(each.weight == "danger" for each in body):
            lines.append(DEFER)
        told = due
        if not at_that_time:
            zone = self.words.zone
            if due < self.now and quiet_stretch(self.now, self.settings, zone) is not None:
                due = self.now  # overdue is no reason to wake anybody
            told = sent_at(due, level, self.settings, zone, self.now, latest=latest)
        return Reminder(
            key=f"{kind}|{which}",
            kind=kind,
            about=about,
            level=level,
            due=told.replace(microsecond=0),
            expires=max(expires, told + timedelta(minutes=1)).replace(microsecond=0),
            told=(head, *body, *care),
            title=title_of(head, words),
            body="\n".join(lines),
            only_after=only_after,
        )
