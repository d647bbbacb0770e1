"""Findings: everything worth telling, typed and complete, without a sentence yet."""

from curewindow.findings.finding import WEIGHTS, Finding, Weight, finding, heaviest_first
from curewindow.findings.kinds import KINDS

__all__ = ["KINDS", "WEIGHTS", "Finding", "Weight", "finding", "heaviest_first"]
