"""The whole plan as CSV: a row a step, times on the boat's clock with their offset."""

from __future__ import annotations

import csv
import io
from datetime import datetime
from zoneinfo import ZoneInfo

from curewindow.order.plan import Plan

COLUMNS = (
    "start",
    "end",
    "hard",
    "job",
    "where",
    "do",
    "product",
    "coat",
    "of_coats",
    "sitting",
    "of_sittings",
    "hold_c",
    "heat_from",
    "heat_until",
    "must_by",
    "sand_for_missed",
    "wipe_first",
    "held",
    "moves_the_date",
    "typical_weather",
    "spare_h",
    "why",
)
# A spreadsheet takes a text that begins so for a formula (OWASP, CSV injection).
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def plan_csv(plan: Plan) -> str:
    """All steps of a plan.

    RFC 4180 with a header; temperatures °C; times ISO 8601 in the boat's zone; empty: none.
    """
    zone = ZoneInfo(plan.time_zone)

    def at(moment: datetime | None) -> str:
        return "" if moment is None else moment.astimezone(zone).isoformat(timespec="minutes")

    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for step in plan.steps:
        writer.writerow(
            (
                at(step.start),
                at(step.end),
                at(step.hard),
                _text(step.job),
                _text(step.where),
                step.do,
                _text(step.product or ""),
                "" if step.coat is None else step.coat,
                "" if step.of_coats is None else step.of_coats,
                step.sitting,
                step.of_sittings,
                "" if step.setpoint_c is None else f"{step.setpoint_c:g}",
                at(step.heat_from),
                at(step.heat_until),
                at(step.must_by),
                _yes(step.sanding_for_missed),
                _yes(step.wipe_first),
                _yes(step.fixed),
                _yes(step.critical),
                _yes(step.typical_weather),
                f"{step.slack_h:.1f}",
                _text(step.why),
            )
        )
    return out.getvalue()


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _text(value: str) -> str:
    return f"'{value}" if value.startswith(_FORMULA) else value
