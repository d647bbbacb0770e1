"""`curewindow schema`: JSON Schemas of the hand-written files, and of what is answered."""

from __future__ import annotations

import importlib

import click

from curewindow.nearest import nearest_or_all

# As curewindow.boat.jsonschema.FILE_NAMES, and what 'learn' writes; written out so that --help
# imports no models.
_FILES = ("sheet", "boat", "work", "learned")
# Command -> the model that its --json prints.
ANSWERS: dict[str, tuple[str, str]] = {
    "today": ("curewindow.daysheet.models", "DaySheet"),
    "demo": ("curewindow.daysheet.models", "DaySheet"),
    "windows": ("curewindow.daysheet.models", "WindowsAhead"),
    "why": ("curewindow.explain.models", "Why"),
    "whatif": ("curewindow.explain.ifmodels", "WhatIf"),
    "picture": ("curewindow.charts.models", "Picture"),
    "heat": ("curewindow.heating.models", "HeatPlans"),
    "plan": ("curewindow.order.plan", "Plan"),
    "plan --boats": ("curewindow.fleet.models", "Fleet"),
    "paper": ("curewindow.paper.models", "Paper"),
    "buy": ("curewindow.supplies.models", "Supplies"),
    "outlook": ("curewindow.season.answer", "Outlook"),
    "calendar": ("curewindow.calendar.happening", "CalendarEvents"),
    "learn": ("curewindow.fitting.answer", "LearnAnswer"),
    "trust": ("curewindow.calibration.answer", "TrustAnswer"),
    "log reading": ("curewindow.logbook.words", "Logged"),
    "log coat": ("curewindow.logbook.words", "Logged"),
    "log heater": ("curewindow.logbook.words", "Logged"),
    "log done": ("curewindow.logbook.words", "Logged"),
    "log dry": ("curewindow.logbook.words", "Logged"),
    "log look": ("curewindow.logbook.words", "Logged"),
    "log sand": ("curewindow.logbook.words", "Logged"),
    "log spoilt": ("curewindow.logbook.words", "Logged"),
    "log correct": ("curewindow.logbook.words", "Logged"),
    "log believe": ("curewindow.logbook.words", "Logged"),
    "log undo": ("curewindow.logbook.words", "Withdrawn"),
    "log show": ("curewindow.logbook.words", "Shown"),
    "log import": ("curewindow.logbook.words", "Imported"),
    "log export": ("curewindow.logbook.words", "Exported"),
    "sheets list": ("curewindow.sheets.answers", "SheetList"),
    "sheets show": ("curewindow.sheets.answers", "SheetAnswer"),
    "sheets check": ("curewindow.sheets.answers", "CheckedSheets"),
    "sheets new": ("curewindow.cli.written", "Written"),
    "setup": ("curewindow.cli.written", "Written"),
    "backup": ("curewindow.cli.written", "BackedUp"),
    "restore": ("curewindow.cli.written", "BroughtBack"),
}


@click.command(name="schema")
@click.argument("file", required=False, type=click.Choice(_FILES))
@click.option(
    "--answer",
    metavar="COMMAND",
    help="Instead, of what COMMAND answers with --json: today, 'log show', ...",
)
@click.option(
    "--findings",
    is_flag=True,
    help="Instead, the closed list of findings that answers are made of.",
)
def command(file: str | None, answer: str | None, findings: bool) -> None:
    """Print the JSON Schema of a FILE you write by hand, or that 'learn' wrote for you.

    Save it beside the file and let its first line say so, and your editor
    completes and checks keys:

    \b
      curewindow schema boat > boat.schema.json
      #:schema ./boat.schema.json
    """
    import json

    if (file is not None) + (answer is not None) + findings != 1:
        names = ", ".join(_FILES)
        raise click.UsageError(f"name a file ({names}), or --answer COMMAND, or --findings")
    if findings:
        schema = _of_findings()
    elif answer is not None:
        schema = _of_answer(answer)
    elif file == "learned":
        from curewindow.conditions.learned_file import learned_schema

        schema = learned_schema()
    else:
        from curewindow.boat.jsonschema import FILE_NAMES, schema_for

        schema = schema_for(next(known for known in FILE_NAMES if known == file))
    click.echo(json.dumps(schema, indent=2, ensure_ascii=False))


def _of_findings() -> dict[str, object]:
    """Every kind of finding with its weight and what it is about."""
    from curewindow.findings import KINDS
    from curewindow.findings.parameters import PARAMETERS

    return {
        "kinds": {
            kind.name: {
                "weight": kind.weight,
                "meaning": kind.meaning,
                "always": list(kind.needs),
                "sometimes": list(kind.may),
                "follows_from_others": kind.because,
            }
            for kind in KINDS.values()
        },
        "about": {
            name: {"type": parameter.sort, "meaning": parameter.meaning}
            for name, parameter in PARAMETERS.items()
        },
    }


def _of_answer(name: str) -> dict[str, object]:
    """Schema of the answer of a command."""
    known = " ".join(name.split()).removeprefix("curewindow ")
    if known not in ANSWERS:
        raise click.UsageError(f"there is no answer of '{name}'; {nearest_or_all(known, ANSWERS)}")
    module, model = ANSWERS[known]
    schema: dict[str, object] = getattr(importlib.import_module(module), model).model_json_schema(
        mode="serialization"
    )
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
