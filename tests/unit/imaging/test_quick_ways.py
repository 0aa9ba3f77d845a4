"""Quick ways of counting, averaging and looking near by give what the plain ways give."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import cKDTree

from inkhorn.imaging.card.steps import GROUPS, Lights
from inkhorn.imaging.card.strip import cut
from inkhorn.imaging.picture import Picture
from inkhorn.imaging.pixels import nearest_of


def _picture(linear: np.ndarray, **more: object) -> Picture:
    return Picture(
        linear=linear.astype(np.float32), valid=np.ones(linear.shape[:2], bool), reduction=1, grey=False,
        compressed=False, notes=(), **more,
    )  # fmt: skip


def test_light_counted_by_level_has_the_medians_and_groups_of_light_sorted() -> None:
    """Medians and means of equal groups from counts are those that numpy finds by sorting."""
    rng = np.random.default_rng(1)
    level = np.linspace(0, 1, 256) ** 2
    codes = np.clip(rng.normal(120, 40, (3, 5003)).round(), 0, 255).astype(int)
    counts = np.array([np.bincount(one, minlength=256) for one in codes])
    lights = Lights(light=level, counts=np.cumsum(counts, axis=1).astype(float), burnt=0.0)
    np.testing.assert_allclose(lights.median(), np.median(level[codes], axis=1), rtol=1e-12)
    edges = np.linspace(0, codes.shape[1], GROUPS + 1).round().astype(int)
    plain = [[part.mean() for part in np.split(np.sort(level[one]), edges[1:-1])] for one in codes]
    np.testing.assert_allclose(lights.groups(), plain, rtol=1e-9)


def test_the_nearest_mark_is_the_one_a_tree_finds() -> None:
    """Distances to the marks told are those of a search tree, to within what a chamfer distance in 5 x 5 may take for nearer."""
    rng = np.random.default_rng(2)
    shape = (90, 140)
    marks = np.sort(rng.choice(shape[0] * shape[1], 60, replace=False))
    at = rng.choice(shape[0] * shape[1], 500, replace=False)
    place = np.column_stack(np.unravel_index(np.arange(shape[0] * shape[1]), shape)).astype(float)
    found = nearest_of(shape, marks, at)
    away = np.hypot(*(place[at] - place[marks[found]]).T)
    true, _ = cKDTree(place[marks]).query(place[at])
    # moves of 1, 1.4 and 2.1969 (Borgefors 1986, as the library quotes them) are up to 2 % off to either side
    assert np.all(away <= true * 1.05 + 1e-9)
    assert np.mean(away <= true + 1e-9) > 0.9
    wrong = np.hypot(*(place[at] - place[marks[(found + 1) % 60]]).T)
    assert np.mean(wrong <= true * 1.05) < 0.1


@pytest.mark.parametrize(("by", "old", "new"), [(5 / 4, 5, 4), (4 / 3, 4, 3), (1.5, 3, 2), (2, 2, 1)])
def test_a_picture_reduced_by_a_fraction_holds_the_mean_light_of_each_new_pixel(
    by: float, old: int, new: int
) -> None:
    """New pixels are the integrals of the old ones over their area, from the cumulated sums."""
    rng = np.random.default_rng(3)
    linear = rng.random((61, 83, 3))
    picture = _picture(linear)
    small = picture.reduced(by)
    assert small.shape == (61 // old * new, 83 // old * new)
    assert small.reduction == pytest.approx(old / new)
    total = np.pad(linear.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0), (0, 0)))
    rows, columns = (np.arange(side + 1) * old / new for side in small.shape)
    along = np.stack([[np.interp(rows, np.arange(62), total[:, c, k]) for c in range(84)] for k in range(3)])
    both = np.stack(
        [[np.interp(columns, np.arange(84), along[k, :, r]) for r in range(rows.size)] for k in range(3)]
    )
    mean = np.diff(np.diff(both, axis=1), axis=2) * (new / old) ** 2
    np.testing.assert_allclose(small.linear, mean.transpose(1, 2, 0), atol=2e-5)


def test_a_strip_is_cut_out_with_its_place() -> None:
    """The least rectangle in mm round a strip holds all of it, and nothing round it is left."""
    strip = np.zeros((40, 60), bool)
    strip[10:30, 6:24] = True
    rect, part = cut((5.0, 2.0, 15.0, 10.0), strip)
    assert rect == pytest.approx((5 + 6 / 4, 2 + 10 / 4, 18 / 4, 20 / 4))
    assert part.shape == (20, 18)
    assert part.all()
    assert cut((5.0, 2.0, 15.0, 10.0), np.zeros((40, 60), bool))[0] == (5.0, 2.0, 15.0, 10.0)
