"""From two photographs to shares, against the truth that they were rendered from."""

from __future__ import annotations

import attrs
import numpy as np
import pytest

from inkhorn.colour.lab import linear_to_lab
from inkhorn.compare.compare import compare
from inkhorn.compare.photos import photo_side
from inkhorn.compare.shares import share_out
from inkhorn.compare.sides import Coverage, Side, Skin
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.read import read_maps, read_picture
from support.rendered_pages import Page, render

ORIGINAL = Page(
    height=420,
    width=600,
    density=(0.85, 0.92, 0.9),
    support=(0.60, 0.50, 0.36),
    bare=0.12,
    thinned=0.3,
    seed=3,
    nib=11,
    x_height=52,
)
TRIAL = Page(
    height=420,
    width=600,
    density=(0.62, 0.60, 0.42),
    support=(0.78, 0.70, 0.55),
    seed=11,
    nib=11,
    x_height=52,
    cast=(0.8, 0.85, 0.92),
)


def _photo(page: Page) -> tuple[Side, object]:
    """Read a rendered page, knowing the true skin as a measurement would give it."""
    picture = load_picture(render(page).png())
    reading, maps = read_picture(picture), read_maps(picture)
    lab = linear_to_lab(page.support)
    return photo_side(picture, maps, reading, prior=lab, prior_sd=np.full(3, 0.3))


def _truth(page: Page) -> Side:
    """Return the side as it was rendered: densities, skin, camera and wear known exactly."""
    made = render(page)
    bare, thinned, intact = made.wear
    support = np.array(page.support)
    return Side(
        density=made.density,
        covariance=np.zeros((3, 3)),
        skin=Skin(lab=linear_to_lab(support), sd=np.zeros(3), seen=support * page.cast),
        coverage=Coverage.of(
            intact=intact, thinned=thinned, bare=bare, film_thinned=(page.thin_low + page.thin_high) / 2
        ),
    )


def test_shares_from_pictures_are_those_of_the_truth() -> None:
    """Read from two pictures, each share must be within 0.12 of the whole of what the truth gives."""
    mine, theirs = _photo(TRIAL), _photo(ORIGINAL)
    found = compare(mine[0], theirs[0], trial_sheet=mine[1], original_sheet=theirs[1], draws=32)
    truth = share_out(_truth(TRIAL), _truth(ORIGINAL), draws=4)
    for cause in truth.parts:
        assert found.shares.fraction(cause) == pytest.approx(truth.fraction(cause), abs=0.12), cause
    assert found.shares.total.mean() == pytest.approx(truth.total.mean(), rel=0.12)
    assert found.shares.ink_size == pytest.approx(truth.ink_size, abs=1.5)
    assert "the ink is" in found.sentence


def test_same_ink_is_recognised_under_wear_and_on_another_skin() -> None:
    """The same film on a new skin, unworn, must be put down to wear and skin, and the ink called near the same."""
    same = attrs.evolve(ORIGINAL, bare=0.0, thinned=0.0, seed=21)
    mine, theirs = _photo(same), _photo(ORIGINAL)
    shares = share_out(mine[0], theirs[0], draws=32)
    assert shares.fraction("wear") > 0.8
    assert shares.ink_size < 2.5
