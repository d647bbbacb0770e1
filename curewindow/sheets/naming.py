"""What a sheet calls its product, made short."""

from __future__ import annotations


def short_name(name: str) -> str:
    """'Oil varnish' of 'Oil varnish, satin (typical)': the name without what comes after it."""
    return name.split(",")[0].split(" (")[0]
