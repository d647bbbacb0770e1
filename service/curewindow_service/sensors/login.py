"""Logins and tokens: from the environment, or from a file that nobody else may read."""

from __future__ import annotations

import os
from pathlib import Path

from curewindow.boat.folder import BOAT_FILE
from curewindow.errors import BoatError
from curewindow_service.channels.destination import UnusableError, secret_in_file


def secret(folder: Path, env: str | None, file: str | None, key: str) -> str | None:
    """What a setting '..._env' or '..._file' leads to; None where neither is given.

    Parameters
    ----------
    folder : Path
        The boat folder, which ``file`` is counted from.
    env, file : str or None
        As boat.toml has them.
    key : str
        Their place in boat.toml without ending, such as 'mqtt.login'.

    Raises
    ------
    BoatError
        It is not there, is empty, or others may read it. Never shows what it holds.
    """
    boat = folder / BOAT_FILE
    if env is not None:
        held = os.environ.get(env, "").strip()
        if not held:
            raise BoatError(
                f"the environment variable '{env}' is not set", file=boat, key=f"{key}_env"
            )
        return held
    if file is None:
        return None
    try:
        return secret_in_file(Path(os.path.expandvars(file)), folder)
    except UnusableError as bad:
        raise BoatError(str(bad), file=boat, key=f"{key}_file") from None


def name_and_password(held: str | None, key: str, folder: Path) -> tuple[str, str | None] | None:
    """'name:password' in two; a name alone has no password."""
    if held is None:
        return None
    name, colon, password = held.partition(":")
    if not name:
        raise BoatError("the login is 'name:password'", file=folder / BOAT_FILE, key=key)
    return name, password if colon else None
