"""Nothing reads our own sentences: a program goes by fields, never by words it made itself.

Text from outside (files, feeds, forms, addresses, what somebody typed) has to be taken
apart, and every module that does so is named here with what it reads. Anywhere else a
call that cuts, searches or rewrites a string is a fault: what it looks for was known, as
a field, where the sentence was made.
"""

from __future__ import annotations

import ast
import functools
import re
from collections.abc import Collection, Iterator
from pathlib import Path

import pytest

from tests import sources

ROOT = Path(__file__).resolve().parents[1]
TEMPLATES = ROOT / "service" / "curewindow_service" / "page" / "templates"

# Module (or folder, with a slash) -> the text from outside that it reads or lays out.
READS = {
    "curewindow/backup.py": "names of files",
    "curewindow/boat/addresses.py": "addresses in hand-written files, and names of keys",
    "curewindow/boat/checks.py": "an address in boat.toml",
    "curewindow/boat/sensorchecks.py": "topics, paths and addresses in boat.toml",
    "curewindow/boat/substrate.py": "what the owner says a job goes on, in known words",
    "curewindow/boat/servicechecks.py": "addresses in boat.toml",
    "curewindow/charts/terminal.py": "characters a terminal does not have",
    "curewindow/cli/common.py": "what is typed, for completion",
    "curewindow/cli/firstfiles.py": "a space as it is typed",
    "curewindow/cli/logcorrect.py": "the number of an entry as it is typed",
    "curewindow/cli/main.py": "arguments as they are typed",
    "curewindow/cli/schema.py": "the name of a command as it is typed",
    "curewindow/cli/sheetfiles.py": "names and comments of sheets",
    "curewindow/cli/text.py": "blanks that keep a figure and its unit together",
    "curewindow/cli/whatif.py": "times and doors as they are typed",
    "curewindow/conditions/learned_file.py": "tables of a file people may edit",
    "curewindow/curing/laws.py": "the first words of a sheet's 'basis', and names of its keys",
    "curewindow/daysheet/heldat.py": "a time as it is typed",
    "curewindow/daysheet/holding.py": "a step as it is typed",
    "curewindow/demo/files.py": "dates in the demo's files",
    "curewindow/drawing.py": "digits in an SVG file",
    "curewindow/explain/drier.py": "a dehumidifier as it is typed",
    "curewindow/fleet/one.py": "line ends in what the system says is wrong",
    "curewindow/handwritten.py": "keys of a file, and what its reader says of them",
    "curewindow/heating/room.py": "names of fields",
    "curewindow/logbook/entry.py": "times and values as they are typed",
    "curewindow/order/conflict.py": "names of constraints, as the solver gives them back",
    "curewindow/paper/layout.py": "words that go on the next line",
    "curewindow/paper/print_page.py": "a class name of HTML",
    "curewindow/paper/table.py": "what a spreadsheet takes for a formula",
    "curewindow/quantity/": "quantities as they are typed",
    "curewindow/record/": "loggers' tables, and SQL",
    "curewindow/rules/solvent.py": "the name of a solvent in a sheet",
    "curewindow/sheets/checks/": "names and words of sheets",
    "curewindow/sheets/naming.py": "what a sheet calls its product",
    "curewindow/sheets/schema.py": "the first word of a sheet's 'basis', and names of its keys",
    "curewindow/sheets/shelf.py": "names of sheets as they are typed",
    "curewindow/weather/": "answers of feeds, weather files, addresses",
    "curewindow/wording.py": "times as they are typed; figures kept with their units",
    "service/curewindow_service/channels/": "addresses, and control characters of mail",
    "service/curewindow_service/main.py": "line ends in what a library says went wrong",
    "service/curewindow_service/outboxrows.py": "keys of notices, by how they begin",
    "service/curewindow_service/page/boatform.py": "what a form brings",
    "service/curewindow_service/page/guard.py": "headers of HTTP",
    "service/curewindow_service/page/loginpages.py": "an address to go back to",
    "service/curewindow_service/page/plainroutes.py": "names of files",
    "service/curewindow_service/page/render.py": "names and kinds of files",
    "service/curewindow_service/page/sessions.py": "cookies",
    "service/curewindow_service/page/settings.py": "names of hosts",
    "service/curewindow_service/page/settingpages.py": "the key of a field",
    "service/curewindow_service/page/app.py": "the path of an address",
    "service/curewindow_service/sensors/": "what sensors and servers send",
}

# Still to go: how many such calls each module has. A number may only fall.
LEFT: dict[str, int] = {}

_CUTS = {
    "partition",
    "rpartition",
    "split",
    "rsplit",
    "removeprefix",
    "removesuffix",
    "startswith",
    "endswith",
}
_SEARCHES = {"match", "search", "fullmatch", "sub", "subn", "findall", "finditer"}
# What a sentence is called where somebody looks for a word in it.
_SENTENCES = {"body", "line", "message", "note", "problem", "reason", "said", "sentence"}
_SENTENCES |= {"text", "title", "where", "why", "words"}
_IN_TEMPLATE = re.compile(
    r"\|\s*replace\(|\.(?:r?split|r?partition|replace|startswith|endswith|removeprefix|removesuffix)\("
)
_NO_STRINGS = {"np", "os", "shlex"}  # np.split, os.replace


def _calls(nodes: Collection[ast.AST]) -> Iterator[tuple[int, str]]:
    """Calls that take a string apart, by line."""
    for node in nodes:
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
            continue
        owner, name = node.func.value, node.func.attr
        named = owner.id if isinstance(owner, ast.Name) else ""
        if named in _NO_STRINGS:
            continue
        if (
            name in _CUTS
            # a datetime's and a model's replace() name what they replace, a path's has one argument
            or (name == "replace" and len(node.args) >= 2)
            or (name in _SEARCHES and (named == "re" or named.isupper()))
        ):
            yield node.lineno, name
    for node in nodes:
        if isinstance(node, ast.Compare) and isinstance(node.ops[0], ast.In | ast.NotIn):
            looked_in = node.comparators[0]
            called = looked_in.attr if isinstance(looked_in, ast.Attribute) else ""
            called = looked_in.id if isinstance(looked_in, ast.Name) else called
            if called in _SENTENCES and isinstance(node.left, ast.Constant):
                yield node.lineno, "in"


def _allowed(path: str) -> bool:
    return any(path == one or (one.endswith("/") and path.startswith(one)) for one in READS)


@functools.cache
def _found() -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for folder in ("curewindow", "service"):
        for file in sorted((ROOT / folder).rglob("*.py")):
            path = file.relative_to(ROOT).as_posix()
            calls = list(_calls(sources.nodes(file)))
            if calls and not _allowed(path):
                found[path] = [f"{path}:{line}: .{name}()" for line, name in calls]
    return found


def test_nothing_takes_our_own_sentences_apart() -> None:
    found = _found()
    more = [
        line for path, calls in found.items() if len(calls) > LEFT.get(path, 0) for line in calls
    ]
    assert not more, (
        "give what is looked for a field where the sentence is made; text from outside "
        "belongs to a module named in READS:\n" + "\n".join(more)
    )


def test_what_is_left_only_shrinks() -> None:
    found = {path: len(calls) for path, calls in _found().items()}
    fewer = {path: found.get(path, 0) for path, count in LEFT.items() if found.get(path, 0) < count}
    assert not fewer, f"lower these in LEFT, or take them out at 0: {fewer}"


def test_every_module_allowed_to_read_is_there_and_reads() -> None:
    for one in READS:
        place = ROOT / one
        files = sorted(place.rglob("*.py")) if place.is_dir() else [place]
        assert any(file.is_file() and list(_calls(sources.nodes(file))) for file in files), (
            f"{one} takes no text apart (any more): take it out of READS"
        )


@pytest.mark.parametrize("file", sorted(TEMPLATES.glob("*.html")), ids=lambda file: file.name)
def test_no_template_takes_a_sentence_apart(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    wrong = re.findall(
        r"\|\s*replace\(|\.(?:r?split|r?partition|replace|startswith|endswith|removeprefix|removesuffix)\(",
        text,
    )
    assert not wrong, f"{file.name}: {wrong}"


@pytest.mark.parametrize(
    "code",
    [
        "a.where.partition(',')[0]",
        "said.startswith('now')",
        "text.replace(' °C', '')",
        "re.sub('today', 'Thu', line)",
        "_TIMES.sub('', reason)",
        "words.temp(21.0).split()[0]",
        "[note for note in notes if 'heater' not in note]",
    ],
)
def test_the_guard_sees(code: str) -> None:
    assert list(_calls(tuple(ast.walk(ast.parse(code)))))


@pytest.mark.parametrize(
    "code",
    [
        "at.replace(hour=8)",
        "part.replace(path)",
        "os.replace(a, b)",
        "np.split(x, 3)",
        "'a' in keys",
    ],
)
def test_the_guard_lets_be(code: str) -> None:
    assert not list(_calls(tuple(ast.walk(ast.parse(code)))))
