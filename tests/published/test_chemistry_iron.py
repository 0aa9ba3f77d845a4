"""Iron salts, sulfides and the government ink against published figures."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.chemistry.binding import capacity, iron_share_of_tannate, iron_to_capacity
from inkhorn.chemistry.hydrates import crystal_yield, iron_fraction, molar_mass, solubility
from inkhorn.chemistry.weathering import (
    ferric_rate,
    hydrogen_volume,
    leached,
    neutralised,
    oxygen_rate,
    surface_share_rate,
)
from inkhorn.handbook.load import row, value


class TestMolarMasses:
    """IUPAC abridged standard atomic weights 2021; formula masses as printed in chemical handbooks."""

    @pytest.mark.parametrize(
        ("formula", "mass"),
        [
            ("FeSO4.7H2O", 278.01),
            ("FeSO4.6H2O", 259.99),
            ("FeSO4.4H2O", 223.96),
            ("FeSO4.H2O", 169.92),
            ("FeSO4", 151.90),
            ("Fe2(SO4)3", 399.86),
            ("Fe(CH3COO)2", 173.93),
            ("FeS2", 119.97),
            ("C76H52O46", 1701.2),
            ("C7H6O5", 170.12),
            ("C7H6O5.H2O", 188.13),
            ("C15H14O6", 290.27),
            ("C22H18O11", 458.38),
            ("C41H32O26", 940.7),
            ("CaCO3", 100.09),
            ("KAl(SO4)2.12H2O", 474.38),
        ],
    )
    def test_mass(self, formula, mass):
        """Molar masses to the printed digit."""
        assert molar_mass(formula) == pytest.approx(mass, abs=0.06 if mass > 900 else 0.011)

    @pytest.mark.parametrize(
        ("formula", "percent"),
        [
            ("FeSO4.7H2O", 20.09),
            ("FeSO4.6H2O", 21.48),
            ("FeSO4.4H2O", 24.94),
            ("FeSO4.H2O", 32.87),
            ("FeSO4", 36.76),
            ("Fe2(SO4)3", 27.93),
            ("Fe(CH3COO)2", 32.11),
        ],
    )
    def test_iron(self, formula, percent):
        """Iron content of each salt to the printed digit."""
        assert 100 * iron_fraction(formula) == pytest.approx(percent, abs=0.011)

    def test_dried_vitriol(self):
        """Dried vitriol of 86-89 % FeSO4 holds 1.57-1.63 times the iron of crystals."""
        for share, times in ((0.86, 1.574), (0.89, 1.629)):
            assert share * iron_fraction("FeSO4") / iron_fraction("FeSO4.7H2O") == pytest.approx(
                times, abs=2e-3
            )


class TestSolubility:
    """Solubility of iron(II) sulfate: encyclopaedia data box, and a second, older table in mass % (from memory)."""

    @pytest.mark.parametrize(
        ("celsius", "grams"),
        [(0, 15.65), (10, 20.5), (25, 29.51), (40.1, 39.89), (54, 51.35), (77, 44.69), (90.1, 35.97)],
    )
    def test_points(self, celsius, grams):
        """Measured points are met."""
        assert float(solubility(celsius + 273.15)) == pytest.approx(grams, rel=1e-6)

    @pytest.mark.parametrize(("celsius", "percent"), [(20, 20.8), (30, 24.8), (50, 32.8), (80, 30.4)])
    def test_second_table(self, celsius, percent):
        """Between the points an independent table (mass %) is met within 3 %."""
        grams = 100 * percent / (100 - percent)
        assert float(solubility(celsius + 273.15)) == pytest.approx(grams, rel=0.03)

    def test_crystals(self):
        """100 g of crystals in 100 g of hot water: 28.5, 54.8, 67.1 g come back at 25, 10, 0 C (mass balance)."""
        salt = 100 * molar_mass("FeSO4") / molar_mass("FeSO4.7H2O")
        got = crystal_yield(salt=salt, water=200 - salt, temperature=np.array([25.0, 10.0, 0.0]) + 273.15)
        assert np.allclose(got.crystals, [28.5, 54.8, 67.1], atol=0.06)
        assert np.allclose(got.crystals + got.salt_left + got.water_left, 200.0)


class TestSulfide:
    """Stoichiometry of pyrite oxidation and the rate laws of Williamson and Rimstidt (1994)."""

    def test_kilogram(self):
        """A kilogram of FeS2 gives 2.317 kg of crystals and 0.8175 kg of acid (16.67 mol H+)."""
        got = leached(1000 / molar_mass("FeS2"), lost=0.0)
        assert float(got.iron) * molar_mass("FeSO4.7H2O") == pytest.approx(2317, abs=1)
        assert float(got.protons) == pytest.approx(16.67, abs=5e-3)
        assert float(got.protons) / 2 * molar_mass("H2SO4") == pytest.approx(817.5, abs=0.5)
        assert float(2 * got.iron + got.protons - 2 * got.sulfate) == pytest.approx(0.0, abs=1e-9)

    def test_neutralise(self):
        """10 g FeS2 makes 166.7 mmol H+, which 4.655 g of iron meets, to 46.35 g of crystals in all."""
        got = leached(10 / molar_mass("FeS2"), lost=0.0)
        met = neutralised(got.protons, 1.0, seconds=np.inf, rate=1e-5)
        assert float(met.iron_dissolved) * 55.845 == pytest.approx(4.655, abs=1e-3)
        assert float(got.iron + met.iron_dissolved) * molar_mass("FeSO4.7H2O") == pytest.approx(
            46.35, abs=0.01
        )
        assert float(met.acid_left) == pytest.approx(0.0, abs=1e-12)

    def test_hydrogen(self):
        """One gram of iron makes 0.438 L of hydrogen at 25 C."""
        assert float(hydrogen_volume(1 / 55.845, 298.15)) == pytest.approx(0.438, abs=1e-3)

    def test_air_alone(self):
        """PH 2, 0.26 mmol/kg oxygen: 1.73e-10 mol/m2/s; 7.8e-4 of a mass of 1 mm grains a year."""
        rate = oxygen_rate(
            log_rate=value("iron.weathering.abiotic_log"),
            oxygen=2.6e-4,
            ph=2.0,
            order=value("iron.weathering.oxygen_order"),
            proton_order=value("iron.weathering.proton_order"),
        )
        assert float(rate) == pytest.approx(1.73e-10, rel=5e-3)
        share = surface_share_rate(rate, surface=1.195, molar_mass=119.97)
        assert float(share) * 365.25 * 86400 == pytest.approx(7.8e-4, rel=1e-2)

    def test_bacteria(self):
        """1 mM Fe3+ over 10 mM Fe2+: 8.7e-9 mol/m2/s, 3.9 % of 1 mm grains a year."""
        rate = ferric_rate(
            log_rate=value("iron.weathering.ferric_log"),
            ferric=1e-3,
            ferrous=1e-2,
            ferric_order=value("iron.weathering.ferric_order"),
            ferrous_order=value("iron.weathering.ferrous_order"),
        )
        assert float(rate) == pytest.approx(8.7e-9, rel=1e-2)
        share = surface_share_rate(rate, surface=1.195, molar_mass=119.97)
        assert float(share) * 365.25 * 86400 == pytest.approx(0.039, rel=2e-2)


class TestGovernmentInk:
    """The US government standard writing ink, NBS Circular C413 (1936).

    A litre holds 11.7 g tannic acid, 3.8 g gallic acid crystals, 15.0 g green vitriol.
    """

    def test_iron(self):
        """53.96 mmol/L of iron, 3.013 g/L; 6.877 mmol tannic acid and 20.20 mmol gallic acid."""
        iron = 15.0 / molar_mass("FeSO4.7H2O")
        assert iron * 1000 == pytest.approx(53.96, abs=0.01)
        assert iron * molar_mass("Fe") == pytest.approx(3.013, abs=1e-3)
        assert 11.7 / molar_mass("C76H52O46") * 1000 == pytest.approx(6.877, abs=1e-3)
        assert 3.8 / molar_mass("C7H6O5.H2O") * 1000 == pytest.approx(20.20, abs=0.01)

    @pytest.mark.parametrize(("sites", "expected"), [(5, 0.988), (10, 0.606)])
    def test_balance(self, sites, expected):
        """Iron over capacity is 0.988 with 5 irons a tannic acid and 0.606 with 10."""
        holds = capacity(
            gallotannin=11.7,
            gallic=3.8 * molar_mass("C7H6O5") / molar_mass("C7H6O5.H2O"),
            gallotannin_sites=sites / molar_mass("C76H52O46"),
            gallic_sites=1 / molar_mass("C7H6O5"),
            ellagitannin_sites=0.0,
            condensed_sites=0.0,
        )
        assert 15.0 / molar_mass("FeSO4.7H2O") / float(holds) == pytest.approx(expected, abs=1e-3)


class TestBalancedInk:
    """The ratio of tannic acid to green vitriol that leaves no iron free in the conservation literature.

    Neevel, J. G., Phytate: a potential conservation agent for the treatment of ink corrosion, Restaurator 16
    (1995) 143: 3.67 iron a tannic acid. The figure is quoted from memory; the paper was not seen.
    """

    def test_by_mass(self):
        """3.67 to 1 by amount is 1.667 g of tannic acid for a gram of vitriol: nothing free, nothing to spare."""
        iron, tannin = 1.0 / molar_mass("FeSO4.7H2O"), 1.667
        holds = capacity(
            gallotannin=tannin,
            gallic=0.0,
            gallotannin_sites=3.67 / molar_mass("C76H52O46"),
            gallic_sites=0.0,
            ellagitannin_sites=0.0,
            condensed_sites=0.0,
        )
        assert float(iron_to_capacity(iron, holds)) == pytest.approx(1.0, abs=2e-3)

    def test_within_the_handbook(self):
        """What the handbook lets a gram of gallotannin hold takes 3.67 in, between its 5th and 95th percentiles."""
        low, high = row("binding.sites.gallotannin").at(np.array([-1.645, 1.645])) * molar_mass("C76H52O46")
        assert low < 3.67 < high


class TestTannates:
    """The first and second iron tannate of a 1920s text (Discovery, article on inks): 5.5 and 8 % iron."""

    @pytest.mark.parametrize(("per_molecule", "percent"), [(1.77, 5.5), (2.64, 8.0)])
    def test_share(self, per_molecule, percent):
        """They hold 1.77 and 2.64 irons a molecule."""
        got = iron_share_of_tannate(
            per_molecule, iron=molar_mass("Fe"), tannin=molar_mass("C76H52O46"), hydrogen=molar_mass("H")
        )
        assert 100 * float(got) == pytest.approx(percent, abs=0.02)
