"""Thinning against another implementation of the same paper."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage
from skimage.morphology import skeletonize

from inkhorn.imaging.thin import arms, skeleton


def _by_the_letter(mask: np.ndarray) -> np.ndarray:
    """Thin as the paper states it, with its names P1 to P9, A and B; slow, and nothing shared."""
    image = np.pad(mask, 1).astype(int)
    while True:
        before = image.sum()
        for conditions in (((2, 4, 6), (4, 6, 8)), ((2, 4, 8), (2, 6, 8))):
            delete = []
            for i, j in zip(*np.nonzero(image), strict=True):
                around = [(-1, 0), (-1, 1), (0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1)]
                p = {k + 2: image[i + a, j + b] for k, (a, b) in enumerate(around)}
                ring = [p[k] for k in range(2, 10)]
                turns = sum(a == 0 and b == 1 for a, b in zip(ring, ring[1:] + ring[:1], strict=True))
                if (
                    2 <= sum(ring) <= 6
                    and turns == 1
                    and all(p[a] * p[b] * p[c] == 0 for a, b, c in conditions)
                ):
                    delete.append((i, j))
            for place in delete:
                image[place] = 0
        if image.sum() == before:
            return image[1:-1, 1:-1] > 0


def _blobs(seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    blobs = ndimage.gaussian_filter(rng.normal(size=(70, 90)), 2 + seed) > 0
    blobs[:3] = blobs[-3:] = False
    blobs[:, :3] = blobs[:, -3:] = False
    return blobs


class TestZhangSuen:
    """T. Y. Zhang and C. Y. Suen, Communications of the ACM 27 (1984) 236-239."""

    @pytest.mark.parametrize("seed", range(4))
    def test_agrees_with_the_paper_to_the_pixel(self, seed: int) -> None:
        """Skeletons of random blobs are those of the paper's own conditions, pixel for pixel."""
        np.testing.assert_array_equal(skeleton(_blobs(seed)), _by_the_letter(_blobs(seed)))

    @pytest.mark.parametrize("seed", range(4))
    def test_runs_beside_scikit_image(self, seed: int) -> None:
        """scikit-image departs from the paper at some corners, so its skeleton runs within 2 px of ours; its spurs are longer."""
        ours, theirs = skeleton(_blobs(seed)), skeletonize(_blobs(seed), method="zhang")
        assert ndimage.distance_transform_edt(~theirs)[ours].max() <= 2
        assert np.quantile(ndimage.distance_transform_edt(~ours)[theirs], 0.9) <= 2

    def test_a_bar_becomes_its_middle_line(self) -> None:
        """A bar of odd width thins to its centre row; the result is one px wide."""
        bar = np.zeros((21, 80), bool)
        bar[6:15, 10:70] = True
        bones = skeleton(bar)
        rows, columns = np.nonzero(bones)
        assert set(rows) == {10}
        assert (arms(bones)[rows, columns] <= 2).all()
        assert len(columns) > 48

    def test_nothing_and_everything(self) -> None:
        """An empty mask stays empty and a full one keeps at least a pixel."""
        assert not skeleton(np.zeros((9, 9), bool)).any()
        assert skeleton(np.ones((9, 9), bool)).any()
