"""`curewindow buy`: what to buy for the coming weeks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from curewindow.cli.common import at_option, boat_option, go_aboard, json_option, print_json

if TYPE_CHECKING:
    from curewindow.supplies.models import Batch, Product, Supplies
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
    from curewindow.voice.cautions import DEFER, care_text
    from curewindow.wording import Wording

    zone = ZoneInfo(supplies.time_zone)
    words = Wording(zone, supplies.as_of, supplies.temperature_unit == "°F")
    head = f"{supplies.boat}, to buy as of {words.when(supplies.as_of)}"
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
    notes = list(supplies.notes)
    if any(product.cautions for group in supplies.groups for product in group.products):
        notes.append(DEFER)
    if any(group.counts for group in supplies.groups):
        notes.append("counts of small things are common practice, no source")
    for text in notes:
        found += wrap(text, width, "", _IN)
    return found


def _amount(product: Product) -> str:
    coats = f"{product.coats} {'coat' if product.coats == 1 else 'coats'}"
    if product.litres is None:
        return f"{product.name}, {coats}: amount not known"
    more = " and more" if product.incomplete else ""
    return f"{product.name}: {product.litres:g} L{more}, {coats}"


def _more(product: Product, words: Wording, full: bool) -> list[str]:
    said: list[str] = []
    if product.mix:
        ratio = ":".join(f"{part.parts:g}" for part in product.mix)
        by = product.mix[0].by
        amounts = [f"{p.amount:.2f} {p.unit}" for p in product.mix if p.amount is not None]
        said.append(f"mixed {ratio} by {by}{': ' if amounts else ''}{' + '.join(amounts)}")
    if product.thinner_at_most_l is not None:
        said.append(f"at most {product.thinner_at_most_l:g} L of {product.thinner}")
    for share in product.shares:
        if full or share.litres is None:
            amount = "" if share.litres is None else f"{share.litres:.2f} L, "
            said.append(f"{share.job}: {amount}{share.how}")
        if full and share.first_needed is not None:
            said.append(f"{share.job}: first needed {words.when(share.first_needed)}")
    said += [_batch(batch, words) for batch in product.batches]
    said += product.notes
    urgent = ("frost", "too old", "two tins", "tin already", "past its time")
    said += [text for text in product.keeping if full or any(word in text for word in urgent)]
    return said


def _batch(batch: Batch, words: Wording) -> str:
    from curewindow.wording import span

    life = f"sets in {span(batch.pot_life_h)} at {words.temp(batch.pot_c)}"
    if batch.batches_a_coat is None:
        return f"{batch.job}: {life}, too soon for any batch: read its sheet"
    if batch.batches_a_coat == 1:
        return f"{batch.job}: a coat is one batch; it {life}"
    size = f"{batch.litres:.2f} L" if batch.litres else "what fits"
    area = "" if batch.area_m2 is None else f", for {batch.area_m2:g} m²"
    return f"{batch.job}: {batch.batches_a_coat} batches a coat, {size} at most{area}; it {life}"
