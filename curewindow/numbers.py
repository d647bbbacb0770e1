"""Numbers typed on a command line, of both programs."""

from __future__ import annotations

import math
from typing import Any

import click


class Number(click.FloatRange):
    """A number in a range; click's own lets through what is none."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Read it.

        Raises
        ------
        click.BadParameter
            No number, not finite, or outside the range.
        """
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"'{value}' is not a number one can count with", param, ctx)
        return number
