"""Every way a feed is known to fail, against every feed: the line and the envelope.

Each ends in one line of WeatherError or in data that are marked for what they are:
never a traceback, a wrong unit, an unmarked wrong value or an old forecast as if new.
Mostly through real sockets. What stands in the body: ``test_failures_body.py``.
"""

from __future__ import annotations

import gzip
import json
import time
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest
import respx

from curewindow.errors import WeatherError
from curewindow.weather import get_forecast, http
from tests.voiced import said
from tests.weather.conftest import (
    FEEDS,
    LATER,
    MARKED,
    NOW,
    REFUSED,
    TIMEOUT_S,
    boat,
    body_of,
    one_line,
    path_of,
    sound,
)


@pytest.fixture(autouse=True)
def no_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(http, "_sleep", lambda seconds: None)


def _http(body: bytes, *headers: str, length: int | None = None, status: str = "200 OK") -> bytes:
    size = len(body) if length is None else length
    lines = [f"HTTP/1.1 {status}", f"Content-Length: {size}", "Connection: close", *headers]
    return "\r\n".join(lines).encode() + b"\r\n\r\n" + body


def _gzip_kinds(s: Any, text: str) -> dict[str, list[Any]]:
    packed = gzip.compress(text.encode())
    return {
        "said to be gzip and is not": [
            s(raw=_http(text.encode(), "Content-Encoding: gzip")),
        ],
        "gzip broken off": [s(raw=_http(packed[: len(packed) // 2], "Content-Encoding: gzip"))],
        "gzip with a wrong byte": [
            s(raw=_http(packed[:40] + b"\x00\xff\x00" + packed[43:], "Content-Encoding: gzip"))
        ],
    }


def line_faults(s: Any, text: str) -> dict[str, list[Any]]:
    """Kind -> what is answered, one after the other (the last one for ever)."""
    login = "\n <!DOCTYPE html><html><title>Harbour WiFi</title><form>Log in</form></html>"
    problem = json.dumps({"title": "Service Unavailable", "status": 503, "detail": "Grid\nexpired"})
    return {
        "body cut off": [s(text[: len(text) // 2])],
        "less than announced": [s(raw=_http(text.encode()[:400], length=len(text)))],
        "log-in page with 200": [s(login)],
        "redirect to a log-in page": [s("", 302, {"Location": "/login"})],
        "redirects in a circle": [s("", 301, {"Location": "/round"})],
        "redirect to another protocol": [s("", 302, {"Location": "ftp://feed.example/x"})],
        "redirect to a closed door": [s("", 302, {"Location": "http://127.0.0.1:9/x"})],
        "redirect to what is no address": [s("", 302, {"Location": "http://127.0.0.1:99999/"})],
        "empty": [s("")],
        "204": [s("", 204)],
        "null": [s("null")],
        "a list": [s("[1, 2, 3]")],
        "a word": [s('"sunny"')],
        "a number": [s("451")],
        "no data": [s("{}")],
        "other data": [s({"type": "FeatureCollection", "features": []})],
        "the tables are lists": [s({"hourly": [], "properties": []})],
        "nested beyond reason": [s("[" * 200_000)],
        "a number of 6000 digits": [s('{"hourly": ' + "9" * 6000 + "}")],
        "bytes of no text": [s(raw=_http(b"\xff\xfe\x00\x80" * 20))],
        "NUL bytes": [s("\x00" * 64)],
        "not HTTP": [s(raw=b"220 mail.example ESMTP ready\r\n")],
        "hung up without a word": [s(raw=b"")],
        "line broken": [s(text, reset=True)],
        "status of no meaning": [s(raw=_http(b"?", status="999 Odd"))],
        "header of no length": [s(raw=b"HTTP/1.1 200 OK\r\nContent-Length: x\r\n\r\n{}")],
        "not modified, of nothing": [s("", 304)],
        "bad request": [s('{"error": true, "reason": "Bad\\nlatitude"}', 400)],
        "unauthorised": [s("", 401)],
        "refused": [s("", 403)],
        "not there": [s("<h1>404</h1>", 404)],
        "gone": [s("", 410)],
        "too many, wait 30 min": [s("", 429, {"Retry-After": "1800"})],
        "too many, wait until": [s("", 429, {"Retry-After": "Wed, 01 Jan 2099 00:00:00 GMT"})],
        "too many, wait 'soon'": [s("", 429, {"Retry-After": "soon"})],
        "too many, wait -5": [s("", 429, {"Retry-After": "-5"})],
        "too many, wait for ever": [s("", 429, {"Retry-After": "9" * 400})],
        "too many, wait 1.5": [s("", 429, {"Retry-After": "1.5"})],
        "500": [s("", 500)],
        "502 with a page": [s("<html>Bad gateway</html>", 502)],
        "503 with a problem": [s(problem, 503, {"Content-Type": "application/problem+json"})],
        "503, wait": [s("", 503, {"Retry-After": "600"})],
        "silent": [s(text, delay_s=3 * TIMEOUT_S)],
        **_gzip_kinds(s, text),
    }


class _Recorder:
    """Stands in for Scripted where only the names of the kinds are wanted."""

    def __init__(self, *args: Any, **kwargs: Any):
        pass


LINE_KINDS = sorted(line_faults(_Recorder, "{}"))


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("kind", LINE_KINDS)
def test_the_line_and_the_envelope(
    replay: Any, replay_module: Any, feed: str, kind: str, tmp_path: Path
) -> None:
    scripted, path = replay_module.Scripted, path_of(replay_module, feed)
    replay.weather(NOW)
    replay.script("/login", scripted("<html>Log in</html>"))
    replay.script("/round", scripted("", 301, {"Location": "/round"}))
    text = json.dumps(body_of(replay_module, feed))
    own = boat(replay.base_address, feed)
    replay.script(path, *line_faults(scripted, text)[kind])
    with pytest.raises(WeatherError) as caught:
        get_forecast(own, tmp_path, NOW)
    one_line(caught)
    # Then it answers well, then fails again: the good answer stays, and its age is said.
    replay.weather(NOW)
    good = get_forecast(own, tmp_path / "other", NOW, cache_dir=tmp_path / "other")
    replay.script(path, *line_faults(scripted, text)[kind])
    stale = get_forecast(own, tmp_path, LATER, cache_dir=tmp_path / "other")
    sound(stale)
    if kind == "not modified, of nothing":  # now it is of something, and the good answer stands
        assert stale.fetched_at == LATER
        return
    assert stale.fetched_at == NOW
    assert any(note.startswith("the forecast is 3 h old: ") for note in said(stale.notes)), said(
        stale.notes
    )
    assert np.array_equal(stale.temp_c, good.temp_c, equal_nan=True)
    if replay.asked[-1].path == path:
        assert sum(asked.path == path for asked in replay.asked) <= 2 * http.ATTEMPTS + 3


@pytest.mark.parametrize(
    "fault",
    [
        httpx.ConnectError("no route to host"),
        httpx.ConnectTimeout("slow"),
        httpx.ReadTimeout("slow"),
        httpx.PoolTimeout("busy"),
        httpx.ReadError("reset\nby peer"),
        httpx.WriteError(""),
        httpx.RemoteProtocolError("peer closed"),
        httpx.DecodingError("bad gzip"),
        httpx.TooManyRedirects("too many"),
        httpx.ProxyError("407"),
        httpx.UnsupportedProtocol("x"),
        httpx.InvalidURL("x"),
    ],
    ids=lambda fault: type(fault).__name__,
)
@pytest.mark.parametrize("feed", FEEDS)
@respx.mock
def test_faults_of_the_network_library(fault: Exception, feed: str, tmp_path: Path) -> None:
    respx.route().mock(side_effect=fault)
    with pytest.raises(WeatherError) as caught:
        get_forecast(boat("https://feed.example", feed), tmp_path, NOW)
    one_line(caught)


@pytest.mark.parametrize("feed", FEEDS)
def test_nobody_there(feed: str, tmp_path: Path) -> None:
    with pytest.raises(WeatherError) as caught:
        get_forecast(boat("http://127.0.0.1:9", feed), tmp_path, NOW)
    one_line(caught)


def test_a_body_in_drips_is_left(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    """Each drip comes in time, the whole of it never would."""
    body = body_of(replay_module, "met-norway")
    drip = replay_module.Scripted(body, trickle_s=0.8 * TIMEOUT_S)
    replay.script(replay_module.MET_NORWAY, drip)
    began = time.monotonic()
    with pytest.raises(WeatherError, match="not whole after") as caught:
        get_forecast(boat(replay.base_address, "met-norway"), tmp_path, NOW)
    one_line(caught)
    assert time.monotonic() - began < 10 * TIMEOUT_S


def test_a_body_without_end_is_left(
    replay: Any, replay_module: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from curewindow.weather import wire

    monkeypatch.setattr(wire, "MOST_BYTES", 1 << 16)
    packed = gzip.compress(b" " * (1 << 24))  # 16 MB of nothing in 16 kB
    replay.script(
        replay_module.MET_NORWAY,
        replay_module.Scripted(raw=_http(packed, "Content-Encoding: gzip")),
    )
    with pytest.raises(WeatherError, match="is longer than"):
        get_forecast(boat(replay.base_address, "met-norway"), tmp_path, NOW)


def test_enough_kinds() -> None:
    assert len(LINE_KINDS) + len(REFUSED) + len(MARKED) >= 75
