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
    from datetime import UTC, datetime
    from zoneinfo import ZoneInfo

    from curewindow.cli import demofiles
    from curewindow.cli.day import show
    from curewindow.wording import moment

    place = folder or Path("demo-boat")
    zone = ZoneInfo(demofiles.ZONE)
    clock = datetime.now(UTC).replace(microsecond=0)
    morning = moment(demofiles.MORNING if at is None else at, zone, clock)
    fresh = again or not demofiles.is_there(place)
    if fresh:
        demofiles.write(place, morning)
    else:
        morning = clock if at is None else morning
    show(place, morning, as_json=as_json)
    if as_json:
        return
    click.echo()
    if fresh:
        click.echo(f"The demo boat is in {place}, as it is at {demofiles.MORNING} today. Next:")
    else:
        click.echo(f"{place} was there already (--again writes it anew). Next:")
    click.echo(f"  curewindow today --boat {place}    now, by the clock")
    click.echo(f'  curewindow windows "saloon table" --boat {place}')
    click.echo(f"  open {place}/work.toml, change a job, look again")
    click.echo("  curewindow setup    your own boat")
