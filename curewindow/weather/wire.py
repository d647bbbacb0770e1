"""One answer off the wire: bounded in time and size, and a key kept out of the log."""

from __future__ import annotations

import functools
import logging
import ssl
import time
from collections.abc import Mapping
from typing import Any
from urllib.parse import unquote_plus

MOST_TIMEOUTS = 6
"""A body that comes in drips is left after this many time-outs in all."""
MOST_BYTES = 32 * 2**20
"""Ten times the largest answer of any feed."""


class TooLongError(Exception):
    """The answer came for too long, or was too long."""


class Hush(logging.Filter):
    """Keeps a key out of what the network library logs."""

    def __init__(self, key: str):
        super().__init__()
        quoted = key.partition("=")[2]
        self.secrets = {quoted, unquote_plus(quoted)} - {""}

    def said(self, text: str) -> str:
        for secret in self.secrets:
            text = text.replace(secret, "…")
        return text

    def filter(self, record: logging.LogRecord) -> bool:
        if self.secrets:
            record.msg, record.args = self.said(record.getMessage()), ()
        return True


@functools.cache
def _trusted(httpx: Any) -> ssl.SSLContext:
    """The library's own certificates, read once: that takes longer than a short answer."""
    context: ssl.SSLContext = httpx.create_ssl_context()
    return context


def whole_response(httpx: Any, url: str, headers: Mapping[str, str], timeout_s: float) -> Any:
    """GET with a bound on the whole time and size; the library's own is for each silence."""
    end = time.monotonic() + MOST_TIMEOUTS * timeout_s
    with httpx.stream(
        "GET",
        url,
        headers=headers,
        timeout=timeout_s,
        follow_redirects=True,
        verify=_trusted(httpx),
    ) as response:
        parts, size = [], 0
        for part in response.iter_bytes():
            parts.append(part)
            size += len(part)
            if size > MOST_BYTES:
                raise TooLongError(f"its answer is longer than {MOST_BYTES // 2**20} MB")
            if time.monotonic() > end:
                raise TooLongError(
                    f"its answer was not whole after {MOST_TIMEOUTS * timeout_s:g} s"
                )
        plain = {
            name: value
            for name, value in response.headers.items()
            if name.lower() not in ("content-encoding", "content-length", "transfer-encoding")
        }
        return httpx.Response(response.status_code, headers=plain, content=b"".join(parts))
