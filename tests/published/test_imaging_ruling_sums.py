"""Sums along lines against direct sums."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.imaging.ruling import radon_fan, straight_lines


class TestFastRadon:
    """W. A. Goetz and H. J. Druckmueller, Pattern Recognition 29 (1996) 711: sums along digital lines by halving."""

    def test_mass_is_kept(self) -> None:
        """For each slope the sums over all starts add up to the picture: every pixel lies on one line."""
        picture = np.random.default_rng(1).random((40, 64)).astype(np.float32)
        sums = radon_fan(picture)
        np.testing.assert_allclose(sums.sum(axis=1), picture.sum(), rtol=1e-4)

    def test_level_and_steepest_lines_are_plain_sums(self) -> None:
        """Slope 0 sums rows, slope N - 1 sums diagonals."""
        picture = np.random.default_rng(2).random((50, 32)).astype(np.float32)
        sums = radon_fan(picture)
        np.testing.assert_allclose(sums[0, 32:], picture.sum(axis=1), rtol=1e-5)
        diagonal = [np.trace(picture[y : y + 32]) for y in range(19)]
        np.testing.assert_allclose(sums[31, 32 : 32 + 19], diagonal, rtol=1e-5)

    @pytest.mark.parametrize("slope", [-0.9, -0.2, 0.0, 0.3, 0.8])
    def test_a_drawn_line_is_the_first_found(self, slope: float) -> None:
        """A single line, level or steep, is found within two px at both ends."""
        picture = np.zeros((300, 400), np.float32)
        x = np.arange(400)
        y = np.rint(150 + slope * (x - 200) * 0.7).astype(int)
        picture[y, x] = 1
        for turned in (picture, np.ascontiguousarray(picture.T)):
            ends = straight_lines(turned)[0]
            ends = ends if turned is picture else ends[:, ::-1]
            ends = ends[np.argsort(ends[:, 0])]
            np.testing.assert_allclose(np.interp([0, 399], ends[:, 0], ends[:, 1]), y[[0, -1]], atol=4)
