"""The days as one HTML page that prints well: A4, black on white, large, boxes to tick."""

from __future__ import annotations

from html import escape

from curewindow.paper.models import Day, Line, Paper
from curewindow.voice.paper import days_text

_STYLE = """
@page { size: A4; margin: 12mm; }
* { box-sizing: border-box; }
body { font: 13pt/1.3 sans-serif; color: #000; background: #fff; margin: 1em auto;
  max-width: 46em; padding: 0 .6em; }
h1 { font-size: 1.5em; margin: 0 0 .3em; }
section { border-top: 2pt solid #000; padding: .35em 0; display: flex; gap: .8em;
  break-inside: avoid; }
h2 { font-size: 1.15em; margin: 0; width: 6em; flex: none; }
ul { list-style: none; margin: 0; padding: 0; flex: 1; min-width: 0; }
li { margin: 0 0 .3em; padding-left: 1.6em; position: relative; overflow-wrap: anywhere; }
li b { white-space: nowrap; }
li.tick::before { content: ""; position: absolute; left: 0; top: .15em; width: 1em; height: 1em;
  border: 1.5pt solid #000; }
li.deadline { font-weight: bold; }
small { display: block; font-size: .85em; font-weight: normal; }
p { margin: 0; }
footer { border-top: 2pt solid #000; margin-top: .3em; padding-top: .4em; font-size: .8em; }
@media (max-width: 34em) { section { display: block; } }
@media print { body { margin: 0; max-width: none; padding: 0; } }
"""


def page_html(paper: Paper) -> str:
    """The page; it needs nothing besides itself."""
    first, last = paper.days[0].title, paper.days[-1].title
    title = f"{paper.boat}, {days_text(first, last)}"
    days = "\n".join(_day(day) for day in paper.days)
    warnings = "".join(f"<p><b>! {escape(text)}</b></p>\n" for text in paper.warnings)
    notes = "\n".join(f"<p>{escape(note)}</p>" for note in paper.notes)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n<main>\n"
        f"<h1>{escape(title)}</h1>\n{warnings}{days}\n</main>\n<footer>\n{notes}\n</footer>\n"
        "</body>\n</html>\n"
    )


def _day(day: Day) -> str:
    mark = " ~" if day.typical_weather else ""
    lines = "\n".join(_line(line) for line in day.lines) or "<li>nothing planned</li>"
    return f"<section>\n<h2>{escape(day.title)}{mark}</h2>\n<ul>\n{lines}\n</ul>\n</section>"


def _line(line: Line) -> str:
    kinds = f"{'tick ' if line.tick else ''}{line.kind.replace(' ', '-')}"
    under = "".join(f"<small>{escape(text)}</small>" for text in line.under)
    return f'<li class="{kinds}"><b>{escape(line.clock)}</b> {escape(line.text)}{under}</li>'
