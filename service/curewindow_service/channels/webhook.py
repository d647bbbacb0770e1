"""A plain webhook: one JSON object by POST, with a key by which a second copy can be told."""

from __future__ import annotations

import base64
import contextlib
import http.client
import json
import ssl
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from urllib.parse import SplitResult, unquote, urlsplit

from curewindow import __version__
from curewindow_service.channels.deadline import STEP_S, WHOLE_S, deadline
from curewindow_service.channels.message import HandingOver, Message, Outcome

_PASSING = (408, 409, 425, 429)


def problem_with(address: str) -> str:
    """What is wrong with an address; '' where nothing is."""
    try:
        parts = urlsplit(address)
        _ = parts.port
    except ValueError:
        return "not an address of the form https://host/path"
    return "" if parts.hostname else "the address names no host"


def send_webhook(
    address: str,
    message: Message,
    handing_over: HandingOver,
    *,
    step_s: float = STEP_S,
    whole_s: float = WHOLE_S,
) -> Outcome:
    """Post one notice.

    Any 2xx is taken as received. The header ``Idempotency-Key`` is the same for every
    attempt: a receiver that keeps it takes each notice once.
    """
    parts = urlsplit(address)
    body = json.dumps(
        {
            "boat": message.boat,
            "key": message.key,
            "kind": message.kind,
            "level": message.level,
            "title": message.title,
            "body": message.body,
            "due": message.due.isoformat(),
        },
        ensure_ascii=False,
    ).encode()
    client = _client(parts, step_s)
    given = False
    try:
        with deadline(lambda: client.sock, whole_s):
            client.connect()
            handing_over()
            given = True
            path = parts.path or "/"
            client.request(
                "POST",
                f"{path}?{parts.query}" if parts.query else path,
                body=body,
                headers=_headers(parts, message),
            )
            answer = client.getresponse()
            status, said = answer.status, f"{answer.status} {answer.reason}".strip()
            pause = _retry_after(answer.getheader("Retry-After"))
    except (http.client.HTTPException, OSError, ValueError) as bad:
        why = "no answer in time" if isinstance(bad, TimeoutError) else _why(bad)
        return Outcome("later", why, doubt=given, reachable=False)
    finally:
        with contextlib.suppress(OSError):
            client.close()
    if 200 <= status < 300:
        return Outcome("sent", said)
    if status >= 500 or status in _PASSING:
        return Outcome("later", said, pause=pause)
    return Outcome("refused", said)


def _client(parts: SplitResult, step_s: float) -> http.client.HTTPConnection:
    host = parts.hostname or ""
    if parts.scheme.lower() == "https":
        context = ssl.create_default_context()
        return http.client.HTTPSConnection(host, parts.port, timeout=step_s, context=context)
    return http.client.HTTPConnection(host, parts.port, timeout=step_s)


def _headers(parts: SplitResult, message: Message) -> dict[str, str]:
    headers = {
        "Content-Type": "application/json; charset=utf-8",
        "Idempotency-Key": message.message_id,
        "User-Agent": f"curewindow/{__version__}",
    }
    if parts.username is not None:
        pair = f"{unquote(parts.username)}:{unquote(parts.password or '')}".encode()
        headers["Authorization"] = f"Basic {base64.b64encode(pair).decode()}"
    return headers


def _retry_after(written: str | None) -> timedelta | None:
    if written is None:
        return None
    try:
        return timedelta(seconds=max(int(written), 0))
    except ValueError:
        pass
    try:
        return max(parsedate_to_datetime(written) - datetime.now(UTC), timedelta(0))
    except (TypeError, ValueError):
        return None


def _why(bad: BaseException) -> str:
    if isinstance(bad, OSError) and bad.strerror:
        return bad.strerror
    return str(bad) or type(bad).__name__
