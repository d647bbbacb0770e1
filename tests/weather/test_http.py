"""One GET: what each status and each fault becomes, and how often it is tried."""

from __future__ import annotations

import re
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime

import httpx
import pytest
import respx

import curewindow
from curewindow.weather import http

URL = "https://feed.example/forecast?lat=52"


@pytest.fixture
def pauses(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    taken: list[float] = []
    monkeypatch.setattr(http, "_sleep", taken.append)
    return taken


@respx.mock
def test_200_with_name_and_version(pauses: list[float]) -> None:
    route = respx.get(URL).respond(200, json={"a": 1}, headers={"ETag": '"x"'})
    reply = http.get(URL, timeout_s=3.0)
    assert reply.status == 200
    assert http.parse_json(reply.text) == {"a": 1}
    assert reply.headers["etag"] == '"x"'
    sent = route.calls.last.request
    assert sent.headers["User-Agent"] == f"curewindow/{curewindow.__version__}"
    assert "If-Modified-Since" not in sent.headers
    assert not pauses


@respx.mock
def test_the_owner_may_name_a_contact(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CUREWINDOW_CONTACT", "skipper@boat.example\r\nX-Evil: ü")
    route = respx.get(URL).respond(200, json={})
    http.get(URL, timeout_s=3.0)
    agent = route.calls.last.request.headers["User-Agent"]
    assert agent.startswith(f"curewindow/{curewindow.__version__} skipper@boat.example")
    assert "\n" not in agent


@respx.mock
def test_304_after_a_conditional_request(pauses: list[float]) -> None:
    route = respx.get(URL).respond(304)
    stamp = "Tue, 07 Jan 2025 08:00:00 GMT"
    reply = http.get(URL, timeout_s=3.0, last_modified=stamp, etag='"x"')
    assert reply.status == 304
    assert route.calls.last.request.headers["If-Modified-Since"] == stamp
    assert route.calls.last.request.headers["If-None-Match"] == '"x"'


@pytest.mark.parametrize(
    ("status", "body", "says"),
    [
        (400, '{"error":true,"reason":"Latitude must be in range"}', "Latitude must be in range"),
        (404, "<h1>Not here</h1>", r"status 404\)$"),
        (422, "outside the area", "outside the area"),
        (403, "", "CUREWINDOW_CONTACT"),
    ],
)
@respx.mock
def test_a_refusal_is_not_repeated(status: int, body: str, says: str, pauses: list[float]) -> None:
    route = respx.get(URL).respond(status, text=body)
    with pytest.raises(http.NoAnswerError, match=says) as caught:
        http.get(URL, timeout_s=3.0)
    assert str(status) in str(caught.value)
    assert "\n" not in str(caught.value)
    assert route.call_count == 1
    assert not pauses


@respx.mock
def test_429_with_a_short_retry_after_is_waited_for(pauses: list[float]) -> None:
    respx.get(URL).mock(
        side_effect=[
            httpx.Response(429, headers={"Retry-After": "4"}),
            httpx.Response(200, json={}),
        ]
    )
    assert http.get(URL, timeout_s=3.0).status == 200
    assert pauses == [4.0]


@respx.mock
def test_429_with_a_long_retry_after_is_left_alone(pauses: list[float]) -> None:
    route = respx.get(URL).respond(429, headers={"Retry-After": "1800"})
    with pytest.raises(http.NoAnswerError) as caught:
        http.get(URL, timeout_s=3.0)
    assert caught.value.retry_after_s == 1800.0
    assert route.call_count == 1
    assert not pauses


@respx.mock
def test_429_without_retry_after_is_not_repeated(pauses: list[float]) -> None:
    route = respx.get(URL).respond(429, json={"reason": "too many", "error": True})
    with pytest.raises(http.NoAnswerError, match=r"fewer requests \(429: too many"):
        http.get(URL, timeout_s=3.0)
    assert route.call_count == 1


@respx.mock
def test_5xx_is_tried_three_times_with_jitter(pauses: list[float]) -> None:
    route = respx.get(URL).respond(502, text="<html>Bad gateway</html>")
    with pytest.raises(http.NoAnswerError, match=r"^it has a fault \(status 502\)$"):
        http.get(URL, timeout_s=3.0)
    assert route.call_count == http.ATTEMPTS == 3
    assert len(pauses) == 2
    assert all(0.0 <= pause <= 4.0 for pause in pauses)


@respx.mock
def test_5xx_then_well(pauses: list[float]) -> None:
    respx.get(URL).mock(side_effect=[httpx.Response(503), httpx.Response(200, json={})])
    assert http.get(URL, timeout_s=3.0).status == 200


@pytest.mark.parametrize(
    ("fault", "says"),
    [
        (httpx.ReadTimeout("slow"), "no answer within 3 s"),
        (httpx.ConnectTimeout("slow"), "no answer within 3 s"),
        (httpx.ConnectError("no route to host"), "cannot be reached: no route to host"),
        (httpx.RemoteProtocolError(""), "cannot be reached: RemoteProtocolError"),
    ],
)
@respx.mock
def test_faults_of_the_line_are_tried_again(
    fault: Exception, says: str, pauses: list[float]
) -> None:
    route = respx.get(URL).mock(side_effect=fault)
    with pytest.raises(http.NoAnswerError, match=says):
        http.get(URL, timeout_s=3.0)
    assert route.call_count == 3


@pytest.mark.parametrize(
    "url", ["feed.example/x", "ftp://feed.example/x", "https://feed.example:port/x"]
)
def test_an_address_that_is_none(url: str, pauses: list[float]) -> None:
    with pytest.raises(http.NoAnswerError, match=re.escape(url)):
        http.get(url, timeout_s=3.0)
    assert not pauses


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("\n <!doctype html><html>", "log-in"),
        ('{"hourly": {"time": [1, 2', "not whole JSON"),
        ("", "not whole JSON"),
        ("[1]", "JSON list"),
        ('"fine"', "JSON str"),
    ],
)
def test_what_is_no_forecast(text: str, says: str) -> None:
    with pytest.raises(http.NoAnswerError, match=says):
        http.parse_json(text)


def test_retry_after_forms() -> None:
    soon = format_datetime(datetime.now(UTC) + timedelta(seconds=60), usegmt=True)
    assert http.retry_after_s("30") == 30.0
    assert http.retry_after_s(soon) == pytest.approx(60.0, abs=3.0)
    assert http.retry_after_s("Wed, 01 Jan 2020 00:00:00 GMT") == 0.0
    assert http.retry_after_s("shortly") is None
    assert http.retry_after_s(None) is None


def test_weather_alone_imports_neither_httpx_nor_tenacity() -> None:
    code = (
        "import sys, curewindow.weather;"
        "print([m for m in ('httpx', 'tenacity', 'pandas', 'platformdirs') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
