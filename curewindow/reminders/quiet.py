"""When a notice may be told: outside the quiet hours, unless it is urgent."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from curewindow.boat.service import Level, ServiceSettings

# So long before the quiet hours what will not bear waiting through them is told.
_BEFORE_BED = timedelta(minutes=30)


def on_clock(day: date, at: time, zone: ZoneInfo) -> datetime:
    """The moment the wall clock shows a time on a day, UTC.

    In spring a time the clock skips is told an hour later, in autumn one it shows
    twice the first time.
    """
    return datetime.combine(day, at.replace(fold=0), zone).astimezone(UTC)


def quiet_stretch(
    at: datetime, settings: ServiceSettings, zone: ZoneInfo
) -> tuple[datetime, datetime] | None:
    """The quiet hours a moment lies in, or None."""
    if settings.quiet_from == settings.quiet_until:
        return None
    today = at.astimezone(zone).date()
    over_midnight = settings.quiet_until < settings.quiet_from
    for day in (today - timedelta(days=1), today):
        start = on_clock(day, settings.quiet_from, zone)
        last = day + timedelta(days=1) if over_midnight else day
        end = on_clock(last, settings.quiet_until, zone)
        if start <= at < end:
            return start, end
    return None


def sent_at(
    due: datetime,
    level: Level,
    settings: ServiceSettings,
    zone: ZoneInfo,
    now: datetime,
    *,
    latest: datetime | None = None,
) -> datetime:
    """When something due is told.

    Parameters
    ----------
    due : datetime
        When it would be told if there were no quiet hours.
    level : str
        What is urgent may come in the quiet hours, unless the owner said no.
    settings : ServiceSettings
    zone : ZoneInfo
        The boat's.
    now : datetime
        Aware: nothing is moved to before this.
    latest : datetime, optional
        Too late after this: then it is told before the quiet hours begin.

    Returns
    -------
    datetime
        ``due`` itself, the end of the quiet hours, or half an hour before they begin.
    """
    quiet = quiet_stretch(due, settings, zone)
    if quiet is None or (level == "urgent" and settings.wake_for_urgent):
        return due
    start, end = quiet
    early = start - _BEFORE_BED
    if latest is not None and end > latest and early >= now - _BEFORE_BED:
        return early
    return end
