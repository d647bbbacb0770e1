"""The command line's front door: which commands there are, and how a run ends.

Only the one command that was asked for is imported, so that ``--help`` and shell
completion answer at once. This is the only place that turns errors into exit codes.

==== ==================================================================
code meaning
==== ==================================================================
0    answered ('nothing can be coated today' is an answer)
1    answered, and something that was checked is not in order
2    asked in a way that cannot be answered: usage, or a name not there
3    a hand-written or imported file cannot be used
4    no usable weather
5    the record cannot be read or written
6    the answer cannot be written: standard output is closed, or its disk is full
70   a fault in the program itself
130  stopped with Ctrl-C
141  whoever read the answer (head, less) has gone
==== ==================================================================
"""

from __future__ import annotations

import contextlib
import importlib
import io
import os
import sys
from collections.abc import Iterator, Sequence
from typing import Any, NoReturn

import click

from curewindow import __version__
from curewindow.ending import brief, on_os_error, silence
from curewindow.errors import (
    EXIT_FAULT,
    EXIT_OUTPUT,
    EXIT_STOPPED,
    EXIT_UNREAD,
    EXIT_USAGE,
    CurewindowError,
    NotFoundError,
)
from curewindow.nearest import nearest_or_all

# name -> (module with an attribute `command`, help line). The lines stand here so
# that listing the commands imports none of them.
COMMANDS: dict[str, tuple[str, str]] = {
    "today": ("curewindow.cli.day", "What can be coated today, until when, and why not."),
    "windows": ("curewindow.cli.windows", "The windows ahead, job by job."),
    "why": ("curewindow.cli.why", "One start explained: what stands in the way, what is kept."),
    "whatif": ("curewindow.cli.whatif", "Warmer, aired, more heat: what it would do."),
    "picture": ("curewindow.cli.picture", "The coming days of a space or a job, drawn."),
    "heat": ("curewindow.cli.heat", "What heat would open a start, and what it takes."),
    "plan": ("curewindow.cli.plan", "All the work in order: what when, why then, done by when."),
    "outlook": ("curewindow.cli.outlook", "The chance of being done by the date, by past years."),
    "paper": ("curewindow.cli.paper", "The planned week to print and hang up; the plan as CSV."),
    "buy": ("curewindow.cli.buy", "What to buy for the coming weeks, and how much."),
    "calendar": ("curewindow.cli.calendar", "The days ahead for your calendar (iCalendar)."),
    "log": ("curewindow.cli.log", "Write down readings, coats and finished steps."),
    "learn": ("curewindow.cli.learn", "What readings tell of a cabin: leaks, insulation, damp."),
    "trust": ("curewindow.cli.trust", "How far to trust forecasts and windows, by what came."),
    "sheets": ("curewindow.cli.sheets", "Product sheets: list, show, check, start a new one."),
    "setup": ("curewindow.cli.setup", "Describe your boat: a few questions, two files."),
    "demo": ("curewindow.cli.demo", "A made-up boat to try everything on, no network needed."),
    "backup": ("curewindow.cli.backup", "A whole copy of the boat folder in one file."),
    "restore": ("curewindow.cli.restore", "A boat folder brought back from such a copy."),
    "schema": ("curewindow.cli.schema", "JSON Schemas of the files, for your editor."),
    "completion": ("curewindow.cli.completion", "Completion script for your shell."),
}
DEFAULT = "today"
OWN_OPTIONS = ("-h", "--help", "--version", "--debug")


class ReaderGoneError(Exception):
    """Whoever read our output (head, less) has gone: nothing is wrong."""


@contextlib.contextmanager
def _reader_there() -> Iterator[None]:
    try:
        yield
    except BrokenPipeError:
        raise ReaderGoneError from None


class LazyGroup(click.Group):
    """A group that imports a command only when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names, in the order in which they are met with."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the module of a command; None where there is none of that name."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(COMMANDS[cmd_name][0]).command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, or say which one was probably meant."""
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            hint = nearest_or_all(name, COMMANDS)
            raise click.UsageError(f"there is no command '{name}'; {hint}", ctx=None)
        return super().resolve_command(ctx, args)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Options without a command belong to the day sheet: ``curewindow --boat DIR``."""
        if args and args[0].startswith("-") and args[0] not in OWN_OPTIONS:
            args = [DEFAULT, *args]
        return super().parse_args(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table, importing none."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[Any]:
        """Complete command names from the table, importing none."""
        from click.shell_completion import CompletionItem

        named = [
            CompletionItem(name, help=text)
            for name, (_, text) in COMMANDS.items()
            if name.startswith(incomplete)
        ]
        return named + click.Command.shell_complete(self, ctx, incomplete)

    def make_context(self, *args: Any, **extra: Any) -> click.Context:
        """As click does; help is printed here."""
        with _reader_there():
            return super().make_context(*args, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        """As click does, but for a reader that has gone: click would end with 1 by itself."""
        with _reader_there():
            return super().invoke(ctx)

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,
    ) -> Any:
        """Run, and end with one clear line and an exit code whatever happens."""
        given = list(sys.argv[1:] if args is None else args)
        extra["windows_expand_args"] = windows_expand_args
        if not standalone_mode:
            return super().main(given, prog_name, complete_var, False, **extra)
        debug = "--debug" in given or bool(os.environ.get("CUREWINDOW_DEBUG"))
        given = [argument for argument in given if argument != "--debug"]
        if debug:
            import logging

            logging.basicConfig(level=logging.DEBUG, format="%(name)s: %(message)s")
        if sys.stdout is None:
            _end("the answer cannot be written: standard output is closed", EXIT_OUTPUT)
        try:
            result = super().main(given, prog_name, complete_var, False, **extra)
            sys.stdout.flush()
        except click.ClickException as bad:
            if isinstance(bad, getattr(click.exceptions, "NoArgsIsHelpError", ())):
                click.echo(bad.format_message(), err=True)  # a group alone: its help
                sys.exit(EXIT_USAGE)
            _end(_usage_line(bad), bad.exit_code)
        except click.Abort:
            click.echo("\nstopped", err=True)
            sys.exit(EXIT_STOPPED)
        except CurewindowError as bad:
            if debug:
                raise
            _end(str(bad), bad.exit_code)
        except ReaderGoneError:
            silence()
            sys.exit(EXIT_UNREAD)
        except OSError as bad:
            if debug and bad.filename is not None:
                raise
            line, code = on_os_error(bad)
            if not line:
                sys.exit(code)
            _end(line, code)
        except UnicodeEncodeError as bad:
            if debug:
                raise
            shown = ascii(bad.object)[1:-1]
            _end(f"'{brief(shown)}' is not text in UTF-8; write it otherwise", EXIT_USAGE)
        except Exception as bad:
            if debug:
                raise
            _end(
                f"a fault in curewindow itself ({type(bad).__name__}: {bad}); "
                "run again with --debug for the details",
                EXIT_FAULT,
            )
        sys.exit(result if isinstance(result, int) else 0)


def _end(text: str, code: int) -> NoReturn:
    click.echo(f"error: {' '.join(text.split())}", err=True)
    sys.exit(code)


def _usage_line(bad: click.ClickException) -> str:
    text = bad.format_message()
    if isinstance(bad, click.UsageError) and bad.ctx is not None:
        text = f"{text.rstrip('.')} (see '{bad.ctx.command_path} --help')"
    return text


@click.group(
    name="curewindow",
    cls=LazyGroup,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    epilog="Without a command: the day sheet of the boat folder you are in.",
)
@click.version_option(__version__, prog_name="curewindow")
@click.option("--debug", is_flag=True, help="Show the details when something goes wrong.")
@click.pass_context
def command(ctx: click.Context, debug: bool) -> None:
    """When a coat may go on, from product sheets, the weather and the cabin."""
    if ctx.invoked_subcommand is not None:
        return
    from curewindow.boat.folder import find_folder

    try:
        find_folder(None)
    except NotFoundError:
        click.echo(ctx.get_help())
        click.echo(
            "\nNo boat here yet: 'curewindow demo' shows one, 'curewindow setup' starts yours."
        )
        return
    day = command.get_command(ctx, DEFAULT)
    assert day is not None
    ctx.invoke(day)


def run() -> None:
    """Entry point of the installed command."""
    import atexit
    import gc

    # One answer a process: looking for garbage, while importing and once more at the end,
    # costs more than it frees.
    gc.set_threshold(100_000)
    atexit.register(gc.freeze)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # an old terminal knows no '°'
    # None is used here, and looking for any reads every package that is installed.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    command.main(prog_name="curewindow")
