"""JSON Schema of a hand-written file, for editors that complete and check TOML.

Written as draft 7, the newest draft that TOML language servers support widely.
"""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema

_DIALECT = "http://json-schema.org/draft-07/schema#"


class _Untitled(GenerateJsonSchema):
    """Without the titles made up from field names, which editors would show over every key."""

    schema_dialect = _DIALECT

    def field_title_should_be_set(self, schema: Any) -> bool:
        return False


def schema_of(model: type[BaseModel], title: str) -> dict[str, Any]:
    """JSON Schema (draft 7) of one kind of hand-written file.

    Parameters
    ----------
    model : type
        The file's model.
    title : str
        What the file is.

    Returns
    -------
    dict
        Ready for ``json.dumps``.
    """
    made = model.model_json_schema(
        by_alias=True,
        mode="validation",
        ref_template="#/definitions/{model}",
        schema_generator=_Untitled,
    )
    definitions = made.pop("$defs", {})
    made.pop("title", None)
    shaped: dict[str, Any] = _draft7(made)
    if definitions:
        shaped["definitions"] = {name: _draft7(body) for name, body in definitions.items()}
    return {"$schema": _DIALECT, "title": title, **shaped}


def _draft7(node: Any) -> Any:
    """Draft 7 ignores what stands beside a $ref, so it is wrapped; TOML has no null."""
    if isinstance(node, list):
        return [_draft7(item) for item in node]
    if not isinstance(node, dict):
        return node
    shaped = {key: _draft7(value) for key, value in node.items() if key != "default"}
    default = _without_nulls(node.get("default"))
    if default is not None and default != {}:
        shaped["default"] = default
    options = shaped.get("anyOf")
    if isinstance(options, list) and {"type": "null"} in options:
        options = [option for option in options if option != {"type": "null"}]
        if len(options) == 1:
            del shaped["anyOf"]
            shaped = {**options[0], **shaped}
        else:
            shaped["anyOf"] = options
    if "$ref" in shaped and len(shaped) > 1:
        shaped = {"allOf": [{"$ref": shaped.pop("$ref")}], **shaped}
    return shaped


def _without_nulls(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _without_nulls(v) for key, v in value.items() if v is not None}
    return value
