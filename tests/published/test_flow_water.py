"""Water against the releases of IAPWS, by the independent package iapws."""

from __future__ import annotations

import numpy as np
import pytest
from iapws import IAPWS95
from iapws._iapws import _Tension

from inkhorn.flow import water

CELSIUS = [0.5, 5, 10, 20, 25, 37, 45, 60, 80, 95]


class TestIAPWS2008Viscosity:
    """IAPWS R12-08 (full formulation, package iapws) and SR6-08(2011), table of the release."""

    @pytest.mark.parametrize("celsius", CELSIUS)
    def test_against_the_full_formulation(self, celsius: float) -> None:
        """The simple equation must be within 0.03 % of the full one at one atmosphere."""
        kelvin = celsius + 273.15
        theirs = IAPWS95(T=kelvin, P=0.101325).mu * 1e3
        assert water.viscosity(kelvin) == pytest.approx(theirs, rel=3e-4)

    def test_at_the_reference_temperature(self) -> None:
        """At 300 K every power is one, so the sum of the coefficients is the viscosity."""
        assert water.viscosity(300) == pytest.approx(0.85372, abs=5e-6)

    def test_boundary_of_sr6(self) -> None:
        """The release's computer-check value at 298.15 K is 889.996 773 678 uPa s (SR6-08, table 3; by memory)."""
        assert water.viscosity(298.15) == pytest.approx(0.889996773678, rel=1e-9)


class TestDensity:
    """Kell (1975) against IAPWS-95, two formulations thirty years apart."""

    @pytest.mark.parametrize("celsius", CELSIUS)
    def test_against_iapws95(self, celsius: float) -> None:
        """Density must agree to 5e-5 (temperature scale and pressure differ by less)."""
        kelvin = celsius + 273.15
        assert water.density(kelvin) == pytest.approx(IAPWS95(T=kelvin, P=0.101325).rho / 1e3, rel=5e-5)

    def test_greatest_at_four_degrees(self) -> None:
        """Water must be densest near 4 degrees."""
        t = np.linspace(274, 283, 181)
        assert t[np.argmax(water.density(t))] == pytest.approx(277.13, abs=0.1)


class TestSurfaceTension:
    """IAPWS R1-76(2014), by the package iapws."""

    @pytest.mark.parametrize("celsius", CELSIUS)
    def test_against_iapws(self, celsius: float) -> None:
        """The release's equation must agree to rounding."""
        kelvin = celsius + 273.15
        assert water.surface_tension(kelvin) == pytest.approx(_Tension(kelvin) * 1e3, rel=1e-6)
