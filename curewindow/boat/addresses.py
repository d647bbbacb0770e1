"""No password stands in a file that is shown, copied and shared: one look for all addresses."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import parse_qsl, urlsplit

from pydantic import BaseModel

from curewindow.errors import InputFileError
from curewindow.handwritten import values_in, without_numbers

# A user's login before the host. Programs read '\' as '/', and pass over tabs and line ends.
_WITH_LOGIN = re.compile(r"[a-z][a-z0-9+.-]*:\s*[/\\]{2}\s*[^/\\?#]*@", re.IGNORECASE)
_MAIL = re.compile(r"^mailtos?://[^:/?#@\s]*@[^@]*$", re.IGNORECASE)
_LOGIN_ALONE = re.compile(r"^[^\s/:@]+:[^\s/@]+@[^\s/@]+(?:[/:?#]\S*)?$")
_TOKEN_KEYS = re.compile(
    r"^(?:.*[-_.])?(?:pass(?:w(?:or)?d)?|pwd|pw|secret|token|api-?_?key|key|auth|sig(?:nature)?)$",
    re.IGNORECASE,
)
_NAME = re.compile(r"^[A-Za-z_][A-Za-z0-9_]*$")

# By the last two keys of where it stands, where the secret belongs.
_BELONGS = {
    "channel.address": (
        "put the address into a file only you can read (address_file) or an environment variable "
        "(address_env)"
    ),
    "weather.base_address": (
        "write the address without it: a service of your own that wants a login is reached "
        "through one that adds it"
    ),
    "mqtt.host": (
        "write the host alone, and 'name:password' into a file only you can read (login_file) or "
        "an environment variable (login_env)"
    ),
    "signal_k.address": (
        "write the address alone, and the token into a file only you can read (token_file) or an "
        "environment variable (token_env)"
    ),
}
_ELSEWHERE = "leave it out: these files are shown, copied and shared"


def holds_password(text: str) -> bool:
    """Does a text hold an address with a login before its host?

    'mailto://me@example.org' names a mailbox and no password.
    """
    return bool(_WITH_LOGIN.search(text) and not _MAIL.match(text))


def holds_secret(address: str) -> bool:
    """Does an address hold a login, or a token behind it?"""
    return bool(
        holds_password(address)
        or _LOGIN_ALONE.match(address)
        or any(_TOKEN_KEYS.match(key) for key in _query_keys(address))
    )


def passwords_in(described: BaseModel) -> list[str]:
    """The keys, dotted, of all texts of a file that hold an address with a login."""
    return [key for key, text in values_in(described, str) if holds_password(text)]


def _query_keys(text: str) -> list[str]:
    if "://" not in text or "?" not in text:
        return []
    try:
        query = urlsplit(text.strip()).query
    except ValueError:
        return []
    return [key for key, value in parse_qsl(query) if value]


def check_no_passwords(
    described: BaseModel, path: Path | None, error: type[InputFileError]
) -> None:
    """Refuse a password in any address of a hand-written file.

    Parameters
    ----------
    described : BaseModel
        What was read.
    path : Path or None
        Its file.
    error : type
        What to raise.

    Raises
    ------
    InputFileError
        With the key and where the secret belongs; never with the secret itself.
    """
    for key, text in values_in(described, str):
        plain = without_numbers(key)
        belongs = _BELONGS.get(plain)
        if plain.endswith("_env") and not _NAME.match(text):
            raise error(
                "is the name of an environment variable, letters, digits and '_', not what it "
                "holds",
                file=path,
                key=key,
            )
        if holds_password(text) if belongs is None else holds_secret(text):
            raise error(
                "an address with a password or a token does not belong here: "
                f"{belongs or _ELSEWHERE}",
                file=path,
                key=key,
            )
