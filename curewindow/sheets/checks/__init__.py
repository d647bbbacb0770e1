"""Does a sheet make sense as a whole? Errors make it unusable, warnings are shown with it."""

from curewindow.sheets.checks.result import CheckResult
from curewindow.sheets.checks.whole import check

__all__ = ["CheckResult", "check"]
