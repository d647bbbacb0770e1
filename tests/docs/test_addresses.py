"""An address that only shows how one is written belongs to nobody.

Its host is one that RFC 2606 and RFC 6761 keep for examples, this machine, or a range that
RFC 5737 and RFC 1918 give to no one; what the project really asks or cites is listed here.
"""

from __future__ import annotations

import ipaddress
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
WHERE = ("curewindow", "service", "tests", "products", "README.md", "DEVELOPERS.md")
SUFFIXES = {".py", ".toml", ".md", ".html", ".js", ".css", ".json", ".service", ".example", ""}

# What is asked over the network, what names a schema, and sources that are cited.
REAL = {
    "api.met.no",
    "api.weather.gov",
    "github.com",
    "json-schema.org",
    "open-meteo.com",
    "signalk.org",
    "sqlite.org",
    "www.w3.org",
    "www.weather.gov",
}
RESERVED = (
    "example",
    "example.com",
    "example.net",
    "example.org",
    "local",
    "localhost",
    "invalid",
    "test",
)
HOST = re.compile(
    r"\b[a-z][a-z0-9+.-]*://(?:[^\s/@\"'`<>]*@)?(?P<host>\[[0-9a-f:]+\]|[A-Za-z0-9.-]+)"
)
MAIL = re.compile(r"(?<![\w/])[\w.+-]+@(?P<host>[A-Za-z0-9-]+(?:\.[A-Za-z0-9-]+)+)\b")
NO_HOST = {"host", "..."}
"""Stands for any host where the form of an address is explained."""


def nobodys(host: str) -> bool:
    """Whether a host is kept for examples, or is this machine, or is no host at all."""
    name = host.strip("[].").casefold()
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        return "." not in name or any(name == one or name.endswith("." + one) for one in RESERVED)
    return not address.is_global


def _is_ours(path: Path) -> bool:
    """Not what services answered, nor the hosts that a guard has to see."""
    return "data" not in path.parts and path.name not in ("test_addresses.py", "test_committed.py")


def texts() -> dict[str, str]:
    found = {}
    for part in WHERE:
        top = ROOT / part
        for path in [top] if top.is_file() else sorted(top.rglob("*")):
            if path.suffix in SUFFIXES and path.is_file() and _is_ours(path):
                found[str(path.relative_to(ROOT))] = path.read_text("utf-8")
    return found


@pytest.mark.skipif(not (ROOT / "README.md").exists(), reason="no README beside the tests")
def test_examples_of_addresses_are_nobodys() -> None:
    wrong = [
        f"{name}: {match.group()}"
        for name, text in texts().items()
        for pattern in (HOST, MAIL)
        for match in pattern.finditer(text)
        if not nobodys(match["host"]) and match["host"] not in REAL | NO_HOST
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("see https://me:pw@shop.co/x", "shop.co"),
        ("'mailto://1.1.1.1:25'", "1.1.1.1"),
        ("to=owner@boats.net", "boats.net"),
    ],
)
def test_the_guard_sees_them(text: str, found: str) -> None:
    hosts = [match["host"] for each in (HOST, MAIL) for match in each.finditer(text)]
    assert found in hosts
    assert not nobodys(found)


@pytest.mark.parametrize(
    "host", ["example.org", "mx.example", "[::1]", "192.0.2.7", "boat.local", "10.0.0.4"]
)
def test_the_guard_lets_examples_pass(host: str) -> None:
    assert nobodys(host)
