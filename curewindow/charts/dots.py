"""Curves in characters: eight braille dots to a cell, or plain letters."""

from __future__ import annotations

from typing import Literal

import numpy as np

from curewindow.series import FloatArray

Style = Literal["thick", "dashed", "dotted"]

# Bits of U+2800 by column and row of the cell (Unicode, Braille Patterns).
_BITS = ((0x01, 0x02, 0x04, 0x40), (0x08, 0x10, 0x20, 0x80))


class DotGrid:
    """Rows of cells to draw curves on; later curves lie over earlier ones.

    Parameters
    ----------
    columns, rows : int
        Cells.
    low, high : float
        Values at the lower and the upper edge.
    braille : bool
        Dots; else a letter a curve.
    """

    def __init__(self, columns: int, rows: int, low: float, high: float, *, braille: bool) -> None:
        self.columns, self.rows = columns, rows
        self._low, self._high = low, high
        self._braille = braille
        self._bits = np.zeros((rows, columns), np.int64)
        self._text = [[" "] * columns for _ in range(rows)]

    def row_of(self, value: float) -> int | None:
        """The row of a value; None where it lies outside."""
        row = int((self._high - value) / (self._high - self._low) * self.rows)
        return row if 0 <= row < self.rows else None

    def rule(self, value: float, mark: str) -> None:
        """A level line in cells that nothing else is in."""
        row = self.row_of(value)
        if row is not None:
            for column in range(self.columns):
                self.put(column, row, mark)

    def upright(self, column: int, mark: str) -> None:
        """An upright line in cells that nothing else is in."""
        for row in range(self.rows):
            self.put(column, row, mark)

    def put(self, column: int, row: int, mark: str) -> None:
        """A character in a cell that nothing else is in."""
        if self._text[row][column] == " ":
            self._text[row][column] = mark

    def curve(self, values: FloatArray, style: Style, letter: str) -> None:
        """Draw a curve.

        Parameters
        ----------
        values : ndarray, shape (2 * columns,)
            Evenly over the width; NaN leaves a gap.
        style : str
            How it looks in dots.
        letter : str
            What it looks like without.
        """
        if self._braille:
            self._dotted(values, style)
            return
        for column in range(self.columns):
            value = float(values[2 * column])
            row = None if np.isnan(value) else self.row_of(value)
            if row is not None:
                self._text[row][column] = letter

    def _dotted(self, values: FloatArray, style: Style) -> None:
        dots = 4 * self.rows
        level = (self._high - values) / (self._high - self._low) * dots
        before: int | None = None
        for x, value in enumerate(level.tolist()):
            if np.isnan(value):
                before = None
                continue
            y = int(np.clip(value, 0, dots - 1))
            on = {"thick": True, "dashed": x % 4 < 2, "dotted": x % 2 == 0}[style]
            if on:
                top, bottom = (y, y) if before is None else (min(y, before), max(y, before))
                # a steep stretch is joined, without doubling the point it comes from
                top += 1 if before is not None and before < y else 0
                bottom -= 1 if before is not None and before > y else 0
                if style == "dotted":
                    top = bottom = y
                if style == "thick":
                    bottom = min(max(bottom, top + 1), dots - 1)
                for dot in range(top, bottom + 1):
                    self._bits[dot // 4, x // 2] |= _BITS[x % 2][dot % 4]
            before = y

    def lines(self) -> list[str]:
        """The rows as text."""
        return [
            "".join(
                chr(0x2800 + int(bits)) if bits else text
                for bits, text in zip(row_bits, row_text, strict=True)
            )
            for row_bits, row_text in zip(self._bits, self._text, strict=True)
        ]
