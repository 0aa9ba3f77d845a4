"""Extraction equations against published forms and hand-worked figures."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.chemistry.extraction import arrhenius, decayed, hydrolyse, peleg, soaks
from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.handbook.load import value


class TestArrhenius:
    """Arrhenius' law with the CODATA 2018 gas constant; hand-worked."""

    def test_tea_leaf(self):
        """16.162 kJ/mol (old tea leaf, Tran Chi Hai) makes a steep 2.217 times faster from 20 to 60 C."""
        energy = value("extraction.energy_tea")
        assert float(arrhenius(1.0, energy, 333.15, 293.15)) == pytest.approx(2.217, abs=5e-4)

    def test_thirty_kilojoules(self):
        """30 kJ/mol: 4.384 times by hand with R rounded to 8.314, hence 1e-3."""
        assert float(arrhenius(1.0, 30e3, 333.15, 293.15)) == pytest.approx(4.384, abs=1e-3)


class TestPeleg:
    """Peleg 1988 (Journal of Food Science 53:1216), the form fitted to grape seed by Bucic-Kojic 2007."""

    def test_worked(self):
        """K1 0.25, K2 1/80: 26.67 after 10 min, 60.0 after 60, 80 at the end."""
        got = peleg(np.array([10.0, 60.0, 1e12]), 0.25, 1 / 80)
        assert np.allclose(got, [26.667, 60.0, 80.0], atol=1e-3)

    def test_initial_rate(self):
        """The slope at the start is 1/K1."""
        assert float(peleg(1e-6, 0.25, 1 / 80)) / 1e-6 == pytest.approx(4.0, rel=1e-5)


class TestRepeatedSoaks:
    """Hand calculation: 100 g in dry bark that holds 2 L, three soaks of 8 L, free partition."""

    def test_worked(self):
        """12.5, 2.5, 0.5 g/L; 75, 20, 4 g carried by 6, 8, 8 L; one gram left."""
        got = soaks(100.0, added=[8000.0, 8000.0, 8000.0], holds=2000.0)
        assert [float(s.concentration) * 1000 for s in got] == pytest.approx([12.5, 2.5, 0.5])
        assert [float(s.drained) for s in got] == pytest.approx([75.0, 20.0, 4.0])
        assert [float(s.drained_liquor) for s in got] == pytest.approx([6000.0, 8000.0, 8000.0])
        assert float(got[-1].left) == pytest.approx(1.0)


class TestHydrolysis:
    """C76H52O46 + 10 H2O -> 10 C7H6O5 + C6H12O6, molar masses from IUPAC 2021 abridged weights."""

    MASSES = ("C76H52O46", "C7H6O5", "C6H12O6", "H2O")

    def test_one_gram(self):
        """1 g of tannic acid gives 1.0000 g gallic acid and 0.1059 g glucose, taking up 0.1059 g water."""
        masses = tuple(molar_mass(f) for f in self.MASSES)
        got = hydrolyse(1.0, 1.0, masses=masses)
        assert float(got.gallic) == pytest.approx(1.0000, abs=5e-5)
        assert float(got.sugar) == pytest.approx(0.1059, abs=5e-5)
        assert float(got.water) == pytest.approx(0.1059, abs=5e-5)
        assert float(got.gallic + got.sugar - got.water) == pytest.approx(1.0, rel=1e-5)

    def test_ten_days_at_three_per_cent(self):
        """K = 0.03 a day for 10 days opens 25.9 % of the esters."""
        assert float(decayed(0.03 / 86400, 10 * 86400)) == pytest.approx(0.2592, abs=5e-5)
