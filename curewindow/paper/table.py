"""The whole plan as CSV: a row a step, times on the boat's clock with their offset."""

from __future__ import annotations

import csv
import io
from datetime import datetime
from zoneinfo import ZoneInfo

from curewindow.order.plan import LaterStep, Plan, PlannedStep
from curewindow.voice import short
from curewindow.wording import Wording

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
    "spare_h",
    "why",
    "likely_week",
    "chance_pct",
    "sure_week",
)
# A spreadsheet takes a text that begins so for a formula (OWASP, CSV injection).
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def plan_csv(plan: Plan) -> str:
    """All steps of a plan; of those beyond the forecast the weeks, by their Mondays, and no time.

    RFC 4180 with a header; temperatures °C; times ISO 8601 in the boat's zone; empty: none.
    """
    zone = ZoneInfo(plan.time_zone)
    words = Wording(zone, plan.as_of, plan.temperature_unit == "°F")

    def at(moment: datetime | None) -> str:
        return "" if moment is None else moment.astimezone(zone).isoformat(timespec="minutes")

    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for step in plan.steps:
        row = {
            "start": at(step.start),
            "end": at(step.end),
            "hard": at(step.hard),
            "hold_c": "" if step.setpoint_c is None else f"{step.setpoint_c:g}",
            "heat_from": at(step.heat_from),
            "heat_until": at(step.heat_until),
            "must_by": at(step.must_by),
            "sand_for_missed": _yes(step.sanding_for_missed),
            "wipe_first": _yes(step.wipe_first),
            "held": _yes(step.fixed),
            "moves_the_date": _yes(step.critical),
            "spare_h": "" if step.slack_h is None else f"{step.slack_h:.1f}",
            "why": _text(short(step.why, words)),
        }
        writer.writerow(_in_columns({**_which(step), **row}))
    for later in plan.later:
        row = {
            "start": at(later.held),
            "held": _yes(later.held is not None),
            "likely_week": "" if later.week is None else later.week.isoformat(),
            "chance_pct": "" if later.chance_pct is None else f"{later.chance_pct:.0f}",
            "sure_week": "" if later.sure_week is None else later.sure_week.isoformat(),
        }
        writer.writerow(_in_columns({**_which(later), **row}))
    return out.getvalue()


def _which(step: PlannedStep | LaterStep) -> dict[str, str | int]:
    """Which step it is, near or far."""
    return {
        "job": _text(step.job),
        "where": _text(step.where),
        "do": step.do,
        "product": _text(step.product or ""),
        "coat": "" if step.coat is None else step.coat,
        "of_coats": "" if step.of_coats is None else step.of_coats,
        "sitting": step.sitting,
        "of_sittings": step.of_sittings,
    }


def _in_columns(row: dict[str, str | int]) -> list[str | int]:
    return [row.get(name, "") for name in COLUMNS]


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _text(value: str) -> str:
    return f"'{value}" if value.startswith(_FORMULA) else value
