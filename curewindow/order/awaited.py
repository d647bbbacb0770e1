"""What a task waits for, as a finding."""

from __future__ import annotations

from curewindow.findings import Finding, finding
from curewindow.order.problem import Bound


def awaited(bound: Bound) -> Finding:
    """What a bound from outside the order of work waits for."""
    name = bound.name or None
    if bound.kind == "delivery":
        return finding("awaited", state=bound.kind, thing=name)
    return finding("awaited", state=bound.kind, other_job=name)
