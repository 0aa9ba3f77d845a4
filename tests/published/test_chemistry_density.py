"""Density scales and liquors against published tables."""

from __future__ import annotations

import iapws
import pytest

from inkhorn.chemistry.density import (
    barkometer,
    baume,
    from_plato,
    liquor_volume,
    plato,
    solids_from_specific_gravity,
    specific_gravity_from_solids,
    twaddell,
    vitriol_gravity,
    water_density,
)


class TestScales:
    """The trade's hydrometer scales (Blair and Peffer, NBS RP1612, 1944; wine-laboratory tables for Plato)."""

    @pytest.mark.parametrize(
        ("gravity", "bk", "tw", "be", "p"),
        [
            (1.010, 10, 2, 1.436, 2.56),
            (1.020, 20, 4, 2.843, 5.08),
            (1.050, 50, 10, 6.905, 12.39),
            (1.100, 100, 20, 13.18, 23.77),
            (1.200, 200, 40, 24.17, 43.9),
        ],
    )
    def test_row(self, gravity, bk, tw, be, p):
        """Barkometer, Twaddell, Baume and Plato of one gravity agree with the table."""
        assert float(barkometer(gravity)) == pytest.approx(bk, abs=1e-9)
        assert float(twaddell(gravity)) == pytest.approx(tw, abs=1e-9)
        assert float(baume(gravity)) == pytest.approx(be, abs=6e-3)
        assert float(plato(gravity)) == pytest.approx(p, abs=6e-2)

    def test_plato_of_sugar(self):
        """A sucrose solution of 12 % weighs 1.0484 (20/20; sugar tables, from memory)."""
        assert float(from_plato(12.0)) == pytest.approx(1.0484, abs=2e-4)


class TestSolids:
    """Gravity from solids by apparent specific volume: hand-worked table."""

    @pytest.mark.parametrize(
        ("percent", "at_60", "at_62", "at_66"),
        [
            (1, 1.0040, 1.0038, 1.0034),
            (5, 1.0205, 1.0194, 1.0174),
            (10, 1.0418, 1.0396, 1.0353),
            (20, 1.0872, 1.0825, 1.0732),
            (40, 1.191, 1.180, 1.158),
        ],
    )
    def test_row(self, percent, at_60, at_62, at_66):
        """Three specific volumes at one strength (water density 0.9991, 15 C)."""
        for volume, expected in ((0.60, at_60), (0.62, at_62), (0.66, at_66)):
            got = float(specific_gravity_from_solids(percent / 100, volume, 0.9991))
            assert got == pytest.approx(expected, abs=6e-4)
            assert float(solids_from_specific_gravity(got, volume, 0.9991)) == pytest.approx(percent / 100)

    def test_sucrose(self):
        """Sucrose (0.62 ml/g) of 10 % weighs 1.0400 by the Plato tables: within 0.001."""
        assert float(specific_gravity_from_solids(0.10, 0.62)) == pytest.approx(
            float(from_plato(10.0)), abs=1e-3
        )


class TestWater:
    """IAPWS-95 as coded in the iapws package."""

    @pytest.mark.parametrize("celsius", [1, 10, 20, 25, 40, 60, 80, 99])
    def test_density(self, celsius):
        """Kell's equation lies within 2e-5 g/ml of IAPWS-95 at one atmosphere."""
        expected = iapws.IAPWS95(T=celsius + 273.15, P=0.101325).rho / 1000
        assert float(water_density(celsius + 273.15)) == pytest.approx(expected, abs=2e-5)


class TestVitriol:
    """An old density table of FeSO4.7H2O solutions at 15 C (from memory) and a trade sheet's 1.19 at 33.3 %."""

    @pytest.mark.parametrize(
        ("percent", "gravity"),
        [(5, 1.0267), (10, 1.0537), (15, 1.0823), (20, 1.1124), (30, 1.1738), (40, 1.2391)],
    )
    def test_table(self, percent, gravity):
        """The fitted parabola lies within 0.002."""
        assert float(vitriol_gravity(percent)) == pytest.approx(gravity, abs=2e-3)

    def test_trade_sheet(self):
        """33.3 % near saturation at 15.6 C weighs 1.19."""
        assert float(vitriol_gravity(33.3)) == pytest.approx(1.19, abs=8e-3)

    def test_volume_of_a_ten_per_cent_solution(self):
        """10 g heptahydrate in 100 g of solution fills 100/1.0537 ml of water at 15 C."""
        anhydrous = 10 * 151.90 / 278.01
        got = liquor_volume(water=100 - anhydrous, salts=anhydrous, temperature=288.15)
        assert float(got) == pytest.approx(100 / 1.0537 / 0.9991, abs=0.1)
