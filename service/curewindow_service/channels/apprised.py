"""Push, chat and the rest by apprise, and the desktop's own notices."""

from __future__ import annotations

import logging
import shutil
import subprocess
import sys
import warnings
from typing import Any

from curewindow_service.channels.message import HandingOver, Message, Outcome

_DESKTOP_S = 10.0
_URGENCY = {"low": "low", "normal": "normal", "urgent": "critical"}
_BY_APPRISE = {"darwin": "macosx://", "win32": "windows://"}


def _read(address: str) -> Any:
    import apprise

    # what is wrong with an address it tells by its log alone, the address in it
    logging.getLogger("apprise").setLevel(logging.CRITICAL)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of its plug-ins' own imports
        return apprise.Apprise.instantiate(address)


def problem_with(address: str) -> str:
    """What is wrong with an address; '' where nothing is."""
    if _read(address) is None:
        scheme = address.partition(":")[0][:20]
        return f"not an address apprise can use ('{scheme}'); its documentation lists the forms"
    return ""


def send_by_apprise(address: str, message: Message, handing_over: HandingOver) -> Outcome:
    """Send one notice by apprise.

    It cannot tell how far it came, so all of the attempt counts as handing over.
    """
    import apprise

    service = _read(address)
    if service is None:
        return Outcome("refused", "not an address apprise can use")
    # What is longer than a service takes goes out in parts: cut short it might lose a danger.
    service.overflow_mode = apprise.OverflowMode.SPLIT
    kind = apprise.NotifyType.WARNING if message.level == "urgent" else apprise.NotifyType.INFO
    handing_over()
    try:
        taken = service.notify(title=message.title, body=message.body or " ", notify_type=kind)
    except Exception as bad:  # a plug-in of a hundred may raise anything
        return Outcome("later", f"{type(bad).__name__}: {bad}", doubt=True, reachable=False)
    if taken:
        return Outcome("sent", "taken")
    return Outcome("later", "not taken, or nobody there", reachable=False)


def send_to_desktop(message: Message, handing_over: HandingOver) -> Outcome:
    """Show one notice on the desktop of whoever runs the service."""
    if sys.platform in _BY_APPRISE:
        return send_by_apprise(_BY_APPRISE[sys.platform], message, handing_over)
    command = shutil.which("notify-send")
    if command is None:
        return Outcome("later", "there is no 'notify-send' on this machine", reachable=False)
    handing_over()
    try:
        done = subprocess.run(
            [
                command,
                "--app-name=curewindow",
                f"--urgency={_URGENCY[message.level]}",
                "--",
                message.title,
                message.body,
            ],
            capture_output=True,
            text=True,
            timeout=_DESKTOP_S,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as bad:
        return Outcome("later", f"{type(bad).__name__}", doubt=True, reachable=False)
    if done.returncode == 0:
        return Outcome("sent", "shown")
    return Outcome("later", done.stderr.strip() or "no desktop to show it on", reachable=False)
