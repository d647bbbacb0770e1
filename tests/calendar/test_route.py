"""The calendar under the page's address."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import httpx
from curewindow_service.page import PageSettings
from curewindow_service.page.app import create_app

HOME = "http://127.0.0.1"
NOW = datetime(2026, 11, 25, 7, tzinfo=UTC)
BOAT = """
format = 1
name = "Tin Heron"
[place]
latitude = 52.2
longitude = 5.4
time_zone = "Europe/Amsterdam"
[[space]]
name = "saloon"
logged_only = true
"""


def test_subscribed(
    tmp_path: Path,
    sheet_at: Callable[..., Any],
    ahead: Callable[..., Any],
    window: Callable[..., Any],
    read: Callable[[bytes], list[Any]],
) -> None:
    (tmp_path / "boat.toml").write_text(BOAT, encoding="utf-8")
    app = create_app(
        tmp_path, clock=lambda: NOW, settings=PageSettings(token="a long enough token")
    )
    site = app.state.site

    def get(path: str, **headers: str) -> httpx.Response:
        async def asked() -> httpx.Response:
            transport = httpx.ASGITransport(app)
            async with httpx.AsyncClient(transport=transport, base_url=HOME) as client:
                return await client.get(path, headers=headers)

        return asyncio.run(asked())

    key = site.keys.calendar_key()
    address = f"/calendar.ics?key={key}"
    assert get("/calendar.ics").status_code == 401
    assert get(address).status_code == 503  # nothing worked out yet, so nothing called off

    def worked(now: datetime, opens: datetime) -> SimpleNamespace:
        windows = [window(opens, opens + timedelta(hours=3))]
        return SimpleNamespace(sheet=sheet_at(now), windows=ahead(now, windows))

    site.current.worked = worked(NOW, NOW + timedelta(days=1))
    first = get(address)
    assert first.headers["content-type"] == "text/calendar; charset=utf-8"
    (event,) = read(first.content)
    again = get(address, **{"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")

    site.current.worked = worked(NOW + timedelta(hours=1), NOW + timedelta(days=1, hours=2))
    other = get(address, **{"if-none-match": first.headers["etag"]})
    (moved,) = read(other.content)
    assert (moved.uid, moved.sequence) == (event.uid, 1)
