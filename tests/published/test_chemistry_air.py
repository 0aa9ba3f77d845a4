"""Oxidation, darkening and permanence against published laws and hand-worked figures."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from inkhorn.chemistry.darkening import progress, stretched
from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.chemistry.oxidation import half_life, iron2_left, oxygen_supply, oxygenation_rate
from inkhorn.chemistry.permanence import acid_per_area, chalk_needed, chalk_reserve
from inkhorn.handbook.load import value


class TestStummAndLee:
    """Stumm and Lee, Ind. Eng. Chem. 53:143 (1961), k = 8.0e13 L2/mol2/atm/min, air at 0.21 atm."""

    @pytest.mark.parametrize(("ph", "seconds"), [(5, 28.7 * 86400), (6, 6.88 * 3600), (7, 4.13 * 60)])
    def test_half_life(self, ph, seconds):
        """Half-lives in air: 28.7 days at pH 5, 6.88 h at 6, 4.13 min at 7."""
        rate = oxygenation_rate(ph, constant=value("oxidation.stumm_lee"), oxygen=0.21)
        assert float(half_life(rate)) == pytest.approx(seconds, rel=2e-3)


class TestPot:
    """First-order oxidation in series with the air's supply, against a numerical integration."""

    @pytest.mark.parametrize(("rate", "supply"), [(1e-6, 1e-9), (1e-5, 2e-8), (1e-4, 1e-6)])
    def test_closed_form(self, rate, supply):
        """The closed form solves dF/dt = -kF J/(kF + J)."""
        start, seconds = 0.03, 86400.0 * 5

        def slope(_t, f):
            return -(rate * f * supply) / (rate * f + supply)

        out = solve_ivp(slope, (0, seconds), [start], rtol=1e-10, atol=1e-14)
        assert float(iron2_left(start, seconds, rate=rate, supply=supply)) == pytest.approx(
            out.y[0, -1], rel=1e-6
        )

    def test_air_saturated_water(self):
        """Water saturated with 0.26 mM oxygen oxidises 1.04 mM of iron: four irons to one O2."""
        supply = oxygen_supply(1.0, transfer=1.0, saturation=0.26e-3)
        assert float(supply) == pytest.approx(1.04)  # mol/s through 1 m^2 at 1 m/s = mM


class TestStretchedExponential:
    """Kohlrausch's function: hand-worked with b 0.5 and tau 30 min."""

    def test_worked(self):
        """Done at 10 s 0.072, 1 min 0.167, 10 min 0.439, 1 h 0.757, 1 day 0.999."""
        seconds = np.array([10.0, 60.0, 600.0, 3600.0, 86400.0])
        assert np.allclose(stretched(seconds, 1800.0, 0.5), [0.072, 0.167, 0.439, 0.757, 0.999], atol=6e-4)

    def test_start_and_end(self):
        """A stroke shows its start at once and all of its colour in the end."""
        got = progress(np.array([0.0, np.inf]), 1800.0, 0.5, 0.3)
        assert got.tolist() == [0.3, 1.0]


class TestChalk:
    """CaCO3 + 2 H+ -> Ca2+ + CO2 + H2O: hand-worked film of 20 ml/m2."""

    def test_worked(self):
        """58.8 mM iron giving 2 H+ each: 2.35 mmol H+/m2, 0.118 g chalk; a skin with 4 g/m2 holds 34 times that."""
        acid = acid_per_area(20.0, iron=0.0588, protons=2.0)
        assert float(acid) * 1000 == pytest.approx(2.352, abs=1e-3)
        needed = chalk_needed(acid, molar_mass=molar_mass("CaCO3"))
        assert float(needed) == pytest.approx(0.118, abs=5e-4)
        assert float(chalk_reserve(areal_mass=200.0, chalk=0.02, needed=needed)) == pytest.approx(34, abs=0.5)
