"""How the page is served: to whom, under which names, how often it is worked out anew."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass, field

from curewindow.errors import CurewindowError

LEAST_TOKEN = 16
"""Letters a token has at least: shorter ones can be guessed."""


@dataclass(frozen=True, slots=True)
class PageSettings:
    """Settings of the page; what stands here comes from the run command, never from the page.

    Attributes
    ----------
    token : str or None
        What has to be entered once a device; None: no login, which is for loopback alone.
    network : bool
        Listens beyond this machine.
    hosts : tuple of str
        Names it may be called by, besides this machine's own and plain addresses.
    https : bool
        Stands behind TLS: cookies are then sent over it alone.
    refresh_s : float
        Worked out anew after so many seconds, while somebody looks [s].
    idle_refresh_s : float
        The same while nobody does [s].
    own_process : bool
        Work it out in a process of its own, so that answers stay quick; else in a thread.
    poll_s : float
        How often the files are looked at for changes [s].
    between_s : float
        At least so long from the end of one round to the next [s].

    Raises
    ------
    CurewindowError
        On the network without a token, or with one that can be guessed.
    """

    token: str | None = field(default=None, repr=False)
    network: bool = False
    hosts: tuple[str, ...] = ()
    https: bool = False
    refresh_s: float = 600.0
    idle_refresh_s: float = 3600.0
    own_process: bool = True
    poll_s: float = 2.0
    between_s: float = 3.0

    def __post_init__(self) -> None:
        if self.token is not None and len(self.token) < LEAST_TOKEN:
            raise CurewindowError(
                f"the page's token is too short to be safe: at least {LEAST_TOKEN} letters"
            )
        if self.network and self.token is None:
            raise CurewindowError(
                "the page would be open to everyone on the network: set a token first"
            )

    @property
    def in_clear(self) -> bool:
        """Does the token cross a network in words that anyone on it can read?"""
        return self.network and not self.https


IN_CLEAR = (
    "this page speaks plain http: whoever listens on the network can read the token on its way. "
    "Put TLS before it (--https), or use a network that you trust alone"
)


def is_loopback(host: str) -> bool:
    """Is this address or name this machine's own?"""
    if host == "localhost" or host.endswith(".localhost"):
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def may_be_called(name: str, settings: PageSettings) -> bool:
    """May the page be reached under this name?

    A name out of somebody else's hands is refused: a web page elsewhere could have it point
    here and read along (DNS rebinding). A plain address cannot be made to point elsewhere.
    """
    host = name.strip().lower().rstrip(".")
    if is_loopback(host) or host in {allowed.lower() for allowed in settings.hosts}:
        return True
    if not settings.network:
        return False
    try:
        ipaddress.ip_address(host.strip("[]"))
    except ValueError:
        return False
    return True
