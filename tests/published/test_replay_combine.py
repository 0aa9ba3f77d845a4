"""Combining several measures by a random effect, against a published collection of trials."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.replay.combine import between_variance, pooled

# Events and non-events with and without the treatment, thirteen trials.
TRIALS = np.array(
    [
        (4, 119, 11, 128),
        (6, 300, 29, 274),
        (3, 228, 11, 209),
        (62, 13536, 248, 12619),
        (33, 5036, 47, 5761),
        (180, 1361, 372, 1079),
        (8, 2537, 10, 619),
        (505, 87886, 499, 87892),
        (29, 7470, 45, 7232),
        (17, 1699, 65, 1600),
        (186, 50448, 141, 27197),
        (5, 2493, 3, 2338),
        (27, 16886, 29, 17825),
    ],
    dtype=float,
)


class TestColditz1994:
    """G. A. Colditz and others (1994), the counts of thirteen trials.

    Its log risk ratios are the textbook case of DerSimonian and Laird's estimate; the counts and the
    figures (variance 0.3088, mean -0.7141, error 0.1787) are as statistical packages print them, from memory.
    """

    def test_variance_mean_and_error(self) -> None:
        """The scatter between trials, their mean and its error must be those that are widely printed."""
        a, b, c, d = TRIALS.T
        ratio = np.log(a / (a + b) / (c / (c + d)))
        variance = 1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)
        one = np.eye(1)
        mean, covariance, between = pooled(ratio[:, None], variance[:, None, None], one)
        assert between == pytest.approx(0.3088, abs=5e-5)
        assert float(mean[0]) == pytest.approx(-0.7141, abs=5e-5)
        assert float(np.sqrt(covariance[0, 0])) == pytest.approx(0.1787, abs=5e-5)

    def test_three_equal_channels_give_the_same(self) -> None:
        """Three independent channels with the same figures must give the scatter of one."""
        a, b, c, d = TRIALS.T
        ratio = np.log(a / (a + b) / (c / (c + d)))
        variance = 1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)
        three = np.repeat(ratio[:, None], 3, axis=1)
        cube = variance[:, None, None] * np.eye(3)
        assert between_variance(three, cube, np.eye(3)) == pytest.approx(0.3088, abs=5e-5)
