"""A kept plan that cannot be used is made anew, and says so in one line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from curewindow.order.kept import KeptPlan, load


@pytest.mark.parametrize(
    "text",
    [
        json.dumps({"format": 1, "key": "k", "fixed": {}, "before": [], "plan": {"steps": [{}]}}),
        '{"format": 1}',
        "{",
        '{"format": 1, "key": "k", "fixed": {"a": "no time"}, "before": [], "plan": null}',
    ],
)
def test_one_line_and_nothing_kept(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, text: str
) -> None:
    (tmp_path / "plan.json").write_text(text, "utf-8")
    assert load(tmp_path).plan is None
    (said,) = caplog.messages
    assert "\n" not in said
    assert "it is made anew" in said


def test_no_file_is_nothing_kept(tmp_path: Path) -> None:
    assert load(tmp_path) == KeptPlan()
