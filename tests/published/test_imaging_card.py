"""Screens, regression and files of measured colours against what is published and against a reference library."""

from __future__ import annotations

from pathlib import Path

import colour
import numpy as np
import pytest

from inkhorn.colour.lab import xyz_to_lab
from inkhorn.errors import PictureError
from inkhorn.imaging.calibrate.reference import read_reference
from inkhorn.imaging.calibrate.regress import fit_regression, root_polynomial
from inkhorn.imaging.calibrate.screens import screen_light


class TestYuleNielsen:
    """Yule and Nielsen, TAGA Proceedings 3, 1951: R = (a Rs^(1/n) + (1 - a) Rp^(1/n))^n, n from 1 to 2."""

    @pytest.mark.parametrize("share", [0.1, 0.25, 0.5, 0.8])
    def test_no_spread_of_light_is_n_of_one(self, share: float) -> None:
        """Where paper spreads no light, light averages by area (Murray and Davies)."""
        got = screen_light(share, 0.5, spread=0, scatter=1e-9, black=0.06)
        assert got == pytest.approx(share * 0.06 + 1 - share, abs=1e-6)

    @pytest.mark.parametrize("share", [0.1, 0.25, 0.5, 0.8])
    def test_full_spread_of_light_is_n_of_two(self, share: float) -> None:
        """Where paper spreads light over many lines, n is 2."""
        got = screen_light(share, 0.05, spread=0, scatter=5, black=0.06)
        assert got == pytest.approx((share * 0.06**0.5 + 1 - share) ** 2, abs=2e-3)

    def test_between_them_n_lies_between(self) -> None:
        """A finer screen of the same share is darker, and never beyond the two limits."""
        light = screen_light(0.5, np.array([4, 2, 1, 0.5, 0.25, 0.12]), spread=0, scatter=0.1, black=0.06)
        assert (np.diff(light) < 0).all()
        assert light[0] < 0.53
        assert light[-1] > (0.5 * 0.06**0.5 + 0.5) ** 2

    def test_spread_black_counts_at_both_edges(self) -> None:
        """Black that goes 10 um over each edge of a line makes a screen of 0.5 mm darker by 4 % of black."""
        got = screen_light(0.3, 0.5, spread=0.01, scatter=1e-9, black=0.0)
        assert got == pytest.approx(1 - 0.34, abs=1e-6)


class TestFinlayson2015:
    """Finlayson, Mackiewicz and Hurlbert, IEEE Transactions on Image Processing 24, 2015."""

    def test_terms_are_those_of_the_reference_library(self) -> None:
        """The six terms agree with colour-science, in any order."""
        rgb = np.random.default_rng(1).uniform(0.01, 1, (20, 3))
        theirs = colour.characterisation.polynomial_expansion_Finlayson2015(rgb, 2, True)
        np.testing.assert_allclose(np.sort(root_polynomial(rgb)), np.sort(theirs), atol=1e-12)

    def test_terms_grow_with_exposure(self) -> None:
        """Twice the light is twice each term, exactly."""
        rgb = np.array([0.2, 0.3, 0.1])
        np.testing.assert_allclose(root_polynomial(2 * rgb), 2 * root_polynomial(rgb), rtol=1e-15)
        np.testing.assert_allclose(
            root_polynomial(rgb), [0.2, 0.3, 0.1, 0.06**0.5, 0.03**0.5, 0.02**0.5], rtol=1e-15
        )

    def test_a_camera_is_learnt_from_published_reflectances(self) -> None:
        """Two measured cameras see a published set of 24 patches: left out, a patch is met to 2.5 in the middle."""
        patches = colour.SDS_COLOURCHECKERS["ISO 17321-1"]
        shape = colour.SpectralShape(400, 700, 10)
        spectra = np.array([sd.copy().align(shape).values for sd in patches.values()])
        light = colour.SDS_ILLUMINANTS["D65"].copy().align(shape).values
        observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape).values
        white = (light @ observer)[1]
        xyz = (spectra * light) @ observer / white
        for name in list(colour.MSDS_CAMERA_SENSITIVITIES)[:2]:
            sensor = colour.MSDS_CAMERA_SENSITIVITIES[name].copy().align(shape).values
            rgb = (spectra * light) @ sensor / (light @ sensor)
            found = fit_regression(rgb, xyz)
            half = fit_regression(rgb / 2, xyz)
            assert found.difference < 2.5
            np.testing.assert_allclose(half.linear(rgb / 2), found.linear(rgb), atol=1e-9)


CGATS = """CGATS.17
ORIGINATOR "Saltmere, invented"
NUMBER_OF_FIELDS 4
BEGIN_DATA_FORMAT
SAMPLE_ID LAB_L LAB_A LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS 3
BEGIN_DATA
A1 95.0 -0.5 2.0
A2 50.0 0.0 0.0
"B1" 40.0 30.0 -20.0
END_DATA
"""


class TestMeasuredColours:
    """ISO 28178 / CGATS.17 keyword text and plain CSV; values under D50 as ISO 13655 has them."""

    def _write(self, folder: Path, text: str) -> Path:
        path = folder / "chart.txt"
        path.write_text(text, "utf-8")
        return path

    def test_cgats_agrees_with_the_reference_library(self, tmp_path: Path) -> None:
        """Lab under D50 becomes the XYZ under D65 that colour-science gives by Bradford."""
        found = read_reference(self._write(tmp_path, CGATS))
        d50 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
        d65 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
        xyz = colour.Lab_to_XYZ([[95, -0.5, 2], [50, 0, 0], [40, 30, -20]], d50)
        theirs = colour.chromatic_adaptation(
            xyz, colour.xy_to_XYZ(d50), colour.xy_to_XYZ(d65), transform="Bradford"
        )
        np.testing.assert_allclose(found.xyz, theirs, atol=5e-4)
        assert found.names == ("A1", "A2", "B1")
        assert found.grid is not None
        assert found.grid.tolist() == [[0, 0], [0, 1], [1, 0]]

    @pytest.mark.parametrize("comma", [",", ";", "\t"])
    def test_csv_says_the_same(self, tmp_path: Path, comma: str) -> None:
        """The same values as CSV, and as XYZ, are the same colours; a neutral stays neutral."""
        text = "name,L,a,b\nA1,95,-0.5,2\nA2,50,0,0\nB1,40,30,-20\n".replace(",", comma)
        found = read_reference(self._write(tmp_path, text))
        again = read_reference(self._write(tmp_path, CGATS))
        np.testing.assert_allclose(found.xyz, again.xyz, atol=1e-12)
        np.testing.assert_allclose(xyz_to_lab(found.xyz)[1], [50, 0, 0], atol=0.02)

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            ("", "no patches"),
            ("name,x_mm,y_mm,L,a,b\npaper,,,,,\nblack-1,9,9,,,\n", "no patches"),
            ("name,L,a\nA1,1,2\n", "neither Lab nor XYZ"),
            ("L,a,b\n1,2,3\n", "no name"),
            ("name,L,a,b\nA1,50,zero,0\n", "not a number"),
            ("name,L,a,b\nA1,50,0\n", "another number of columns"),
            ("name,L,a,b\nA1,50,0,0\nA1,60,0,0\n", "there twice"),
            ("name,L,a,b,illuminant\nA1,50,0,0,candle\n", "not known"),
            (CGATS.replace("95.0 -0.5", "95.0"), "has 3 values"),
            (CGATS.replace("END_DATA_FORMAT", ""), "lacks"),
        ],
    )
    def test_a_faulty_file_is_told(self, tmp_path: Path, text: str, says: str) -> None:
        """Each fault of a file is named, with the mend."""
        with pytest.raises(PictureError) as caught:
            read_reference(self._write(tmp_path, text))
        assert says in caught.value.what
        assert caught.value.mend
