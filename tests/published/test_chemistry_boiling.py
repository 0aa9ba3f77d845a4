"""Heat of evaporation against IAPWS-IF97 and a hand-worked reduction."""

from __future__ import annotations

import iapws
import numpy as np
import pytest

from inkhorn.chemistry.boiling import energy_to_boil_off, evaporated, latent_heat


class TestIapws97:
    """IAPWS-IF97 (2007 revision) as coded in the iapws package."""

    @pytest.mark.parametrize("celsius", [5, 20, 35, 50, 65, 80, 95, 100])
    def test_latent_heat(self, celsius):
        """Within 0.1 % of the difference of saturated vapour and liquid enthalpy."""
        kelvin = celsius + 273.15
        expected = iapws.IAPWS97(T=kelvin, x=1).h - iapws.IAPWS97(T=kelvin, x=0).h
        assert float(latent_heat(kelvin)) == pytest.approx(expected, rel=1e-3)


class TestWorkedReduction:
    """Hand calculation: 6.0 L at 12.5 g/L boiled to 1.5 L (c 4.18 J/g/K, L 2257 J/g)."""

    def test_heat(self):
        """10.16 MJ latent for 4.5 kg, and 2.13 MJ to bring 6 kg from 15 to 100 C."""
        kw = {"mass": 6000.0, "start": 288.15, "boiling_point": 373.15, "capacity": 4.18, "latent": 2257.0}
        assert float(energy_to_boil_off(evaporate=0.0, **kw)) / 1e6 == pytest.approx(2.13, abs=5e-3)
        both = float(energy_to_boil_off(evaporate=4500.0, **kw))
        assert both / 1e6 == pytest.approx(10.16 + 2.13, abs=1e-2)

    def test_one_kilowatt_hour(self):
        """A kilowatt-hour into a boiling pot drives off 1.595 kg."""
        gone = evaporated(
            1000.0,
            3600.0,
            mass=3000.0,
            water=3000.0,
            start=373.15,
            boiling_point=373.15,
            capacity=4.18,
            latent=2257.0,
        )
        assert float(gone) == pytest.approx(1595.0, abs=0.5)

    def test_never_more_than_there_is(self):
        """Time without end takes all the water and no more; a cold minute takes none."""
        kw = {
            "mass": 900.0,
            "water": 800.0,
            "start": 293.15,
            "boiling_point": 373.15,
            "capacity": 4.0,
            "latent": 2257.0,
        }
        got = evaporated(np.array([1e9, 1.0]), 60.0, **kw)
        assert got.tolist() == [800.0, 0.0]
