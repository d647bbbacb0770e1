"""What can go wrong, in words a boat owner understands.

::

    CurewindowError
    ├── InputFileError      a hand-written file cannot be used (file, key, remedy)
    │   ├── SheetError      ... a product sheet
    │   ├── BoatError       ... boat.toml or work.toml
    │   ├── CsvError        ... an imported table
    │   └── BackupError     ... a copy of a boat folder
    ├── QuantityError       a text is not a quantity with a unit
    ├── NotFoundError       a sheet, job, space or boat folder of that name is not there
    ├── NotDueError         a coat or step that does not come next
    ├── WeatherError        no usable weather
    └── RecordError         the record cannot be read or written

Only the command line and the service catch these; each message is one line
and says what is wrong and what would be right. What has to be typed, or tapped, then
stands in fields of its own: a face shows its own remedy and never cuts the other's out.
"""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import ClassVar

EXIT_USAGE, EXIT_INPUT, EXIT_WEATHER, EXIT_RECORD, EXIT_OUTPUT = 2, 3, 4, 5, 6
EXIT_FAULT, EXIT_STOPPED, EXIT_UNREAD = 70, 130, 141


class CurewindowError(Exception):
    """Base of every error that is meant to be read by the boat owner.

    Parameters
    ----------
    problem : str
        What is wrong and what would be right, one line, true wherever it is read.
    file : path or str, optional
        The file it stands in.
    key : str, optional
        The key (dotted) or line it stands at.
    by_command : str, optional
        What to type then: only a command line says it.
    on_page : str, optional
        What to do on the page then: only the page says it.
    """

    exit_code: ClassVar[int] = EXIT_USAGE
    """How a command ends that met it."""

    def __init__(
        self,
        problem: str = "",
        *,
        file: Path | str | None = None,
        key: str | None = None,
        by_command: str = "",
        on_page: str = "",
    ):
        self.problem = problem
        self.file = None if file is None else str(file)
        self.key = key
        self.place = ""
        """Where in the file that is, as people find it; in the place of the key when told."""
        self.by_command = by_command
        self.on_page = on_page
        super().__init__(problem)

    def __str__(self) -> str:
        return _one_line((self.file, self.place or self.key, self.problem), self.by_command)

    def for_page(self, folder: Path | None = None) -> str:
        """The same as a page says it: no options, files by their name in the boat folder."""
        file = self.file
        if file is not None and folder is not None and Path(file).is_relative_to(folder):
            within = Path(file).relative_to(folder)
            file = str(within) if within.parts else "the boat folder"
        return _one_line((file, self.place or self.key, self.problem), self.on_page)


_LONGEST_WORD = 160


def _one_line(parts: tuple[str | None, ...], remedy: str) -> str:
    said = ": ".join(_shown(part) for part in parts if part)
    return f"{said}; {remedy}" if remedy else said


def _shown(text: str) -> str:
    """What can be shown of a text that quotes a file: letters alone, and no word without end."""
    plain = "".join(letter if letter.isprintable() or letter.isspace() else "?" for letter in text)
    words = ("".join(letters) for _, letters in groupby(plain, str.isspace))
    return "".join(
        word if len(word) < _LONGEST_WORD else f"{word[:80]}...{word[-40:]}" for word in words
    )


class InputFileError(CurewindowError):
    """A hand-written file cannot be used."""

    exit_code = EXIT_INPUT


class SheetError(InputFileError):
    """A product sheet cannot be used."""


class BoatError(InputFileError):
    """boat.toml or work.toml cannot be used."""


class CsvError(InputFileError):
    """An imported table cannot be used."""


class BackupError(InputFileError):
    """A copy of a boat folder cannot be made, or not be brought back."""


class QuantityError(CurewindowError, ValueError):
    """A text is not a quantity with a unit that fits."""


class NotFoundError(CurewindowError):
    """A name that was asked for does not exist."""


class NotDueError(CurewindowError):
    """What is to be written down is not what comes next by the record and the work list."""


class WeatherError(CurewindowError):
    """No usable weather can be had."""

    exit_code = EXIT_WEATHER


class RecordError(CurewindowError):
    """The record cannot be read or written."""

    exit_code = EXIT_RECORD
