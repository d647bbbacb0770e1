"""What is committed names no host that is not meant to be read or asked, and nobody's folders.

Every host and every rooted path is held against what may be named, so that nothing that may not
has to be listed. Addresses with a scheme: :mod:`tests.docs.test_addresses`.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.docs.test_addresses import REAL, nobodys

ROOT = Path(__file__).resolve().parents[2]
# Asked by default, and only there named in full.
ASKED = {
    "api.open-meteo.com",
    "archive-api.open-meteo.com",
    "customer-api.open-meteo.com",
    "ensemble-api.open-meteo.com",
}
CITED = {"keepachangelog.com", "semver.org", "weather-gov.github.io"}
_BARE = re.compile(r"(?<![\w.@%-])((?:[a-z0-9-]+\.)+(?:com|dev|io|net|org|sh))(?![\w-]|\.\w)")
# Folders that every system has (Filesystem Hierarchy Standard), and no one's own.
SYSTEM = {"bin", "boot", "dev", "etc", "lib", "media", "mnt", "opt", "proc", "run", "sbin", "srv"}
SYSTEM |= {"sys", "tmp", "usr", "var"}
# Rooted, yet no paths of a disk: our own pages, other services' interfaces, JSON pointers.
ROUTES = {"api", "curewindow", "log", "reminders", "settings", "sheets", "static"}
INTERFACES = {"gridpoints", "points", "self", "signalk", "v1", "weatherapi"}
POINTERS = {"components", "definitions"}
MADE_UP = {"a", "all", "demo-boat", "nowhere", "system", "wheel"}
_ROOTED = re.compile(r"(?:(?<=[\s\"'`(=,:|])|^)/([A-Za-z][\w.-]*)/[\w.-]")
_GUARDS = {Path(__file__), Path(__file__).with_name("test_addresses.py")}


def _committed() -> list[Path]:
    """What git has; where there is no git (an unpacked archive), all there is."""
    if (ROOT / ".git").exists():
        listed = subprocess.run(
            ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
        )
        return [ROOT / name for name in listed.stdout.split("\0") if name]
    return [path for path in ROOT.rglob("*") if path.is_file() and ".venv" not in path.parts]


def _texts() -> Iterator[tuple[str, str]]:
    for path in _committed():
        if path not in _GUARDS and path.is_file():
            try:
                yield str(path.relative_to(ROOT)), path.read_text(encoding="utf-8")
            except UnicodeDecodeError:
                continue


def _strangers(text: str) -> set[str]:
    known = REAL | ASKED | CITED
    return {host for host in _BARE.findall(text) if host not in known and not nobodys(host)}


def _folders(text: str) -> set[str]:
    known = SYSTEM | ROUTES | INTERFACES | POINTERS | MADE_UP
    return {root for root in _ROOTED.findall(text) if root not in known}


@pytest.mark.parametrize("text", ["--index https://some.where.org/x", "grep files.some.net"])
def test_the_guard_sees_a_host(text: str) -> None:
    assert _strangers(text)


@pytest.mark.parametrize("text", ["/home/me", "cd /Users/someone/boat", 'x = "/barn/a"'])
def test_the_guard_sees_a_folder_of_a_machine(text: str) -> None:
    assert _folders(text)


def test_only_hosts_meant_to_be_named_are_named() -> None:
    wrong = {path: found for path, text in _texts() if (found := _strangers(text))}
    assert not wrong, f"use a host kept for examples, or list it if it is cited: {wrong}"


def test_no_folder_of_a_machine_is_named() -> None:
    wrong = {path: found for path, text in _texts() if (found := _folders(text))}
    assert not wrong, f"use a path of the boat folder, or one every system has: {wrong}"


def test_no_lock_file_with_addresses_is_committed() -> None:
    assert not [path for path in _committed() if path.name == "uv.lock"]
