"""Commands run on a boat folder."""

from __future__ import annotations

from tests.cli.conftest import run

__all__ = ["run"]
