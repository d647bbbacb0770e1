"""What can go wrong, in words a boat owner understands.

::

    CurewindowError
    ├── InputFileError      a hand-written file cannot be used (file, key, remedy)
    │   ├── SheetError      ... a product sheet
    │   ├── BoatError       ... boat.toml or work.toml
    │   └── CsvError        ... an imported table
    ├── QuantityError       a text is not a quantity with a unit
    ├── NotFoundError       a sheet, job, space or boat folder of that name is not there
    ├── WeatherError        no usable weather
    └── RecordError         the record cannot be read or written

Only the command line and the service catch these; each message is one line
and says what is wrong and what would be right.
"""

from __future__ import annotations

from pathlib import Path


class CurewindowError(Exception):
    """Base of every error that is meant to be read by the boat owner."""


class InputFileError(CurewindowError):
    """A hand-written file cannot be used.

    Parameters
    ----------
    problem : str
        What is wrong and what would be right, one line.
    file : path or str, optional
        The file it stands in.
    key : str, optional
        The key (dotted) or line it stands at.
    """

    def __init__(self, problem: str, *, file: Path | str | None = None, key: str | None = None):
        self.problem = problem
        self.file = None if file is None else str(file)
        self.key = key
        where = ": ".join(part for part in (self.file, key) if part)
        super().__init__(f"{where}: {problem}" if where else problem)


class SheetError(InputFileError):
    """A product sheet cannot be used."""


class BoatError(InputFileError):
    """boat.toml or work.toml cannot be used."""


class CsvError(InputFileError):
    """An imported table cannot be used."""


class QuantityError(CurewindowError, ValueError):
    """A text is not a quantity with a unit that fits."""


class NotFoundError(CurewindowError):
    """A name that was asked for does not exist."""


class WeatherError(CurewindowError):
    """No usable weather can be had."""


class RecordError(CurewindowError):
    """The record cannot be read or written."""
