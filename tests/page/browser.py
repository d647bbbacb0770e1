"""The system's own Chromium, driven by Playwright; found, or skipped with the reason."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser, sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome")
QUIET = (
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--no-first-run",
    "--disable-dev-shm-usage",
)


def chromium() -> str:
    """Where it is; without one the test is skipped, or fails where nothing may be skipped."""
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is not None:
        return found
    reason = f"no browser on PATH: looked for {', '.join(NAMES)}"
    if os.environ.get("CUREWINDOW_NOTHING_SKIPPED") == "1":
        pytest.fail(reason)
    pytest.skip(reason)


@contextmanager
def open_browser() -> Iterator[Browser]:
    """A browser without a window."""
    path = chromium()
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=list(QUIET))
        try:
            yield browser
        finally:
            browser.close()
