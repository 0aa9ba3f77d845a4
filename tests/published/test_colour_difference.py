"""CIEDE2000 against its published pairs and two independent libraries."""

from __future__ import annotations

from pathlib import Path

import colour
import numpy as np
import pytest
from skimage.color import deltaE_ciede2000

from inkhorn.colour.difference import cie76, ciede2000

PAIRS = np.loadtxt(
    Path(__file__).parent / "data" / "ciede2000_pairs.csv", delimiter=",", comments="#", skiprows=2
)


class TestSharmaWuDalal2005:
    """Table 1 of Color Res. Appl. 30 (2005) 21-30; printed to four decimals."""

    @pytest.mark.parametrize("pair", range(34), ids=lambda i: f"pair-{i + 1}")
    def test_pair(self, pair: int) -> None:
        """Each pair must agree to the last printed digit, either way round."""
        row = PAIRS[pair]
        assert ciede2000(row[:3], row[3:6]) == pytest.approx(row[6], abs=5.1e-5)
        assert ciede2000(row[3:6], row[:3]) == pytest.approx(row[6], abs=5.1e-5)

    def test_all_pairs_are_there(self) -> None:
        """The file must hold the whole table, not a selection."""
        assert PAIRS.shape == (34, 7)


class TestIndependentLibraries:
    """Random colours against scikit-image and colour-science (two other hands)."""

    def test_random_colours(self) -> None:
        """2,000 random pairs must agree with both to 1e-9 (same formula, other code)."""
        rng = np.random.default_rng(5)
        one = rng.uniform([0, -60, -60], [100, 60, 60], (2000, 3))
        two = one + rng.normal(0, 8, (2000, 3))
        ours = ciede2000(one, two)
        np.testing.assert_allclose(ours, deltaE_ciede2000(one, two), atol=1e-9)
        np.testing.assert_allclose(ours, colour.delta_E(one, two, method="CIE 2000"), atol=1e-9)
        np.testing.assert_allclose(cie76(one, two), colour.delta_E(one, two, method="CIE 1976"), atol=1e-12)
