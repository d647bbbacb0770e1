"""Answers about one moment and about what would be: why not then, what if it were warmer."""

from curewindow.explain.models import LimitAt, Rule, Why
from curewindow.explain.one_start import why

__all__ = ["LimitAt", "Rule", "Why", "why"]
