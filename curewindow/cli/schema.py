"""`curewindow schema`: JSON Schemas of the hand-written files."""

from __future__ import annotations

import click

# As curewindow.boat.jsonschema.FILE_NAMES; written out so that --help imports no models.
_FILES = ("sheet", "boat", "work")


@click.command(name="schema")
@click.argument("file", type=click.Choice(_FILES))
def command(file: str) -> None:
    """Print the JSON Schema of a FILE you write by hand.

    Save it beside the file and let its first line say so, and your editor
    completes and checks keys:

    \b
      curewindow schema boat > boat.schema.json
      #:schema ./boat.schema.json
    """
    import json

    from curewindow.boat.jsonschema import FILE_NAMES, schema_for

    name = next(known for known in FILE_NAMES if known == file)
    click.echo(json.dumps(schema_for(name), indent=2, ensure_ascii=False))
