"""Real pen-written pages: what anybody can see on them, the reader must see too."""

from __future__ import annotations

from pathlib import Path

import attrs
import numpy as np
import pytest
import skimage

from inkhorn.errors import PictureError
from inkhorn.imaging.analysis import analyse
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.read import read_all, read_picture
from inkhorn.imaging.reading import INTACT, RULING
from inkhorn.imaging.settings import from_handbook
from support.real_pages import CERTIFICATE, LETTER, PHONE, real_page


@pytest.fixture(scope="module")
def formulas():
    """Read the picture once."""
    return read_all(Path(skimage.__file__).parent / "data" / "text.png")


class TestHandwrittenFormulas:
    """scikit-image's data/text.png: a slanting photograph of pen on ruled paper, public domain."""

    def test_ruled_lines_in_perspective_are_left_out(self, formulas) -> None:
        """At least the four long ruled lines are found; written bars at another slant are not."""
        _, reading, maps = formulas
        assert 4 <= reading.rules <= 6
        # the long ruled line through the middle runs from about (0, 12) to (352, 171)
        x = np.arange(20, 340, 5)
        y = np.rint(12 + (171 - 12) / 352 * x).astype(int)
        near = [(maps.state[b - 3 : b + 4, a] == RULING).any() for a, b in zip(x, y, strict=True)]
        assert np.mean(near) > 0.9

    def test_the_arrow_is_ink(self, formulas) -> None:
        """The long arrow at lower left slants the other way and stays ink."""
        _, _, maps = formulas
        x = np.arange(20, 90, 4)
        y = np.rint(132 + (88 - 132) / (163 - 15) * (x - 15)).astype(int)
        near = [(maps.state[b - 4 : b + 5, a] == INTACT).any() for a, b in zip(x, y, strict=True)]
        assert np.mean(near) > 0.8


@pytest.fixture(scope="module")
def letter():
    """Read the picture once."""
    return read_all(real_page(LETTER))


@pytest.mark.real
class TestLetterOf1882:
    """A colour scan of a pen-written letter on ruled paper (public domain; see ``support.real_pages``)."""

    def test_hardly_worn_and_very_dark(self, letter) -> None:
        """The ink is whole and near black: intact above 0.9, density well above 1.2 and said to be so."""
        _, reading, _ = letter
        assert reading.wear.intact > 0.88
        assert reading.optical_density.min() > 1.2
        assert any("mirrors" in warning for warning in reading.warnings)

    def test_ink_is_warmer_than_grey(self, letter) -> None:
        """The ink takes more blue than red from the paper."""
        red, _, blue = letter[1].optical_density
        assert blue > red

    def test_coverage_and_stroke_width(self, letter) -> None:
        """Coverage of the sheet and stroke width agree with global and local thresholds, taken by hand.

        Over the written part Otsu's threshold gives 0.073 and a local one 0.087,
        on the whole sheet about three quarters of that; the median stroke is 3 px.
        """
        reading = letter[1]
        assert 0.045 < reading.coverage < 0.085
        assert 2.5 < reading.stroke_px < 5

    def test_ruling_is_found(self, letter) -> None:
        """The pale blue ruling is found on most of the sheet's twenty lines."""
        assert letter[1].rules >= 10


@pytest.mark.real
class TestCertificateOf1773:
    """A grey film copy of a small sheet on black (public domain)."""

    def test_the_black_bed_is_not_ink(self) -> None:
        """What lies round the sheet is outside: corners are, the middle is not, and its share fits the sheet's size.

        The sheet measures about 2400 by 1850 px of 2864 by 2288. It is soft for its strokes (next test), which is no
        hindrance to seeing where it lies.
        """
        lax = attrs.evolve(from_handbook(), stroke_sharp=0.0)
        found = analyse(load_picture(real_page(CERTIFICATE)), lax)
        assert not found.sheet[10, 10]
        assert not found.sheet[-10, -10]
        assert found.sheet[1000:1200, 1000:1400].all()
        assert (~found.sheet).mean() == pytest.approx(1 - 2400 * 1850 / (2864 * 2288), abs=0.05)
        assert 0.05 < found.ink.sum() / found.sheet.sum() < 0.2

    def test_a_soft_copy_is_refused(self) -> None:
        """Edges of 6 px round strokes of about 7 px let in most of the light seen there: no density can be trusted.

        Seen by eye and on profiles taken by hand: from 10 to 90 % an edge runs over 5 to 7 px, of broad strokes too.
        """
        with pytest.raises(PictureError, match="too blurred") as refused:
            read_picture(real_page(CERTIFICATE))
        assert "sharp" in refused.value.mend


@pytest.mark.real
class TestPhonePhotograph:
    """A phone photograph with a Display P3 profile and show-through."""

    def test_profile_ink_and_show_through(self) -> None:
        """The profile is honoured, the ink is whole and dark, the show-through adds no stroke area.

        Thresholds by hand give a coverage of 0.089 to 0.095 and a stroke of 7 px.
        """
        reading = read_picture(real_page(PHONE))
        assert any("Display P3" in warning for warning in reading.warnings)
        assert reading.wear.intact > 0.9
        assert 0.08 < reading.coverage < 0.11
        assert 6 < reading.stroke_px < 9
        assert reading.optical_density.min() > 1
