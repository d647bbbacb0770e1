"""A channel of boat.toml with its address at hand, and how the address is kept to itself."""

from __future__ import annotations

import difflib
import logging
import os
import re
import stat
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal
from urllib.parse import parse_qsl, unquote, urlsplit

from curewindow.boat.folder import BOAT_FILE
from curewindow.boat.service import Channel, Level
from curewindow.errors import BoatError

HIDDEN = "•••"
# Shorter pieces of an address hide too much else, and are no secrets.
_SHORTEST_SECRET = 4
_PUBLIC_QUERY = {"smtp", "mode", "format", "port", "name"}

WayKind = Literal["mail", "webhook", "desktop", "apprise"]


@dataclass(frozen=True, slots=True)
class Destination:
    """A way out. Its address never shows in ``repr``.

    Attributes
    ----------
    name : str
        As in boat.toml.
    level : str
        Notices of this level and above go out this way.
    kind : str
        Who sends it.
    address : str
        Whole, with its secrets.
    """

    name: str
    level: Level
    kind: WayKind
    address: str = field(repr=False)

    @property
    def shown(self) -> str:
        """The address as it may be shown: 'mailtos://•••'."""
        scheme, colon, _ = self.address.partition(":")
        return self.address if self.kind == "desktop" else f"{scheme}{colon}//{HIDDEN}"

    def redact(self, text: str) -> str:
        """A text without any part of the address that may be a secret."""
        return redact(text, secrets_of(self.address))


def read_destinations(
    channels: Sequence[Channel], folder: Path, environ: Mapping[str, str] | None = None
) -> list[Destination]:
    """All channels of a boat with their addresses.

    Raises
    ------
    BoatError
        An address cannot be had or used: with its key and what would be right.
    """
    return [
        read_destination(each, number, folder, environ) for number, each in enumerate(channels, 1)
    ]


def read_destination(
    channel: Channel, number: int, folder: Path, environ: Mapping[str, str] | None = None
) -> Destination:
    """One channel with its address; see :func:`read_destinations`."""
    given = os.environ if environ is None else environ
    key, file = f"channel[{number}]", folder / BOAT_FILE
    if channel.address_env is not None:
        where = f"{key}.address_env"
        address = given.get(channel.address_env, "").strip()
        if not address:
            close = difflib.get_close_matches(channel.address_env, list(given), n=1, cutoff=0.8)
            hint = f"; did you mean '{close[0]}'?" if close else ""
            raise BoatError(
                f"the environment has no '{channel.address_env}'{hint}", file=file, key=where
            )
    elif channel.address_file is not None:
        where = f"{key}.address_file"
        try:
            address = secret_in_file(Path(os.path.expandvars(channel.address_file)), folder)
        except UnusableError as bad:
            raise BoatError(str(bad), file=file, key=where) from None
    else:
        where, address = f"{key}.address", channel.address or ""
    way = Destination(channel.name, channel.level, _kind_of(address), address)
    problem = _problem(way)
    if problem:
        raise BoatError(way.redact(problem), file=file, key=where)
    return way


class UnusableError(Exception):
    """A file that cannot be taken as an address."""


def secret_in_file(path: Path, folder: Path) -> str:
    """The first line of a file that nobody else can read."""
    whole = path.expanduser() if path.is_absolute() else folder / path.expanduser()
    try:
        with whole.open(encoding="utf-8") as opened:
            # the file that was opened, not what stands under its name a moment later
            about = os.fstat(opened.fileno())
            if os.name == "posix":
                if not stat.S_ISREG(about.st_mode):
                    raise UnusableError(f"{whole} is no plain file")
                if about.st_mode & 0o077:
                    mode = stat.S_IMODE(about.st_mode)
                    raise UnusableError(
                        f"others may read {whole} (mode {mode:04o}); first: chmod 600 {whole}"
                    )
                if about.st_uid not in (os.geteuid(), 0):
                    raise UnusableError(f"{whole} belongs to another user of this machine")
            lines = [line.strip() for line in opened.read(10_000).splitlines()]
    except FileNotFoundError:
        raise UnusableError(f"there is no file {whole}") from None
    except UnicodeDecodeError:
        raise UnusableError(f"{whole} is not UTF-8 text") from None
    except OSError as bad:
        raise UnusableError(f"{whole} cannot be read: {bad.strerror}") from None
    address = next((line for line in lines if line and not line.startswith("#")), "")
    if not address:
        raise UnusableError(f"{whole} is empty; its first line is the address")
    return address


def _kind_of(address: str) -> WayKind:
    scheme = address.partition(":")[0].lower()
    if scheme in ("mailto", "mailtos"):
        return "mail"
    if scheme in ("http", "https"):
        return "webhook"
    return "desktop" if scheme == "desktop" else "apprise"


def _problem(way: Destination) -> str:
    """What is wrong with an address, without sending anything; '' where nothing is."""
    if way.kind == "mail":
        from curewindow_service.channels.mail import read_mailbox

        try:
            read_mailbox(way.address)
        except ValueError as bad:
            return str(bad)
    elif way.kind == "webhook":
        from curewindow_service.channels.webhook import problem_with

        return problem_with(way.address)
    elif way.kind == "apprise":
        from curewindow_service.channels.apprised import problem_with as apprise_problem

        return apprise_problem(way.address)
    return ""


# ---- keeping secrets -------------------------------------------------------------


def secrets_of(address: str) -> list[str]:
    """The parts of an address that may be secrets, longest first."""
    found = {address}
    try:
        parts = urlsplit(address)
        kind = _kind_of(address)
        if parts.password:
            found |= {parts.password, unquote(parts.password)}
        if parts.username and kind != "mail":
            found |= {parts.username, unquote(parts.username)}
        if kind == "apprise":
            # many services have their token where others have host and port
            found |= {unquote(piece) for piece in re.split("[:@]", parts.netloc)}
            found |= set(re.split("[:@]", parts.netloc))
        found |= set(parts.path.split("/"))
        found |= (
            {value for name, value in parse_qsl(parts.query) if name not in _PUBLIC_QUERY}
            if kind != "mail"
            else {value for name, value in parse_qsl(parts.query) if name in ("pass", "password")}
        )
    except ValueError:
        pass
    kept = {piece for piece in found if len(piece) >= _SHORTEST_SECRET}
    return sorted(kept, key=len, reverse=True)


def redact(text: str, secrets: Iterable[str]) -> str:
    """A text with every secret in it hidden."""
    for secret in secrets:
        text = text.replace(secret, HIDDEN)
    return text


class RedactingFormatter(logging.Formatter):
    """Lays out a log line as another formatter does, then hides what must not be read."""

    def __init__(self, inner: logging.Formatter, secrets: Iterable[str]) -> None:
        super().__init__()
        self.inner = inner
        self.secrets = sorted(set(secrets), key=len, reverse=True)

    def format(self, record: logging.LogRecord) -> str:
        """The line, tracebacks included, without secrets."""
        return redact(self.inner.format(record), self.secrets)


def keep_from_logs(ways: Iterable[Destination]) -> None:
    """Have every handler of the root logger hide the addresses of these ways."""
    secrets = [secret for way in ways for secret in secrets_of(way.address)]
    for handler in logging.getLogger().handlers:
        inner = handler.formatter or logging.Formatter()
        while isinstance(inner, RedactingFormatter):
            inner = inner.inner
        handler.setFormatter(RedactingFormatter(inner, secrets))


def one_line(text: str, longest: int = 200) -> str:
    """A text of the other side on one line, cut short."""
    line = re.sub(r"\s+", " ", text).strip()
    return line if len(line) <= longest else line[: longest - 1] + "…"
