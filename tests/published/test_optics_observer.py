"""The observer's weights against colour-science and the spectra it carries."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import colour
import numpy as np
import pytest

from inkhorn.colour.difference import ciede2000
from inkhorn.colour.xyz import white
from inkhorn.optics import observe
from inkhorn.optics.spectra import WAVELENGTHS, observer


class TestASTM:
    """ASTM E2022 weights, remade by the script that is kept with the table."""

    def test_table_is_what_the_script_makes(self) -> None:
        """The stored table must be the script's answer to its last digit."""
        path = Path(__file__).parents[2] / "validation" / "observer_weights" / "make.py"
        spec = importlib.util.spec_from_file_location("make_observer_weights", path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        np.testing.assert_allclose(observer().xyz, module.weights(), atol=6e-10)

    def test_white(self) -> None:
        """A perfect white must be the white of sRGB, to the table's nine digits, and have no hue."""
        np.testing.assert_allclose(observe.xyz(np.ones(36)), white(), atol=1e-7)
        np.testing.assert_allclose(observe.lab(np.ones(36)), [100, 0, 0], atol=1e-4)


class TestISO17321Patches:
    """The 24 reflectances keyed "ISO 17321-1" in colour-science 0.4.7, summed at 1 nm."""

    CHART = colour.SDS_COLOURCHECKERS["ISO 17321-1"]
    NM = colour.SpectralShape(380, 730, 1)
    LAMP = colour.SDS_ILLUMINANTS["D65"].copy().interpolate(NM).values[:, None]
    OBSERVER = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(NM).values

    @pytest.mark.parametrize("patch", list(CHART))
    def test_colour(self, patch: str) -> None:
        """Ten-nanometre sums must give the 1 nm colour within a difference of 0.2."""
        spectrum = self.CHART[patch].copy().interpolate(self.NM)
        weights = self.LAMP * self.OBSERVER
        fine = spectrum.values @ weights / weights.sum(axis=0) * white()
        coarse = np.array([spectrum[float(w)] for w in WAVELENGTHS])
        theirs = colour.XYZ_to_Lab(fine, colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"])
        assert ciede2000(observe.lab(coarse), theirs) < 0.2
