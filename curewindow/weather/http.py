"""One GET: time-out, name of the asker, bounded retries, Retry-After, conditional requests.

httpx and tenacity are imported when a request is really made: an answer from
the cache costs neither.
"""

from __future__ import annotations

import json
import logging
import os
import re
import time
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import Any

import curewindow
from curewindow.boat.addresses import holds_secret
from curewindow.errors import WeatherError
from curewindow.weather.wire import Hush, TooLongError, whole_response

log = logging.getLogger(__name__)

_ERRNO = re.compile(r"^\[Errno -?\d+\] ")

ATTEMPTS = 3
LONGEST_WAIT_S = 10.0
"""Longest pause taken between attempts; a service that asks for more gets its peace."""
LONGEST_PEACE_S = 30 * 86400.0
"""Beyond this a Retry-After is a slip."""
CONTACT_VARIABLE = "CUREWINDOW_CONTACT"
JSON = "application/json"


class NoAnswerError(WeatherError):
    """The service gave no usable answer.

    Parameters
    ----------
    reason : str
        What happened, one line, without the name of the service.
    retry_after_s : float, optional
        How long the service asks to be left alone.
    passing : bool
        Is it worth another attempt at once?
    status : int, optional
        The status it answered with.
    unreached : str
        Why it was never reached; '' where it was.
    """

    def __init__(
        self,
        reason: str,
        *,
        retry_after_s: float | None = None,
        passing: bool = False,
        status: int | None = None,
        unreached: str = "",
    ):
        self.reason = reason
        self.unreached = unreached
        self.retry_after_s = retry_after_s
        self.passing = passing
        self.status = status
        super().__init__(reason)


@dataclass(frozen=True, slots=True)
class Reply:
    """What came back: 200, 203 or 304."""

    status: int
    headers: Mapping[str, str]
    text: str


def user_agent() -> str:
    """Name the program, its version and, if the owner set one, a contact address.

    Weather services ask for a way to reach whoever runs a misbehaving program.
    ``CUREWINDOW_CONTACT`` holds an e-mail or web address; none is made up.

    Raises
    ------
    WeatherError
        It holds a password, which would go to whoever is asked.
    """
    # A header is one line of ASCII.
    contact = " ".join(os.environ.get(CONTACT_VARIABLE, "").split())
    contact = contact.encode("ascii", "replace").decode()
    if holds_secret(contact):
        raise WeatherError(
            f"{CONTACT_VARIABLE} holds a password or a token, and weather services are told it; "
            "set it to an e-mail or web address alone"
        )
    return f"curewindow/{curewindow.__version__}" + (f" {contact}" if contact else "")


def get(
    url: str,
    *,
    timeout_s: float,
    last_modified: str | None = None,
    etag: str | None = None,
    accept: str = JSON,
    key: str = "",
) -> Reply:
    """Ask for a document.

    Parameters
    ----------
    url : str
        The whole address.
    timeout_s : float
        For connecting, and again for each silence while reading.
    last_modified, etag : str, optional
        From the last answer, to be told 304 when nothing has changed.
    accept : str
        Media type wanted.
    key : str
        'name=value' of a secret, added to the query only on the wire: it is in no
        log, no error and no kept file.

    Returns
    -------
    Reply
        Status 200, 203 (a deprecated version of the service) or 304.

    Raises
    ------
    NoAnswerError
        Anything else, after up to three attempts where another can help.
    """
    import tenacity

    headers = {"User-Agent": user_agent(), "Accept": accept}
    if last_modified:
        headers["If-Modified-Since"] = last_modified
    if etag:
        headers["If-None-Match"] = etag
    jitter = tenacity.wait_random_exponential(multiplier=0.5, max=4.0)

    def pause_s(state: tenacity.RetryCallState) -> float:
        failure = state.outcome.exception() if state.outcome else None
        asked = failure.retry_after_s if isinstance(failure, NoAnswerError) else None
        return float(jitter(state)) if asked is None else asked

    attempts = tenacity.Retrying(
        retry=tenacity.retry_if_exception(lambda e: isinstance(e, NoAnswerError) and e.passing),
        stop=tenacity.stop_after_attempt(ATTEMPTS),
        wait=pause_s,
        sleep=_sleep,
        reraise=True,
    )
    reply: Reply = attempts(_get_once, url, headers, timeout_s, key)
    return reply


def parse_json(text: str) -> dict[str, Any]:
    """Read a JSON object out of an answer.

    Raises
    ------
    NoAnswerError
        It is a web page (a network that wants a log-in first), broken or not an object.
    """
    try:
        body = json.loads(text)
    except (ValueError, RecursionError):
        if text.lstrip()[:1] == "<":
            raise NoAnswerError(
                "a web page came instead of a forecast; does the network want a log-in first?"
            ) from None
        raise NoAnswerError("the answer is not whole JSON") from None
    if not isinstance(body, dict):
        raise NoAnswerError(f"the answer is a JSON {type(body).__name__}, not an object")
    return body


def _sleep(seconds: float) -> None:
    time.sleep(seconds)


def _get_once(url: str, headers: Mapping[str, str], timeout_s: float, key: str = "") -> Reply:
    import httpx

    whole = f"{url}{'&' if '?' in url else '?'}{key}" if key else url
    hush = Hush(key)
    loggers = [logging.getLogger(name) for name in ("httpx", "httpcore.http11")]
    for logger in loggers:
        logger.addFilter(hush)
    try:
        return _answered(httpx, url, whole, headers, timeout_s, hush)
    except NoAnswerError as bad:
        bad.reason = hush.said(bad.reason)
        bad.args = (bad.reason,)
        raise
    finally:
        for logger in loggers:
            logger.removeFilter(hush)


def _answered(
    httpx: Any, url: str, whole: str, headers: Mapping[str, str], timeout_s: float, hush: Hush
) -> Reply:
    try:
        response = whole_response(httpx, whole, headers, timeout_s)
    except TooLongError as bad:
        raise NoAnswerError(str(bad)) from None
    except httpx.TimeoutException:
        raise NoAnswerError(f"no answer within {timeout_s:g} s", passing=True) from None
    except httpx.InvalidURL as bad:
        raise NoAnswerError(f"'{url}' is not an address: {bad}") from None
    except httpx.UnsupportedProtocol:
        raise NoAnswerError(f"'{url}' does not begin with https:// or http://") from None
    except httpx.HTTPError as bad:
        reason = _ERRNO.sub("", _one_line(str(bad))) or type(bad).__name__
        raise NoAnswerError(
            f"it cannot be reached: {reason}", passing=True, unreached=reason
        ) from None
    status = response.status_code
    log.debug("GET %s: %d, %d bytes", url, status, len(response.content))
    if status in (200, 203, 304):
        low = {name.lower(): value for name, value in response.headers.items()}
        return Reply(status, low, response.text)
    asked = retry_after_s(response.headers.get("Retry-After"))
    short = asked is not None and asked <= LONGEST_WAIT_S
    said = _said(hush.said(response.text))
    if status == 429:
        raise NoAnswerError(
            f"it asks for fewer requests (429{said})",
            retry_after_s=asked,
            passing=short,
            status=status,
        )
    if status >= 500:
        raise NoAnswerError(
            f"it has a fault (status {status}{said})",
            retry_after_s=asked,
            passing=asked is None or short,
            status=status,
        )
    if status == 403:
        raise NoAnswerError(
            f"it refuses (status 403{said}); set {CONTACT_VARIABLE} to your e-mail or web address",
            status=status,
        )
    raise NoAnswerError(f"it does not accept the request (status {status}{said})", status=status)


def retry_after_s(value: str | None) -> float | None:
    """Seconds a Retry-After header asks for: a number or a date (RFC 9110, 10.2.3)."""
    if not value:
        return None
    if value.isascii() and value.strip().isdigit():
        return min(float(value), LONGEST_PEACE_S)
    try:
        moment = parsedate_to_datetime(value)
    except ValueError:
        return None
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=UTC)
    return min(max(0.0, (moment - datetime.now(UTC)).total_seconds()), LONGEST_PEACE_S)


def _said(text: str) -> str:
    """The service's own words about an error, cut to one short line."""
    try:
        body = json.loads(text)
        found = body if isinstance(body, dict) else {}
        # 'reason' is Open-Meteo's; 'detail' and 'title' are those of a problem (RFC 9457).
        words = next((str(found[k]) for k in ("reason", "detail", "title") if found.get(k)), "")
    except ValueError:
        words = "" if "<" in text[:200] else text
    words = _one_line(words)
    return f": {words}" if words else ""


def _one_line(text: str, longest: int = 120) -> str:
    line = re.sub(r"\s+", " ", text).strip()
    return line if len(line) <= longest else line[: longest - 1] + "…"
