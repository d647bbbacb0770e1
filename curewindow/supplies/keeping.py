"""Whether a product keeps: frost, shelf life, and tins that are aboard already."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, time, timedelta

from curewindow.boat.service import Tin
from curewindow.findings import Finding, finding
from curewindow.rules.tins import good_until
from curewindow.sheets.schema import Storage
from curewindow.wording import Wording


def keeping_of(
    storage: Storage,
    tins: Sequence[Tin],
    first: datetime | None,
    last: datetime | None,
    words: Wording,
) -> list[Finding]:
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
    said: list[Finding] = []
    if storage.frost_spoils:
        said.append(finding("keep from frost"))
    if storage.min is not None or storage.max is not None:
        said.append(finding("keep between", temp_c=storage.min, other_temp_c=storage.max))
    if storage.shelf_life is not None:
        if last is not None and last - words.now > timedelta(hours=storage.shelf_life):
            said.append(finding("too old by then", hours=storage.shelf_life, at=last))
        else:
            said.append(finding("keeps unopened", hours=storage.shelf_life))
    opened = storage.shelf_life_opened
    apart = None if first is None or last is None else last - first
    if opened is not None and apart is not None and apart > timedelta(hours=opened):
        said.append(finding("two tins", hours=opened))
    return [*said, *(_aboard(tin, storage, last or words.now, words) for tin in tins)]


def _aboard(tin: Tin, storage: Storage, used: datetime, words: Wording) -> Finding:
    space = tin.aboard_in
    end = good_until(tin, storage)
    if end is None:
        return finding("tin there", space=space)
    noon = datetime.combine(end, time(12), words.zone)
    if end < words.local(used).date():
        return finding("tin too old", space=space, at=noon)
    return finding("tin there", space=space, until=noon)
