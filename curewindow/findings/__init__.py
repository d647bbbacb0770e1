"""Findings: everything worth telling, typed and complete, without a sentence yet."""

from curewindow.findings.finding import WEIGHTS, Finding, Weight, finding
from curewindow.findings.kinds import KINDS

__all__ = ["KINDS", "WEIGHTS", "Finding", "Weight", "finding"]
