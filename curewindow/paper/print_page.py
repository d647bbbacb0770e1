"""The days as one HTML page that prints well: A4, black on white, large, boxes to tick."""

from __future__ import annotations

from html import escape

from curewindow.paper.layout import care_of, days_together, form_of, weeks_of
from curewindow.paper.models import Day, Line, Paper
from curewindow.voice.paper import LATER, TAKE_CARE

_STYLE = """
@page { size: A4; margin: 12mm; }
* { box-sizing: border-box; }
body { font: 13pt/1.3 sans-serif; color: #000; background: #fff; margin: 1em auto;
  max-width: 46em; padding: 0 .6em; }
h1 { font-size: 1.35em; margin: 0 0 .2em; }
section { border-top: 1.5pt solid #000; padding: .25em 0; display: flex; gap: .6em;
  break-inside: avoid; }
section.whole { display: block; }
h2 { font-size: 1em; margin: 0; width: 6em; flex: none; }
.whole h2 { width: auto; }
ul { list-style: none; margin: 0; padding: 0; flex: 1; min-width: 0; }
li { margin: 0 0 .2em; padding-left: 1.6em; position: relative; overflow-wrap: anywhere; }
li b { white-space: nowrap; }
li.tick::before { content: ""; position: absolute; left: 0; top: .15em; width: 1em; height: 1em;
  border: 1.5pt solid #000; }
li.deadline { font-weight: bold; }
small, dl, footer { font-size: var(--small); font-weight: normal; }
small { display: block; }
p, dl { margin: 0; }
.whole p { font-size: var(--small); }
dl { display: grid; grid-template-columns: auto 1fr; gap: .15em 1em; }
dt { font-weight: bold; }
dd { margin: 0; }
footer { border-top: 1.5pt solid #000; padding-top: .25em; }
@media (max-width: 34em) { section { display: block; } }
@media print { body { margin: 0; max-width: none; padding: 0; font-size: var(--plain); } }
"""


def page_html(paper: Paper) -> str:
    """The page; it needs nothing besides itself."""
    form = form_of(paper)
    days = "\n".join(_day(day, nothing) for day, nothing in days_together(paper.days))
    warnings = "".join(f"<p><b>! {escape(text)}</b></p>\n" for text in paper.warnings)
    notes = "\n".join(f"<p>{escape(note)}</p>" for note in paper.notes)
    care = "\n".join(f"<p>{escape(line)}</p>" for line in care_of(paper, form))
    weeks = "\n".join(_week(title, lines) for title, lines in weeks_of(paper, form))
    sizes = f"--plain: {form.plain_pt:g}pt; --small: {form.small_pt:g}pt"
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(paper.title)}</title>\n<style>\n:root {{ {sizes} }}{_STYLE}</style>\n"
        f"</head>\n<body>\n<main>\n<h1>{escape(paper.title)}</h1>\n{warnings}{days}\n"
        f"{_whole(TAKE_CARE, care)}{_whole(LATER, weeks and f'<dl>{weeks}</dl>')}"
        f"</main>\n<footer>\n{notes}\n</footer>\n</body>\n</html>\n"
    )


def _day(day: Day, nothing: str) -> str:
    lines = "\n".join(_line(line) for line in day.lines) or f"<li>{escape(nothing)}</li>"
    return f"<section>\n<h2>{escape(day.title)}</h2>\n<ul>\n{lines}\n</ul>\n</section>"


def _whole(title: str, inside: str) -> str:
    """A block across the page; '' where it has nothing."""
    if not inside:
        return ""
    return f'<section class="whole">\n<h2>{escape(title)}</h2>\n{inside}\n</section>\n'


def _week(title: str, lines: list[str]) -> str:
    return f"<dt>{escape(title)}</dt><dd>{'<br>'.join(escape(line) for line in lines)}</dd>"


def _line(line: Line) -> str:
    kinds = f"{'tick ' if line.tick else ''}{line.kind.replace(' ', '-')}"
    under = "".join(f"<small>{escape(text)}</small>" for text in line.under)
    return f'<li class="{kinds}"><b>{escape(line.clock)}</b> {escape(line.text)}{under}</li>'
