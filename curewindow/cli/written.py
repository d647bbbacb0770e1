"""The answer of commands that write files: what was written."""

from __future__ import annotations

from datetime import datetime

from pydantic import Field

from curewindow.answers import Answer


class Written(Answer):
    """Files that were written."""

    folder: str = Field(description="the folder they are in")
    files: list[str] = Field(description="files and folders in it, each relative to it")


class BackedUp(Answer):
    """`backup --json`: what is in the copy."""

    file: str
    folder: str = Field(description="the boat folder")
    files: list[str] = Field(description="what it holds, relative to the boat folder")
    bytes: int = Field(description="length of the copy")
    secrets: list[str] = Field(description="files in it that hold passwords")
    damaged: list[str] = Field(description="databases in it as they were found: damaged")
    left_out: list[str] = Field(description="what is no file, or a link to a folder elsewhere")


class BroughtBack(Answer):
    """`restore --json`: what came back."""

    folder: str
    files: list[str] = Field(description="relative to the folder")
    made: datetime = Field(description="when the copy was made")
    aside: str | None = Field(description="where the folder that was there lies now")
