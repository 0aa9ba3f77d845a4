"""sRGB, XYZ and RGB spaces against the standard and independent libraries."""

from __future__ import annotations

import colour
import numpy as np
import pytest
from skimage.color import rgb2xyz

from inkhorn.colour import srgb, xyz


class TestIEC61966:
    """IEC 61966-2-1:1999: the tone curve and the matrix as printed."""

    @pytest.mark.parametrize(("byte", "linear"), [(0, 0), (10, 0.003035), (128, 0.215861), (255, 1)])
    def test_tone_curve(self, byte: int, linear: float) -> None:
        """The curve and its linear toe must give the standard's values (10/255 lies on the toe)."""
        assert srgb.decode(byte / 255) == pytest.approx(linear, abs=5e-7)

    def test_matrix(self) -> None:
        """The matrix from the primaries must round to the four digits printed in the standard."""
        printed = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
        np.testing.assert_allclose(xyz.srgb_matrix(), printed, atol=5.1e-5)


class TestIndependentLibraries:
    """scikit-image and colour-science on random colours."""

    def test_curve(self) -> None:
        """Decoding and encoding must agree with colour-science on the whole range."""
        v = np.linspace(0, 1, 1001)
        np.testing.assert_allclose(srgb.decode(v), colour.cctf_decoding(v, "sRGB"), atol=1e-7)
        np.testing.assert_allclose(srgb.encode(v), colour.cctf_encoding(v, "sRGB"), atol=1e-7)

    def test_xyz(self) -> None:
        """XYZ must agree with scikit-image within the rounding of its white (4e-4)."""
        rgb = np.random.default_rng(1).uniform(0, 1, (200, 3))
        np.testing.assert_allclose(xyz.linear_to_xyz(srgb.decode(rgb)), rgb2xyz(rgb), atol=4e-4)

    def test_display_p3(self) -> None:
        """Display P3 to sRGB must agree with colour-science's two matrices."""
        theirs = colour.matrix_RGB_to_RGB("Display P3", "sRGB")
        np.testing.assert_allclose(xyz.display_p3_to_srgb(), theirs, atol=5e-4)

    def test_bradford(self) -> None:
        """The D50 to D65 adaptation must agree with colour-science's Bradford matrix."""
        theirs = colour.adaptation.matrix_chromatic_adaptation_VonKries(
            np.array(xyz.D50_WHITE), xyz.white(), transform="Bradford"
        )
        np.testing.assert_allclose(xyz.adaptation(xyz.D50_WHITE, xyz.white()), theirs, atol=1e-9)
