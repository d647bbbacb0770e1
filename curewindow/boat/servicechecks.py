"""What the service's part of boat.toml must agree on beyond the shape of each table."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from curewindow.boat.addresses import holds_secret
from curewindow.boat.service import DECK, HOME, Channel, ServiceSettings, Tin
from curewindow.errors import BoatError
from curewindow.nearest import nearest_or_all

# More often is no use: forecasts change by the hour, a cabin by the quarter.
_SHORTEST_REFRESH_H = 1.0 / 60.0
_MAY_STAND_HERE = ("desktop:", "http://", "https://", "mailto://", "mailtos://")


def check_service(
    settings: ServiceSettings,
    channels: Sequence[Channel],
    tins: Sequence[Tin],
    spaces: Sequence[str],
    path: Path | None,
) -> None:
    """Check the tables [service], [[channel]] and [[tin]].

    Raises
    ------
    BoatError
        The first thing that is wrong, with its key and what would be right.
    """
    for key, hours in (
        ("refresh", settings.refresh),
        ("reading_every", settings.reading_every),
        ("before_window", settings.before_window),
    ):
        if hours < _SHORTEST_REFRESH_H:
            raise BoatError("must be at least '1 min'", file=path, key=f"service.{key}")
    names = [channel.name.casefold() for channel in channels]
    for number, channel in enumerate(channels, 1):
        if channel.name.casefold() in names[: number - 1]:
            raise BoatError(
                f"'{channel.name}' is there twice; each needs its own name",
                file=path,
                key=f"channel[{number}].name",
            )
        _check_channel(channel, f"channel[{number}]", path)
    for number, tin in enumerate(tins, 1):
        if tin.space is not None and tin.space not in spaces:
            raise BoatError(
                f"'{tin.space}' is not a space; {nearest_or_all(tin.space, spaces)}",
                file=path,
                key=f"tin[{number}].space",
            )
        check_kept(tin.kept, spaces, path, f"tin[{number}].kept")
        if tin.kept is not None and tin.space is not None and tin.kept != tin.space:
            raise BoatError(
                f"is kept in '{tin.kept}' and stands in '{tin.space}': leave out one of the two",
                file=path,
                key=f"tin[{number}].kept",
            )


def check_kept(kept: str | None, spaces: Sequence[str], path: Path | None, key: str) -> None:
    """Check where tins are kept.

    Raises
    ------
    BoatError
        It is neither home, nor deck, nor a space.
    """
    known = [HOME, DECK, *spaces]
    if kept is None or kept in known:
        return
    hint = nearest_or_all(kept, known)
    raise BoatError(f"'{kept}' is no place tins are kept; {hint}", file=path, key=key)


def _check_channel(channel: Channel, key: str, path: Path | None) -> None:
    given = [
        name
        for name in ("address", "address_env", "address_file")
        if getattr(channel, name) is not None
    ]
    if len(given) != 1:
        said = " and ".join(given) or "none of them"
        raise BoatError(
            f"needs one of address, address_env and address_file, has {said}", file=path, key=key
        )
    if channel.address is None:
        return
    # what is no address of these kinds is a token as a whole, by the way it is written
    if holds_secret(channel.address) or not channel.address.lower().startswith(_MAY_STAND_HERE):
        raise BoatError(
            "an address with a password or a token does not belong here: put it into a file only "
            "you can read (address_file) or an environment variable (address_env)",
            file=path,
            key=f"{key}.address",
        )
