"""Rendered photographs: labelled as invented, the same under a seed, and true to the truth's own density."""

from __future__ import annotations

import string
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from inkhorn.colour.srgb import decode_bytes
from inkhorn.errors import PictureError
from inkhorn.simulate import hand, render, scene
from inkhorn.simulate.truth import Truth


@pytest.fixture(scope="module")
def truth() -> Truth:
    """Return a workshop with a pot of ink, a few trials a day old and an original."""
    made = Truth(21)
    steps: list[dict[str, Any]] = [
        {"kind": "gather", "lot": "galls", "material": "oak galls", "amount": "100 g"},
        {"kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "100 g"},
        {"kind": "steep", "lot": "galls", "amount": "40 g", "liquid": "rainwater", "liquid_amount": "1 L",
         "into": "pot", "for": "24 h", "pieces": "crushed"},
        {"kind": "strain", "vessel": "pot", "into": "pot"},
        {"kind": "add", "into": "pot", "lot": "vitriol", "amount": "12 g"},
        {"kind": "mark", "vessel": "pot", "trial": "p", "support": "goat-1", "method": "pen", "pen": "quill-1mm"},
        {"kind": "mark", "vessel": "pot", "trial": "d", "support": "goat-1", "method": "dip"},
        {"kind": "mark", "vessel": "pot", "trial": "o", "support": "goat-1", "method": "drop", "thinned": "1 in 8"},
        {"kind": "rest", "vessel": "pot", "for": "3 d", "covered": True},
    ]  # fmt: skip
    for step in steps:
        made.apply(step)
    made.exemplar("page", "pot")
    return made


def linear(path: Path) -> np.ndarray:
    """Return a picture in linear RGB without its label strip."""
    with Image.open(path) as picture:
        pixels = np.asarray(picture.convert("RGB"))
    return decode_bytes(pixels[: int(pixels.shape[0] * 0.95)])


def core(mask: np.ndarray) -> np.ndarray:
    """Take the rim off a mask."""
    shifted = [np.roll(mask, step, axis) for axis in (0, 1) for step in (-3, 0, 3)]
    return np.asarray(np.logical_and.reduce(shifted))


def plain_density(path: Path) -> np.ndarray:
    """Measure a picture in the plainest way: mean of what is clearly ink over mean of what is clearly bare."""
    rgb = linear(path)
    grey = rgb.mean(axis=-1)
    cut = 0.5 * (np.percentile(grey, 1) + np.percentile(grey, 60))
    inks, bares = core(grey < cut), core(grey > cut)
    return np.asarray(-np.log10(rgb[inks].mean(axis=0) / rgb[bares].mean(axis=0)))


@pytest.mark.parametrize("name", ["p", "d", "o"])
def test_a_photograph_shows_the_true_density(truth: Truth, tmp_path: Path, name: str) -> None:
    """The mean ink of a rendered trial against its mean skin is the stroke's own density within 0.06."""
    path = render.trial(truth.bench, name, tmp_path / "t.jpg")
    true = truth.stroke(f"trial:{name}", hours=72).optical_density
    np.testing.assert_allclose(plain_density(path), [true[c] for c in "RGB"], atol=0.06)


def test_pictures_say_that_they_are_invented(truth: Truth, tmp_path: Path) -> None:
    """JPEG and PNG carry the words in their metadata and a strip of writing at the foot."""
    with Image.open(render.trial(truth.bench, "p", tmp_path / "t.jpg")) as jpeg:
        assert scene.LABEL in jpeg.getexif()[270]
        assert scene.LABEL in jpeg.info["comment"].decode()
    with Image.open(render.trial(truth.bench, "p", tmp_path / "t.png")) as png:
        assert scene.LABEL in png.info["Description"]
        foot = np.asarray(png.convert("L"), float)[-14:-4, 8:140]
    assert foot.std() > 4


def test_same_truth_same_picture(truth: Truth, tmp_path: Path) -> None:
    """Rendering twice gives the same bytes."""
    one = render.trial(truth.bench, "p", tmp_path / "a.jpg").read_bytes()
    two = render.trial(truth.bench, "p", tmp_path / "b.jpg").read_bytes()
    assert one == two


def test_a_page_is_worn_as_its_original_is(truth: Truth, tmp_path: Path) -> None:
    """A rendered page holds writing, and its intact ink is the original's density within a tenth."""
    path = render.page(truth.bench, "page", tmp_path / "page.jpg", lines=3)
    rgb = linear(path)
    bare = np.median(rgb.reshape(-1, 3), axis=0)
    density = -np.log10(np.clip(rgb[..., 1], 1e-4, None) / bare[1])
    true = truth.original("page").optical_density["G"]
    assert 0.03 < np.mean(density > 0.5 * true) < 0.25
    assert np.median(density[density > 0.75 * true]) == pytest.approx(true, rel=0.15)


def test_photo_readings_name_a_picture(truth: Truth, tmp_path: Path) -> None:
    """A photo noticed of a trial or an original is a path to a picture; without a folder it is refused."""
    what_if = truth.copy()
    for of in ("trial:p", "exemplar:page"):
        seen = what_if.notice({"of": of, "what": "photo"}, folder=tmp_path)
        with Image.open(seen["value"]) as picture:
            assert picture.size[0] > 300
    with pytest.raises(PictureError, match="no picture"):
        what_if.notice({"of": "trial:p", "what": "photo"})
    with pytest.raises(PictureError, match="no invented original"):
        render.page(truth.bench, "leaf", tmp_path / "x.jpg")


def test_wear_takes_the_shares_it_is_told() -> None:
    """Flaked and thinned shares of an inked area come out as asked."""
    rng = np.random.default_rng(4)
    whole = scene.Wetted(cover=np.ones((300, 400), np.float32), film=np.ones((300, 400), np.float32))
    worn = scene.wear(whole, 8.0, rng, intact=0.6, flaked=0.15)
    assert np.mean(worn.cover < 0.5) == pytest.approx(0.15, abs=0.03)
    assert np.mean((worn.cover >= 0.5) & (worn.film > 0.7)) == pytest.approx(0.6, abs=0.06)


def test_the_hand_can_write_every_letter() -> None:
    """The pangram uses each letter, and each leaves ink within its line."""
    assert set(string.ascii_lowercase) <= set(hand.PANGRAM)
    writer = hand.Writer(nib=1.0)
    for letter in string.ascii_lowercase:
        strokes = hand.write(letter, writer, np.random.default_rng(1), x=3, y=0, wide=50)
        canvas = hand.lay(strokes, writer, (200, 200), 10.0)
        assert 300 < np.count_nonzero(canvas) < 12000, letter


def test_a_skin_keeps_its_own_colour() -> None:
    """Texture changes a sheet from place to place and leaves its mean colour alone."""
    rgb = np.array([0.8, 0.7, 0.55])
    page = scene.skin(scene.Sheet(rgb=rgb, hair=True, age=1.0), (240, 320), 10.0, np.random.default_rng(2))
    np.testing.assert_allclose(page.mean(axis=(0, 1)), rgb, rtol=1e-4)
    assert page.std(axis=(0, 1)).min() > 0.01
