"""Who may come in: signed session cookies, form tokens, and the limit on wrong logins."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

LASTS_S = 30 * 86400
"""A device stays logged in so long [s]."""
TRIES, PERIOD_S = 5, 300.0
"""Wrong tokens from one address in so many seconds, before it has to wait."""
ALL_TRIES = 40
"""The same from all addresses together."""


@dataclass(frozen=True, slots=True)
class Session:
    """One device. ``known``: it has entered the token (or none is asked for)."""

    id: str
    issued: int
    known: bool


@dataclass(slots=True)
class Keys:
    """Signs sessions and form tokens; nothing is kept of them here but what was logged out.

    Parameters
    ----------
    token : str or None
        The page's token. Keys follow from it: sessions outlive a restart, and another
        token ends them all. Without one, sessions last as long as the process.
    now : callable
        Seconds since the epoch.
    """

    token: str | None
    now: Callable[[], float] = time.time
    _key: bytes = b""
    _ended: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        told = secrets.token_bytes(32) if self.token is None else self.token.encode()
        self._key = hashlib.pbkdf2_hmac("sha256", told, b"curewindow page", 100_000)

    def is_token(self, given: str) -> bool:
        """Is it the page's token? Takes as long for a near miss as for a far one."""
        return self.token is not None and hmac.compare_digest(
            given.strip().encode(), self.token.encode()
        )

    def begin(self, *, known: bool) -> Session:
        """A new session."""
        return Session(secrets.token_urlsafe(18), int(self.now()), known)

    def written(self, session: Session) -> str:
        """The cookie's value."""
        body = f"{session.id}.{session.issued}.{int(session.known)}"
        return f"{body}.{self._mac('session', body)}"

    def read(self, cookie: str | None) -> Session | None:
        """The session of a cookie; None where it is not ours, too old or logged out."""
        parts = (cookie or "").rsplit(".", 1)
        if len(parts) != 2 or not hmac.compare_digest(
            parts[1].encode(), self._mac("session", parts[0]).encode()
        ):
            return None
        name, issued, known = parts[0].split(".")
        age = self.now() - int(issued)
        if name in self._ended or not -60.0 <= age <= LASTS_S:
            return None
        return Session(name, int(issued), known == "1")

    def end(self, session: Session) -> None:
        """Log out: the cookie is worth nothing from now on."""
        oldest = self.now() - LASTS_S
        self._ended = {name: at for name, at in self._ended.items() if at > oldest}
        self._ended[session.id] = session.issued

    def form_token(self, session: Session) -> str:
        """What a form has to bring back: only pages of this session know it."""
        return self._mac("form", session.id)

    def is_form_token(self, session: Session | None, given: str) -> bool:
        """Does this form come from a page of this session?"""
        return session is not None and hmac.compare_digest(
            given.encode(), self.form_token(session).encode()
        )

    def calendar_key(self) -> str | None:
        """What a calendar program shows instead of the token: good for the calendar alone."""
        return None if self.token is None else self._mac("calendar", "")[:32]

    def is_calendar_key(self, given: str) -> bool:
        """Is it the calendar's key?"""
        key = self.calendar_key()
        return key is not None and hmac.compare_digest(given.encode(), key.encode())

    def _mac(self, use: str, text: str) -> str:
        return hmac.new(self._key, f"{use}:{text}".encode(), hashlib.sha256).hexdigest()


@dataclass(slots=True)
class WrongTries:
    """Counts wrong tokens; whoever has guessed too often has to wait."""

    now: Callable[[], float] = time.monotonic
    _by_address: dict[str, deque[float]] = field(default_factory=dict)
    _all: deque[float] = field(default_factory=deque)

    def wait_s(self, address: str) -> int:
        """Seconds until this address may try again; 0: now."""
        own = self._by_address.get(address, deque())
        waits = [self._wait(own, TRIES), self._wait(self._all, ALL_TRIES)]
        return round(max(waits) + 0.5) if max(waits) > 0.0 else 0

    def wrong(self, address: str) -> None:
        """One more."""
        if len(self._by_address) > 10_000:
            self._by_address.clear()  # their sum still holds
        for tries in (self._by_address.setdefault(address, deque()), self._all):
            tries.append(self.now())

    def right(self, address: str) -> None:
        """The token was right: earlier slips are forgotten."""
        self._by_address.pop(address, None)

    def _wait(self, tries: deque[float], most: int) -> float:
        while tries and tries[0] <= self.now() - PERIOD_S:
            tries.popleft()
        return tries[-most] + PERIOD_S - self.now() if len(tries) >= most else 0.0
