"""The answer of commands that write files: what was written."""

from __future__ import annotations

from pydantic import Field

from curewindow.answers import Answer


class Written(Answer):
    """Files that were written."""

    folder: str = Field(description="the folder they are in")
    files: list[str] = Field(description="files and folders in it, each relative to it")
