"""What a kind of finding is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of finding.

    Attributes
    ----------
    name : str
    weight : {'danger', 'deadline', 'act', 'news', 'fact'}
    meaning : str
        For a program that reads it.
    needs, may : tuple of str
        Parameters it always, and sometimes, has.
    because : bool
        It follows from others, told with it.
    """

    name: str
    weight: Literal["danger", "deadline", "act", "news", "fact"]
    meaning: str
    needs: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    because: bool = False
