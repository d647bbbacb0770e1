"""How sure a margin is: counted in standard errors of the forecast."""

from __future__ import annotations

import numpy as np
import pytest

from curewindow.rules.uncertainty import MOST_SIGMAS, Growth, ShareOfValue, Uncertainty


@pytest.mark.parametrize(
    ("doubt", "lead_h", "error"),
    [
        (Growth(0.5, 0.1, 2.0), 0.0, 0.5),
        (Growth(0.5, 0.1, 2.0), 5.0, 1.0),
        (Growth(0.5, 0.1, 2.0), 100.0, 2.0),
        (ShareOfValue(0.3, 0.2), 5.0, 1.1),  # of a value of 4
    ],
)
def test_a_margin_of_one_standard_error_is_one(
    doubt: Uncertainty, lead_h: float, error: float
) -> None:
    margin = error * np.array([[-2.0, -0.5, 0.0, 1.0, 2.0, 50.0]])
    sure = doubt.sigmas(np.full_like(margin, 4.0), margin, np.full(margin.shape, lead_h))
    assert sure[0] == pytest.approx([-2.0, -0.5, 0.0, 1.0, 2.0, MOST_SIGMAS])
