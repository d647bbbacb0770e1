"""Whether a product keeps: frost, shelf life, and tins that are aboard already."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from curewindow.boat.service import Tin
from curewindow.sheets.schema import Storage
from curewindow.wording import Wording


def keeping_of(
    storage: Storage,
    tins: Sequence[Tin],
    first: datetime | None,
    last: datetime | None,
    words: Wording,
) -> list[str]:
    """What has to be said of keeping a product.

    Parameters
    ----------
    storage : Storage
        From its sheet.
    tins : sequence of Tin
        Of that sheet, aboard and not used up.
    first, last : datetime or None
        When it is needed; None: not known.
    words : Wording
    """
    said: list[str] = []
    if storage.frost_spoils:
        said.append("frost spoils it: keep it where it does not freeze, also on the way home")
    if storage.min is not None or storage.max is not None:
        said.append(f"keep it {_between(storage, words)}")
    if storage.shelf_life is not None:
        text = f"unopened it keeps {_long(storage.shelf_life)}: look at the date on the tin"
        if last is not None and last - words.now > timedelta(hours=storage.shelf_life):
            text = (
                f"unopened it keeps only {_long(storage.shelf_life)}: bought now it is too old "
                f"for {words.day(last)}, buy later"
            )
        said.append(text)
    opened = storage.shelf_life_opened
    apart = None if first is None or last is None else last - first
    if opened is not None and apart is not None and apart > timedelta(hours=opened):
        said.append(
            f"once opened it keeps {_long(opened)}, and the last coat is later: buy it in two tins"
        )
    for tin in tins:
        said.append(_aboard(tin, storage, last or words.now, words))
    return said


def _long(hours: float) -> str:
    """A shelf life: '2 years', '6 months', '10 days'."""
    days = hours / 24.0
    for one, many, length in (("year", "years", 365.0), ("month", "months", 30.4)):
        count = round(days / length)
        if count >= 1 and abs(days / length - count) < 0.05:
            return f"{count} {one if count == 1 else many}"
    return f"{days:.0f} days" if days >= 2.0 else f"{hours:.0f} hours"


def _between(storage: Storage, words: Wording) -> str:
    low = None if storage.min is None else words.temp(storage.min)
    high = None if storage.max is None else words.temp(storage.max)
    if low and high:
        return f"between {low} and {high}"
    return f"above {low}" if low else f"below {high}"


def _aboard(tin: Tin, storage: Storage, used: datetime, words: Wording) -> str:
    where = f"in the {tin.space}" if tin.space else "not aboard"
    ends = [
        since + timedelta(hours=life)
        for since, life in (
            (tin.bought, storage.shelf_life),
            (tin.opened, storage.shelf_life_opened),
        )
        if since is not None and life is not None
    ]
    if not ends:
        return f"there is a tin already ({where}): see how much is left in it and how old it is"
    end: date = min(ends)
    if end < words.local(used).date():
        return (
            f"the tin there is ({where}) is past its time on {end.isoformat()}: do not count on it"
        )
    return f"there is a tin already ({where}), good until {end.isoformat()}: see what is left in it"
