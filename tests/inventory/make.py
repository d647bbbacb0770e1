"""All that people and programs may hold on to, one a line: commands, files, answers, pages.

``python tests/inventory/make.py`` brings ``inventory.txt`` up to date. It only ever adds: what
the house has no more keeps its line there, and stands in ``left_on_purpose.txt`` with the reason,
as ``LINE -- why it left``; a ``*`` in LINE stands for anything. The test beside this holds both
files against the house as it is.
"""

from __future__ import annotations

import contextlib
import importlib
import json
import re
import sqlite3
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args
from unittest.mock import MagicMock

import click

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
LISTED, LEFT = HERE / "inventory.txt", HERE / "left_on_purpose.txt"
TEMPLATES = ROOT / "service" / "curewindow_service" / "page" / "templates"
_WHY = " -- "
_BOAT = """
name = "listed"
[place]
latitude = 52.0
longitude = 5.0
time_zone = "UTC"
"""


def _commands(command: click.Command, name: str) -> Iterator[str]:
    if isinstance(command, click.Group):
        context = click.Context(command)
        for each in command.list_commands(context):
            below = command.get_command(context, each)
            assert below is not None, each
            yield f"command: {name} {each}"
            yield from _commands(below, f"{name} {each}")
    for param in command.params:
        if isinstance(param, click.Argument):
            yield f"argument: {name} {param.human_readable_name}"
        else:
            for word in (*param.opts, *param.secondary_opts):
                yield f"option: {name} {word}"
        if isinstance(param.type, click.Choice):
            for choice in param.type.choices:
                yield f"choice: {name} {param.opts[0]} {choice}"


def _literal(schema: dict[str, Any]) -> Iterator[Any]:
    """The values that are spelled out, also where there are several ways."""
    yield from schema.get("enum", [])
    if "const" in schema:
        yield schema["const"]
    for way in ("anyOf", "oneOf", "allOf"):
        for each in schema.get(way, []):
            yield from _literal(each)


def _keys(schema: dict[str, Any], at: str, parts: dict[str, Any], seen: frozenset[str]) -> Any:
    """Paths into a hand-written file, with the words that may stand there."""
    if "$ref" in schema:
        name = schema["$ref"].rsplit("/", 1)[-1]
        if name not in seen:
            yield from _keys(parts[name], at, parts, seen | {name})
        return
    for value in schema.get("enum", [schema["const"]] if "const" in schema else []):
        yield f"{at} = {value}"
    for way in ("anyOf", "oneOf", "allOf"):
        for each in schema.get(way, []):
            yield from _keys(each, at, parts, seen)
    for each in _as_list(schema.get("items")):
        yield from _keys(each, f"{at}[]", parts, seen)
    for name, each in schema.get("properties", {}).items():
        path = f"{at}.{name}"
        yield path
        yield from _keys(each, path, parts, seen)
    if isinstance(schema.get("additionalProperties"), dict):
        yield from _keys(schema["additionalProperties"], f"{at}.*", parts, seen)


def _as_list(items: Any) -> list[dict[str, Any]]:
    return [] if items is None else items if isinstance(items, list) else [items]


def _file_keys() -> Iterator[str]:
    from curewindow.cli.main import command

    group: Any = command
    schemas = group.get_command(click.Context(group), "schema")
    file = next(param for param in schemas.params if isinstance(param, click.Argument))
    for name in file.type.choices:
        schema = json.loads(_printed(schemas, [name]))
        parts = {**schema.get("$defs", {}), **schema.get("definitions", {})}
        yield from _keys(schema, f"key: {name}", parts, frozenset())


def _printed(command: click.Command, words: list[str]) -> str:
    from click.testing import CliRunner

    done = CliRunner().invoke(command, words, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.output


def _fields(name: str, schema: dict[str, Any]) -> Iterator[str]:
    for value in _literal(schema):
        yield f"field: {name} = {value}"
    for field, form in schema.get("properties", {}).items():
        yield f"field: {name}.{field}"
        for value in _literal(form):
            yield f"field: {name}.{field} = {value}"


def _answers() -> Iterator[str]:
    from curewindow.cli.schema import ANSWERS

    for command, (module, model) in ANSWERS.items():
        yield f"answer: {command} {model}"
        schema = getattr(importlib.import_module(module), model).model_json_schema(
            mode="serialization"
        )
        for name, each in {model: schema, **schema.get("$defs", {})}.items():
            yield from _fields(name, each)


def _pages(folder: Path) -> Iterator[str]:
    from curewindow_service.page.app import create_app
    from starlette.routing import Mount, Route

    folder.mkdir()
    (folder / "boat.toml").write_text(_BOAT, "utf-8")
    app = create_app(folder)
    for route in _routes(app):
        if isinstance(route, Mount):
            yield f"route: {route.path}"
        elif isinstance(route, Route):
            for method in sorted((route.methods or set()) - {"HEAD"}):
                yield f"route: {method} {route.path}"
            for where in ("path_params", "query_params", "header_params"):
                for field in getattr(getattr(route, "dependant", None), where, []):
                    yield f"parameter: {route.path} {field.alias}"
    for name, schema in app.openapi().get("components", {}).get("schemas", {}).items():
        yield from _fields(name, schema)
    for template in sorted(TEMPLATES.rglob("*.html")):
        for name in re.findall(r'<(?!meta)[^>]*\bname="([\w.-]+)"', template.read_text("utf-8")):
            yield f"form field: {name}"


def _routes(app: Any) -> Iterator[Any]:
    """Its routes, those of included routers too, however the framework keeps them."""
    for route in app.routes:
        inner = getattr(route, "original_router", None) or getattr(route, "router", None)
        if inner is not None and not hasattr(route, "methods"):
            yield from _routes(inner)
        else:
            yield route


def _metrics() -> Iterator[str]:
    """Whatever the metrics address tells of a day sheet with a space in it."""
    from curewindow_service.page.figures import Figures

    current = MagicMock()
    current.worked.sheet.spaces = [MagicMock(where="cabin")]
    current.worked.sheet.jobs = []
    for line in Figures(current).written()[0].decode().splitlines():
        if line.startswith("# TYPE ") and not line.split()[2].endswith("_created"):
            yield f"metric: {line.split()[2]}"


def _tables(folder: Path) -> Iterator[str]:
    """What the record keeps: an older file has to be read by every newer program."""
    from curewindow.record.store import Record

    with Record(folder / "empty.db"):
        pass
    with contextlib.closing(sqlite3.connect(folder / "empty.db")) as reader:
        for (table,) in reader.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
        ):
            for (column,) in reader.execute(f"SELECT name FROM pragma_table_info('{table}')"):
                yield f"record: {table}.{column}"


def _kinds() -> Iterator[str]:
    from curewindow.calendar import happening
    from curewindow.findings.kinds import notices
    from curewindow.reminders import models

    yield from (f"notice: {kind}" for kind in get_args(notices.NoticeKind))
    yield from (f"notice level: {level}" for level in models.LEVELS)
    yield from (f"calendar entry: {kind}" for kind in get_args(happening.Kind))


def _settings() -> Iterator[str]:
    for package in ("curewindow", "service"):
        for path in (ROOT / package).rglob("*.py"):
            for name in re.findall(r"\bCUREWINDOW_[A-Z_]+", path.read_text("utf-8")):
                yield f"environment: {name}"


def _names() -> Iterator[str]:
    import curewindow

    yield from (f"import: curewindow.{name}" for name in curewindow.__all__)


def _exit_codes() -> Iterator[str]:
    from curewindow import errors

    for name in dir(errors):
        if name.startswith("EXIT_"):
            yield f"exit code: {getattr(errors, name)} {name.removeprefix('EXIT_').lower()}"


def now() -> list[str]:
    """What there is now, sorted."""
    from curewindow_service.main import command as service

    from curewindow.cli.main import command

    with tempfile.TemporaryDirectory() as place:
        return sorted(
            {
                *_commands(command, "curewindow"),
                *_commands(service, "curewindow-service"),
                *_file_keys(),
                *_answers(),
                *_pages(Path(place) / "boat"),
                *_metrics(),
                *_tables(Path(place)),
                *_kinds(),
                *_settings(),
                *_names(),
                *_exit_codes(),
            }
        )


def read(path: Path) -> list[str]:
    """Its lines, without the headings."""
    lines = path.read_text("utf-8").splitlines() if path.exists() else []
    return [line for line in lines if line.strip() and not line.startswith("#")]


def left() -> dict[str, str]:
    """Why each line or group of lines left."""
    found = {}
    for line in read(LEFT):
        what, parted, why = line.partition(_WHY)
        if not parted or not why.strip():
            raise SystemExit(f"{LEFT.name}: '{line}' has no reason; write LINE{_WHY}why it left")
        found[what.strip()] = why.strip()
    return found


def matches(pattern: str, line: str) -> bool:
    """Whether a line is meant; ``*`` stands for anything."""
    return re.fullmatch(".*".join(map(re.escape, pattern.split("*"))), line) is not None


def main() -> None:
    """Bring the list up to date, and say what has left without a reason."""
    there, before = now(), read(LISTED)
    everything = sorted({*there, *before})
    head = "# All there ever was, made by tests/inventory/make.py; no line is taken out by hand.\n"
    LISTED.write_text(head + "\n".join(everything) + "\n", "utf-8")
    reasons = left()
    gone = [line for line in everything if line not in set(there)]
    bare = [line for line in gone if not any(matches(one, line) for one in reasons)]
    print(f"{len(there)} lines, {len(set(there) - set(before))} new, {len(gone)} gone")  # noqa: T201
    if bare:
        print(f"\nno reason yet; write each into {LEFT.name}, as LINE{_WHY}why it left:")  # noqa: T201
        print("\n".join(bare))  # noqa: T201
        sys.exit(1)


if __name__ == "__main__":
    sys.path[:0] = [str(ROOT), str(ROOT / "service")]
    main()
