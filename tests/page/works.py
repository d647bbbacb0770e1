"""Work for another process to fail at."""

from curewindow.errors import BoatError, NotFoundError


def wrong() -> None:
    """A file that cannot be used."""
    raise BoatError("is missing", file="boat.toml", key="place")


def not_there() -> None:
    """A name that is not there."""
    raise NotFoundError("there is no such job")
