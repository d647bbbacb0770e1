"""Sizes of a drawn picture, and text laid out on it."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from curewindow.wording import keep_together


@dataclass(frozen=True, slots=True)
class Page:
    """Sizes in inches and points: a phone's width or a desk's.

    Attributes
    ----------
    width, plot, left, right : float
        Of the page, height of the temperatures, margins with names in them [in].
    font : float
        Size of letters [pt].
    dpi : float
    """

    width: float
    plot: float
    left: float
    right: float
    font: float
    dpi: float

    @property
    def across(self) -> float:
        """Width of the plots [in]."""
        return self.width - self.left - self.right

    @property
    def line(self) -> float:
        """Height of a line of text [in]."""
        return 1.32 * self.font / 72.0

    def wrapped(self, text: str, scale: float = 1.0) -> list[str]:
        """Lines that fit the page; letters are a good half as wide as high."""
        letters = int((self.width - 0.2) * 72.0 / (0.56 * self.font * scale))
        joined = keep_together(text)
        return textwrap.wrap(joined, letters, subsequent_indent="   ", break_on_hyphens=False)

    def beside(self, name: str) -> list[str]:
        """A line's name in the right margin."""
        letters = int((self.right * 72.0 - 5.0) / (0.6 * self.font))
        return textwrap.wrap(keep_together(name), letters)


DESK = Page(width=9.2, plot=3.0, left=1.05, right=1.15, font=9.5, dpi=120.0)
PHONE = Page(width=3.9, plot=2.5, left=0.72, right=0.80, font=8.0, dpi=220.0)


def moved_apart(
    wanted: Sequence[float], tall: Sequence[float], low: float, high: float
) -> list[float]:
    """Middles of labels beside an axis, in their order, moved so that none touch.

    Parameters
    ----------
    wanted : sequence of float
        Where each would be best, ascending.
    tall : sequence of float
        Their heights.
    low, high : float
        The room there is; where it is too little the labels go below it.

    Returns
    -------
    list of float
    """
    placed: list[float] = []
    floor = low
    for middle, height in zip(wanted, tall, strict=True):
        placed.append(max(middle, floor + height / 2.0))
        floor = placed[-1] + height / 2.0
    roof = high
    for i in range(len(placed) - 1, -1, -1):
        placed[i] = min(placed[i], roof - tall[i] / 2.0)
        roof = placed[i] - tall[i] / 2.0
    return placed
