"""The installed wheel, from a folder without the source: import, shelf, day sheet, one page."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import curewindow_service

import curewindow
from curewindow.sheets.shelf import find_products_dir

DEMO = Path("wheel-demo")
WAIT_S = 120.0


def there() -> None:
    """It is the wheel's own files that are imported, its shelf with them."""
    for package in (curewindow, curewindow_service):
        assert "site-packages" in Path(str(package.__file__)).parts, package.__file__
    shelf = find_products_dir()
    assert shelf.name == "_products", shelf
    assert shelf.parent == Path(curewindow.__file__).parent, shelf
    sheets = len(list(shelf.glob("*.toml")))
    assert sheets > 5, sheets
    print("shelf:", sheets, "sheets in", shelf.name)


def typed(*words: str) -> str:
    """What the command prints."""
    done = subprocess.run(
        [str(Path(sys.executable).with_name("curewindow")), *words],
        check=True,
        capture_output=True,
        encoding="utf-8",
    )
    return done.stdout


def day_sheet() -> None:
    """The demo boat's morning."""
    typed("demo", str(DEMO))
    sheet = json.loads(typed("today", "--boat", str(DEMO), "--json"))
    assert sheet["jobs"], sheet
    assert sheet["spaces"], sheet
    print("day sheet:", len(sheet["jobs"]), "jobs,", len(sheet["spaces"]), "spaces")


def one_page() -> None:
    """The service aboard, asked once as a phone would."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    script = str(Path(sys.executable).with_name("curewindow-service"))
    service = subprocess.Popen([script, "run", "--boat", str(DEMO), "--port", str(port)])
    try:
        html = _fetched(f"http://127.0.0.1:{port}/", service)
    finally:
        service.terminate()
        ended = service.wait(30)
    assert "<html" in html, html[:500]
    assert ended in (0, 143, -15), ended
    print("page:", len(html), "characters")


def _fetched(address: str, service: subprocess.Popen[bytes]) -> str:
    until = time.monotonic() + WAIT_S
    while True:
        assert service.poll() is None, f"the service ended by itself with {service.returncode}"
        try:
            with urllib.request.urlopen(address, timeout=WAIT_S) as answer:
                assert answer.status == 200, answer.status
                text: str = answer.read().decode("utf-8")
                return text
        except (urllib.error.URLError, ConnectionError):
            assert time.monotonic() < until, "the page is not answered"
            time.sleep(0.5)


if __name__ == "__main__":
    os.environ["COLUMNS"] = "80"
    there()
    day_sheet()
    one_page()
