"""The reliability diagram in characters: across what was told, upward what held."""

from __future__ import annotations

from dataclasses import dataclass

from curewindow.calibration.answer import DiagramPoint


@dataclass(frozen=True, slots=True)
class Marks:
    """What is drawn with: the line 'as stated', chance's reach, points with few and enough days."""

    line: str
    reach: str
    few: str
    enough: str
    rule: str
    post: str
    corner: str


DOTS = Marks("·", "┊", "○", "●", "─", "│", "└")
PLAIN = Marks(".", ":", "o", "#", "-", "|", "+")
_MARGIN = 6
_WIDEST = 61


def diagram_lines(points: list[DiagramPoint], width: int, marks: Marks) -> list[str]:
    """Draw the diagram.

    Parameters
    ----------
    points : list of DiagramPoint
    width : int
        Columns there are.
    marks : Marks

    Returns
    -------
    list of str
        On the rising line what was told held as often as told.
    """
    across = min(width - _MARGIN - 1, _WIDEST)
    rows = max(11, across // 3)
    cells = [[" "] * across for _ in range(rows)]

    def column(share: float) -> int:
        return min(round(share * (across - 1)), across - 1)

    def row(share: float) -> int:
        return rows - 1 - min(round(share * (rows - 1)), rows - 1)

    for at in range(across):
        cells[row(at / (across - 1))][at] = marks.line
    for point in points:
        for at in range(row(point.most), row(point.least) + 1):
            cells[at][column(point.told)] = marks.reach
    for point in points:
        mark = marks.enough if point.enough else marks.few
        cells[row(point.held)][column(point.told)] = mark
    labels = {row(share): f"{100 * share:.0f} %" for share in (0.0, 0.5, 1.0)}
    lines = ["held"]
    lines += [
        f"{labels.get(number, ''):>{_MARGIN - 1}} {marks.post}{''.join(line)}".rstrip()
        for number, line in enumerate(cells)
    ]
    lines.append(" " * _MARGIN + marks.corner + marks.rule * across)
    foot = [" "] * (across + _MARGIN + 6)
    for share in (0.0, 0.5, 1.0):
        text = f"{100 * share:.0f} %"
        begin = min(_MARGIN + 1 + column(share) - len(text) // 2, _MARGIN + 1 + across - len(text))
        foot[begin : begin + len(text)] = text
    lines.append("".join(foot).rstrip())
    told = "stated"
    lines.append(" " * (_MARGIN + 1 + (across - len(told)) // 2) + told)
    told_by = [
        f"{marks.enough} held",
        f"{marks.few} held, few days",
        f"{marks.reach} could be chance",
        f"{marks.line} as stated",
    ]
    half = width < sum(map(len, told_by)) + 6
    rows_of = [told_by[:2], told_by[2:]] if half else [told_by]
    return lines + ["  ".join(row) for row in rows_of]
