"""`curewindow buy`: what to buy for the coming weeks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from curewindow.cli.common import at_option, boat_option, go_aboard, json_option, print_json

if TYPE_CHECKING:
    from curewindow.supplies.models import Product, Supplies
    from curewindow.wording import Wording

_IN = "  "


@click.command(name="buy")
@click.option(
    "--weeks", type=click.IntRange(1, 52), default=4, show_default=True, help="How far to look."
)
@click.option("--full", is_flag=True, help="Say how each amount was reckoned, and how it keeps.")
@boat_option
@at_option
@json_option
def command(weeks: int, full: bool, boat: Path | None, at: str | None, as_json: bool) -> None:
    """What to buy: litres, parts, thinner, abrasives, for the coats not yet on.

    By the week in which the last plan needs it; by job where there is no plan. With
    batches small enough to be used up before they set in the pot.
    """
    from curewindow.supplies import supplies_for

    aboard = go_aboard(boat, at)
    supplies = supplies_for(aboard.folder, aboard.now, weeks=weeks)
    if as_json:
        print_json(supplies)
        return
    from curewindow.cli.text import colour_wanted, screen_width

    colour = colour_wanted()
    text = "\n".join(_lines(supplies, screen_width(), full=full, colour=colour))
    click.echo(text, color=colour or None)


def _lines(supplies: Supplies, width: int, *, full: bool, colour: bool) -> list[str]:
    from curewindow.cli.text import heading, paint, wrap
    from curewindow.voice import full as full_text
    from curewindow.voice import supplies as voiced
    from curewindow.voice.cautions import DEFER, care_text
    from curewindow.wording import Wording

    zone = ZoneInfo(supplies.time_zone)
    words = Wording(
        zone,
        supplies.as_of,
        supplies.temperature_unit == "°F",
        known_until=supplies.known_until,
    )
    head = voiced.head_text(supplies.boat, supplies.as_of, words)
    found = [paint(line, "head", colour=colour) for line in wrap(head, width)]
    for group in supplies.groups:
        found += ["", heading(group.title, colour=colour)]
        for product in group.products:
            found += wrap(_amount(product), width, "[ ] ", "    ")
            for text in [care_text(product.cautions), *_more(product, words, full)]:
                if not text:
                    continue
                found += wrap(text, width, f"{_IN}  ", f"{_IN}{_IN}  ")
        for count in group.counts:
            basis = f" ({count.basis})" if full else ""
            found += wrap(f"{count.count} {count.what}{basis}", width, "[ ] ", "    ")
    if supplies.later:
        found += ["", heading("Later", colour=colour)]
        for text in supplies.later:
            found += wrap(text, width, "", _IN)
    found.append("")
    notes = [full_text(note, words) for note in supplies.notes]
    if any(product.cautions for group in supplies.groups for product in group.products):
        notes.append(DEFER)
    if any(group.counts for group in supplies.groups):
        notes.append(voiced.COMMON_PRACTICE)
    for text in notes:
        found += wrap(text, width, "", _IN)
    return found


def _amount(product: Product) -> str:
    from curewindow.voice.supplies import product_text

    return product_text(product.name, product.coats, product.litres, incomplete=product.incomplete)


def _more(product: Product, words: Wording, full: bool) -> list[str]:
    from curewindow.voice import full as full_text
    from curewindow.voice import supplies as voiced

    said: list[str] = []
    if product.needed_by is not None:
        said.append(voiced.needed_by_text(product.needed_by, words))
    elif product.from_week is not None and product.until_week is not None:
        said.append(voiced.needed_weeks_text(product.from_week, product.until_week))
    if product.mix:
        ratio = ":".join(f"{part.parts:g}" for part in product.mix)
        amounts = [f"{p.amount:.2f} {p.unit}" for p in product.mix if p.amount is not None]
        said.append(voiced.mix_text(ratio, product.mix[0].by, amounts))
    if product.thinner_at_most_l is not None:
        said.append(voiced.thin_text(product.thinner_at_most_l, product.thinner))
    for share in product.shares:
        if full or share.litres is None:
            said.append(voiced.share_text(share.job, share.litres, full_text(share.how, words)))
        if full and share.first_needed is not None:
            said.append(voiced.needed_text(share.job, share.first_needed, words))
    for batch in product.batches:
        said.append(
            voiced.batch_text(
                batch.job,
                batch.pot_life_h,
                batch.pot_c,
                batch.batches_a_coat,
                batch.litres,
                batch.area_m2,
                words,
            )
        )
    told = [*product.notes, *(n for n in product.keeping if full or n.weight == "act")]
    return [*said, *(full_text(each, words) for each in told)]
