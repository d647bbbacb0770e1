"""`curewindow-service`: the background service's commands."""

from __future__ import annotations

import logging
import os
import sys
from pathlib import Path

import click

from curewindow import __version__
from curewindow.ending import on_os_error
from curewindow.errors import EXIT_FAULT, EXIT_STOPPED, CurewindowError
from curewindow.numbers import Number

TOKEN_VARIABLE = "CUREWINDOW_PAGE_TOKEN"
PORT = 8460


@click.group(
    name="curewindow-service",
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)
@click.version_option(__version__, prog_name="curewindow-service")
def command() -> None:
    """Watches weather, cabin and coats, and tells you what must be done, once."""


_boat = click.option(
    "--boat",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="The boat folder; else CUREWINDOW_BOAT, else the folder you are in.",
)


@command.command(name="run")
@_boat
@click.option("--no-page", is_flag=True, help="Notices alone, no page.")
@click.option("--host", default="127.0.0.1", show_default=True, help="Where the page listens.")
@click.option("--port", default=PORT, show_default=True, type=click.IntRange(0, 65535))
@click.option(
    "--token-file",
    type=click.Path(path_type=Path),
    help=f"File with the page's token, readable by you alone; else {TOKEN_VARIABLE}.",
)
@click.option("--name", "names", multiple=True, help="A name the page is reached under; repeat.")
@click.option("--https", is_flag=True, help="The page stands behind TLS: cookies go by it alone.")
@click.option("--verbose", is_flag=True, help="Log what is sent, too.")
def run_command(
    boat: Path | None,
    no_page: bool,
    host: str,
    port: int,
    token_file: Path | None,
    names: tuple[str, ...],
    https: bool,
    verbose: bool,
) -> None:
    """Run the service, and the page with it, until stopped."""
    from curewindow.boat.folder import find_folder
    from curewindow.boat.lock import only_one
    from curewindow_service.app import Service
    from curewindow_service.night import night_apart
    from curewindow_service.schedule import Listen, run_service
    from curewindow_service.sensing import sensor_part

    logging.basicConfig(
        level=logging.INFO if verbose else logging.WARNING,
        format="%(asctime)s %(levelname)s %(name)s: %(message)s",
    )
    logging.getLogger("httpx").setLevel(logging.WARNING)
    logging.getLogger("apscheduler").setLevel(logging.ERROR)
    folder = find_folder(boat)
    with only_one(folder):
        service = Service(folder, night=night_apart)
        listen = None
        if not no_page:
            from curewindow_service.page import PageSettings
            from curewindow_service.page.settings import is_loopback

            token = _token(token_file, folder)
            if token is None and not is_loopback(host):
                raise CurewindowError(
                    f"{host} is open to the network, and that wants a token: --token-file FILE or "
                    f"{TOKEN_VARIABLE}; without one the page is for this machine alone"
                )
            settings = PageSettings(
                # a round takes a small board half a minute; whoever looks gets a new one at once
                idle_refresh_s=3.0 * 3600.0,
                token=token,
                network=not is_loopback(host),
                hosts=names,
                https=https,
            )
            if settings.in_clear:
                from curewindow_service.page.settings import IN_CLEAR

                click.echo(f"note: {IN_CLEAR}", err=True)
            listen = Listen(host, port, settings)
        click.echo(f"{service.boat_name}: {_destinations_of(service.channels, no_page)}")
        run_service(service, listen, [sensor_part(service)], click.echo)


def _destinations_of(channels: list[str], no_page: bool) -> str:
    if channels:
        return f"reminders by {', '.join(channels)}"
    where = "go nowhere" if no_page else "stand on the page alone"
    return f"no [[channel]] in boat.toml: reminders {where}"


@command.command(name="test-channels")
@_boat
@click.argument("channels", nargs=-1)
def channels_command(boat: Path | None, channels: tuple[str, ...]) -> None:
    """Send a sample by every channel, or by those named, and say what came of it."""
    from curewindow.boat.folder import find_folder, load_boat
    from curewindow_service.channels.trying import try_channels
    from curewindow_service.clock import system_clock

    folder = find_folder(boat)
    described = load_boat(folder)
    known = [channel.name for channel in described.channel]
    if not known:
        raise CurewindowError(
            f"{folder / 'boat.toml'}: no [[channel]] yet; notices show on the page alone"
        )
    for name in channels:
        if name not in known:
            raise CurewindowError(f"there is no channel '{name}'; there are: {', '.join(known)}")
    tried = try_channels(described, folder, system_clock(), only=channels)
    for each in tried:
        click.echo(f"{each.name}{f' ({each.shown})' if each.shown else ''}: {each.said}")
    failed = sum(not each.went for each in tried)
    if failed:
        click.echo(f"{failed} of {len(tried)} failed", err=True)
        sys.exit(1)


@command.command(name="notices")
@_boat
@click.option("--days", default=2, show_default=True, type=click.IntRange(0, 3650))
def notices_command(boat: Path | None, days: int) -> None:
    """What was told in the last days, what waits, and how it went out."""
    from datetime import timedelta
    from zoneinfo import ZoneInfo

    from curewindow.boat.folder import RECORD_FILE, find_folder, load_boat
    from curewindow_service.clock import system_clock
    from curewindow_service.listing import listed_notices
    from curewindow_service.outbox import Outbox

    folder = find_folder(boat)
    zone = ZoneInfo(load_boat(folder).place.time_zone)
    with Outbox(folder / RECORD_FILE) as outbox:
        found = outbox.notices(since=system_clock() - timedelta(days=days))
    for line in listed_notices(found, zone):
        click.echo(line)


@command.command(name="listen")
@_boat
def listen_command(boat: Path | None) -> None:
    """Listen to the sensors of boat.toml and show every message, to try them out.

    Readings go into the record as they do while the service runs; do not run both at once.
    """
    import signal
    import threading

    from curewindow.boat.folder import find_folder
    from curewindow.boat.lock import only_one
    from curewindow_service.hearing import hear

    folder = find_folder(boat)
    stop = threading.Event()
    for each in (signal.SIGINT, signal.SIGTERM):
        signal.signal(each, lambda *_: stop.set())
    with only_one(folder):
        status = hear(folder, click.echo, stop=stop)
    silent = [sensor.name for sensor in status.sensors if sensor.messages == 0]
    if silent:
        click.echo(f"nothing came of: {', '.join(silent)}")


@command.command(name="week")
@click.option("--days", default=7, show_default=True, type=click.IntRange(1, 14))
@click.option(
    "--seconds",
    default=60.0,
    show_default=True,
    type=Number(0, 3600),
    help="How long it plays; 0: as quick as it can be worked out.",
)
@click.option("--alone", is_flag=True, help="Nobody aboard does or logs anything.")
def week_command(days: int, seconds: float, alone: bool) -> None:
    """Watch a week of the made-up demo boat go by: every notice, as it would have come."""
    from curewindow_service.week import play

    for line in play(days=days, seconds=seconds, alone=alone):
        click.echo(line)


def _token(file: Path | None, folder: Path) -> str | None:
    if file is not None:
        from curewindow_service.channels.destination import UnusableError, secret_in_file

        try:
            return secret_in_file(file, folder)
        except UnusableError as bad:
            raise CurewindowError(f"--token-file: {bad}") from None
    return os.environ.get(TOKEN_VARIABLE, "").strip() or None


def run() -> None:
    """Entry point of the installed command: one clear line and an exit code."""
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    debug = bool(os.environ.get("CUREWINDOW_DEBUG"))
    try:
        sys.exit(command.main(prog_name="curewindow-service", standalone_mode=False) or 0)
    except click.ClickException as bad:
        if isinstance(bad, getattr(click.exceptions, "NoArgsIsHelpError", ())):
            click.echo(bad.format_message(), err=True)  # no command: what there is
            sys.exit(bad.exit_code)
        line = f"{bad.format_message()} (see 'curewindow-service --help')"
        click.echo(f"error: {line}", err=True)
        sys.exit(bad.exit_code)
    except click.Abort:
        sys.exit(EXIT_STOPPED)
    except CurewindowError as bad:
        if debug:
            raise
        click.echo(f"error: {' '.join(str(bad).split())}", err=True)
        sys.exit(bad.exit_code)
    except OSError as bad:
        if debug and bad.filename is not None:
            raise
        line, code = on_os_error(bad)
        if line:
            click.echo(f"error: {line}", err=True)
        sys.exit(code)
    except ModuleNotFoundError as bad:
        if debug:
            raise
        click.echo(
            f"error: '{bad.name}' is not installed; the service needs it: "
            "pip install 'curewindow[service]'",
            err=True,
        )
        sys.exit(EXIT_FAULT)
    except Exception as bad:
        if debug:
            raise
        click.echo(
            f"error: a fault in curewindow itself ({type(bad).__name__}: {bad}); "
            "run again with CUREWINDOW_DEBUG=1 for the details",
            err=True,
        )
        sys.exit(EXIT_FAULT)
