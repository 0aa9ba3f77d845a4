"""Quick ways of counting, averaging and looking near by give what the plain ways give."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import cKDTree

from inkhorn.colour.srgb import decode
from inkhorn.imaging.card.steps import GROUPS, Lights
from inkhorn.imaging.card.strip import cut
from inkhorn.imaging.ink import noise_of
from inkhorn.imaging.picture import Picture
from inkhorn.imaging.pixels import grown, nearest_of


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


@pytest.mark.parametrize("reach", [2, 7.0, 40])
def test_a_mask_grown_by_distance_is_the_one_that_a_disc_draws(reach: float) -> None:
    """Every pixel within the reach of a marked one, by distances to all of them, and none a pixel farther off."""
    rng = np.random.default_rng(4)
    mask = np.zeros((120, 150), bool)
    mask.ravel()[rng.choice(mask.size, 12, replace=False)] = True
    rows, columns = np.indices(mask.shape)
    away, _ = cKDTree(np.argwhere(mask)).query(np.column_stack([rows.ravel(), columns.ravel()]))
    found = grown(mask, reach).ravel()
    # the chamfer distance in 5 x 5 is up to 2 % off to either side
    assert found[away <= 0.97 * reach].all()
    assert not found[away > 1.03 * reach + 0.3].any()
    assert not grown(np.zeros_like(mask), reach).any()


def test_the_spread_of_bare_support_is_that_of_its_darker_half_by_sorting() -> None:
    """The median distance below the mode, counted in fine bins, is the one that sorting gives."""
    rng = np.random.default_rng(5)
    lost = rng.normal(0, 0.013, (300, 400)).astype(np.float32)
    lost[100:140] += 0.5
    lost[:3] = -0.8
    sheet = np.ones(lost.shape, bool)
    sheet[:, :20] = False
    below = lost[sheet & (lost < 0)]
    plain = np.median(-below) / 0.6745
    # the mode is known to a bin of 0.005
    assert noise_of(lost, sheet) == pytest.approx(plain, rel=0.25)
    assert noise_of(3 * lost, sheet) == pytest.approx(3 * plain, rel=0.1)


@pytest.mark.parametrize("kind", ["bytes", "deep", "grey", "linear"])
def test_light_along_strokes_is_mixed_from_the_four_pixels_round_each_place(kind: str) -> None:
    """Bilinear samples of linear light as numpy mixes them, whatever the picture is made of."""
    rng = np.random.default_rng(6)
    sort, top = (np.uint16, 65535) if kind == "deep" else (np.uint8, 255)
    codes = rng.integers(0, top + 1, (40, 60) if kind == "grey" else (40, 60, 3)).astype(sort)
    picture = Picture(
        codes=codes,
        valid=np.ones((40, 60), bool),
        reduction=1,
        grey=kind == "grey",
        compressed=False,
        notes=(),
    )
    linear = codes / top if kind == "deep" else decode(codes / top)
    linear = linear if linear.ndim == 3 else np.repeat(linear[..., None], 3, axis=2)
    if kind == "linear":
        picture = _picture(linear)
    at = rng.uniform([0, 0], [58.9, 38.9], (9, 5, 2)).round(2)
    at = np.round(at * 32) / 32  # the library knows places to 1/32 px
    x, y = np.floor(at).astype(int).transpose(2, 0, 1)
    a, b = (at - np.floor(at)).transpose(2, 0, 1)[..., None]
    mixed = (linear[y, x] * (1 - a) + linear[y, x + 1] * a) * (1 - b) + (
        linear[y + 1, x] * (1 - a) + linear[y + 1, x + 1] * a
    ) * b
    np.testing.assert_allclose(picture.along(at, [4, 5]), mixed, atol=3e-5)
    beyond = np.array([[[-3.0, 0], [70.0, 39]]])
    np.testing.assert_allclose(picture.along(beyond, [1])[0], linear[[0, 39], [0, 59]], atol=3e-5)
