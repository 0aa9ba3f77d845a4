"""L*a*b* against the standard's fixed points and an independent library."""

from __future__ import annotations

import colour
import numpy as np
import pytest
from skimage.color import rgb2lab

from inkhorn.colour import difference, lab, srgb, xyz


class TestISO11664:
    """ISO/CIE 11664-4: values that follow from the definition."""

    def test_white_and_black(self) -> None:
        """The white must be L* 100 without hue, and black L* 0."""
        np.testing.assert_allclose(lab.linear_to_lab([1, 1, 1]), [100, 0, 0], atol=1e-9)
        np.testing.assert_allclose(lab.linear_to_lab([0, 0, 0]), [0, 0, 0], atol=1e-9)

    @pytest.mark.parametrize(("reflectance", "lightness"), [(0.18, 49.496), (0.04, 23.671)])
    def test_grey(self, reflectance: float, lightness: float) -> None:
        """A neutral must have L* = 116 Y^(1/3) - 16: 18 % grey 49.50, a 4 % surface 23.67."""
        out = lab.linear_to_lab(np.full(3, reflectance))
        np.testing.assert_allclose(out, [lightness, 0, 0], atol=1e-3)


class TestScikitImage:
    """scikit-image 0.26 on colours of skin and ink; its white is rounded to five digits."""

    @pytest.mark.parametrize(
        "rgb", [(235, 222, 196), (70, 52, 40), (36, 30, 30), (119, 119, 119), (10, 10, 10), (255, 0, 0)]
    )
    def test_colour(self, rgb: tuple[int, int, int]) -> None:
        """Parchment, brown ink, black ink, greys and pure red must agree to 0.02."""
        encoded = np.array(rgb) / 255
        np.testing.assert_allclose(lab.linear_to_lab(srgb.decode(encoded)), rgb2lab(encoded), atol=0.02)

    def test_parchment_against_inks(self) -> None:
        """The differences of skin, brown ink and black ink must be those of colour-science."""
        labs = [lab.linear_to_lab(srgb.decode(np.array(c) / 255)) for c in ((235, 222, 196), (70, 52, 40))]
        assert difference.ciede2000(*labs) == pytest.approx(
            float(colour.delta_E(*labs, method="CIE 2000")), abs=1e-9
        )


class TestDisplayP3:
    """A Display P3 picture read as sRGB (SMPTE EG 432-1 primaries, by colour-science)."""

    @pytest.mark.parametrize("rgb", [(235, 222, 196), (70, 52, 40), (120, 80, 40)])
    def test_error_of_the_wrong_profile(self, rgb: tuple[int, int, int]) -> None:
        """The size of the mistake must be that which colour-science's own P3 space gives."""
        encoded = np.array(rgb) / 255
        ours = lab.linear_to_lab(srgb.decode(encoded) @ xyz.display_p3_to_srgb().T)
        their_xyz = colour.RGB_to_XYZ(encoded, "Display P3", apply_cctf_decoding=True)
        np.testing.assert_allclose(ours, lab.xyz_to_lab(their_xyz), atol=0.03)
        assert difference.ciede2000(ours, lab.linear_to_lab(srgb.decode(encoded))) > 1
