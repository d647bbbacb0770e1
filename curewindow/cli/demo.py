"""`curewindow demo`: a made-up boat in its own folder, its week moved to this week."""

from __future__ import annotations

from pathlib import Path

import click

from curewindow.cli.common import at_option, json_option


@click.command(name="demo")
@click.argument("folder", required=False, type=click.Path(path_type=Path), metavar="[DIR]")
@click.option("--again", is_flag=True, help="Write the demo anew over an older demo folder.")
@at_option
@json_option
def command(folder: Path | None, again: bool, at: str | None, as_json: bool) -> None:
    """Put the demo boat into DIR (else ./demo-boat) and show its day sheet.

    The boat, its jobs, its log and its weather are made up; their dates are moved
    so that the demo's morning is this morning. No network is used.
    """
    import shlex
    from datetime import UTC, datetime
    from zoneinfo import ZoneInfo

    from curewindow.cli.day import show
    from curewindow.demo import files as demofiles
    from curewindow.wording import Wording, moment

    place = folder or Path("demo-boat")
    zone = ZoneInfo(demofiles.ZONE)
    clock = datetime.now(UTC).replace(microsecond=0)
    fresh = again or not demofiles.is_there(place)
    moment_asked = at if at is not None else demofiles.MORNING if fresh else "now"
    now = moment(moment_asked, zone, clock)
    if fresh:
        demofiles.write(place, now)
    show(place, now, as_json=as_json)
    if as_json:
        return
    when, quoted = Wording(zone, clock).when(now), shlex.quote(str(place))
    state = f"is in {place}, shown as at {when}" if fresh else f"was in {place} already"
    again_hint = "" if fresh else " ('curewindow demo --again' writes it anew)"
    click.echo(f"\nThe demo boat {state}{again_hint}. All of it is made up.\nNow try:")
    click.echo(f"  curewindow today --boat {quoted}")
    click.echo(f"  curewindow windows --boat {quoted}")
    click.echo("  curewindow setup")
    click.echo(f"or change {place / 'work.toml'} and look again.")
