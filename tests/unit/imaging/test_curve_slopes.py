"""The derivatives of the tone curve, against differences."""

from __future__ import annotations

import numpy as np

from inkhorn.imaging.calibrate.curve import KNOTS, log_light, log_light_slopes


def test_slopes_are_those_of_the_curve() -> None:
    """Every derivative is what small changes of its number make of the curve's logarithm."""
    rng = np.random.default_rng(5)
    numbers = np.concatenate([[0.004], rng.normal(0, 0.1, KNOTS.size)])
    recorded = rng.uniform(0.002, 1, (7, 3))
    value, slopes = log_light_slopes(numbers, recorded)
    np.testing.assert_allclose(value, log_light(numbers, recorded), atol=1e-12)
    for i, step in enumerate(np.eye(numbers.size) * 1e-7):
        by_steps = (log_light(numbers + step, recorded) - log_light(numbers - step, recorded)) / 2e-7
        np.testing.assert_allclose(slopes[..., i], by_steps, rtol=1e-3, atol=1e-6)
