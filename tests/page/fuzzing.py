"""Every operation of the interface, called as its description allows and as it does not."""

from __future__ import annotations

import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.specs.openapi.checks import positive_data_acceptance

NEGATIVE = schemathesis.GenerationMode.NEGATIVE
# any text is a name: nothing to be sent that is not allowed, and long to find that out
NOTHING_FORBIDDEN = (
    "GET /api/today",
    "GET /api/sensors",
    "GET /api/sheets",
    "GET /api/sheets/{name}",
    "GET /api/reminders",
)


def fuzzed(base: str, examples: int) -> list[str]:
    """Call each operation; what went wrong, one text an operation.

    That whatever has the right form is accepted is not checked: a reading of 900 °C has it.

    Parameters
    ----------
    base : str
        Address of the page.
    examples : int
        Calls of each operation, and as many that its description forbids.
    """
    described = schemathesis.openapi.from_url(f"{base}/api/openapi.json")
    faults: list[str] = []
    for found in described.get_all_operations():
        operation = found.ok()
        for mode in (schemathesis.GenerationMode.POSITIVE, NEGATIVE):
            if mode is NEGATIVE and operation.label in NOTHING_FORBIDDEN:
                continue
            budget = settings(
                max_examples=examples,
                deadline=None,
                derandomize=True,
                database=None,
                phases=[Phase.generate],
                suppress_health_check=list(HealthCheck),
            )

            @budget
            @given(case=operation.as_strategy(generation_mode=mode))
            def called(case: schemathesis.Case) -> None:
                case.call_and_validate(excluded_checks=[positive_data_acceptance])

            try:
                called()
            except (Exception, BaseExceptionGroup) as bad:
                faults.append(f"{operation.label} ({mode.name.lower()}): {bad}")
    return faults
