"""Kitchen and period units against the law that defines them and an independent units library."""

from __future__ import annotations

import pint
import pytest

from inkhorn.daybook.measures import measures
from inkhorn.handbook.load import row
from inkhorn.quantities import read_quantity


def size(name: str) -> float:
    """Return one of a unit in g or ml."""
    return read_quantity(f"1 {name}", expect=("mass", "volume"), measures=measures()).value


class TestUnitedKingdom:
    """Weights and Measures Act 1985, Schedule 1; Units of Measurement Regulations 1995 (S.I. 1995/1804)."""

    def test_pint(self) -> None:
        """The pint is 0.56826125 cubic decimetre."""
        assert size("imperial pint") == pytest.approx(568.26125, rel=1e-12)

    def test_gallon(self) -> None:
        """The gallon is 4.54609 cubic decimetres."""
        assert size("imperial gallon") == pytest.approx(4546.09, rel=1e-12)

    def test_fluid_ounce(self) -> None:
        """The fluid ounce is a twentieth of a pint."""
        assert size("imperial fluid ounce") * 20 == pytest.approx(568.26125, rel=1e-12)

    def test_pound_and_ounce(self) -> None:
        """The pound is 0.45359237 kilogram, the ounce a sixteenth of it."""
        assert size("pound") == pytest.approx(453.59237, rel=1e-12)
        assert size("oz") * 16 == pytest.approx(453.59237, rel=1e-12)

    def test_troy_ounce(self) -> None:
        """The ounce troy is 12/175 of a pound."""
        assert size("troy ounce") == pytest.approx(453.59237 * 12 / 175, rel=1e-12)

    def test_stone(self) -> None:
        """The stone is 14 pounds."""
        assert size("stone") == pytest.approx(14 * 453.59237, rel=1e-12)


class TestUnitedStates:
    """NIST Handbook 44, Appendix C: exact metric equivalents."""

    def test_fluid_ounce(self) -> None:
        """The US fluid ounce is 29.5735295625 millilitres."""
        assert size("US fluid ounce") == pytest.approx(29.5735295625, rel=1e-12)

    def test_pint_cup_quart_gallon(self) -> None:
        """The gallon is 231 cubic inches; a quart is a quarter, a pint an eighth, a cup a sixteenth."""
        gallon = 231 * 2.54**3
        for name, parts in (("us gallon", 1), ("us quart", 4), ("us pint", 8), ("us cup", 16)):
            assert size(name) == pytest.approx(gallon / parts, rel=1e-12)

    def test_grain_scruple_drachm(self) -> None:
        """The grain is 64.79891 milligrams; 20 make a scruple, 60 a drachm, 480 a troy ounce."""
        grain = 0.06479891
        for name, grains in (
            ("grain", 1),
            ("scruple", 20),
            ("drachm", 60),
            ("troy ounce", 480),
            ("pennyweight", 24),
        ):
            assert size(name) == pytest.approx(grains * grain, rel=1e-9)


class TestUnitsLibrary:
    """The definitions shipped with pint, which quotes NIST and the UK regulations."""

    @pytest.mark.parametrize(
        ("ours", "theirs"),
        [
            ("imperial pint", "imperial_pint"),
            ("imperial gill", "imperial_gill"),
            ("imperial quart", "imperial_quart"),
            ("imperial gallon", "imperial_gallon"),
            ("imperial fluid ounce", "imperial_fluid_ounce"),
            ("fluid drachm", "imperial_fluid_drachm"),
            ("minim", "imperial_minim"),
            ("us pint", "US_pint"),
            ("us cup", "cup"),
            ("us fluid ounce", "fluid_ounce"),
            ("us quart", "quart"),
            ("us gallon", "gallon"),
            ("pound", "pound"),
            ("ounce", "ounce"),
            ("stone", "stone"),
            ("grain", "grain"),
            ("troy ounce", "troy_ounce"),
            ("troy pound", "troy_pound"),
            ("pennyweight", "pennyweight"),
            ("scruple", "scruple"),
            ("drachm", "apothecary_dram"),
        ],
    )
    def test_same_size(self, ours: str, theirs: str) -> None:
        """Every unit that is exact by definition is the library's too."""
        registry = pint.UnitRegistry()
        canonical = "g" if registry.Quantity(1, theirs).check("[mass]") else "ml"
        assert size(ours) == pytest.approx(registry.Quantity(1, theirs).to(canonical).magnitude, rel=1e-9)


class TestHouseholdMeasures:
    """US Code of Federal Regulations, Title 21, 101.9(b)(5)(viii): cup 240, tablespoon 15, teaspoon 5 ml."""

    @pytest.mark.parametrize(("name", "ml"), [("cup", 240), ("tablespoon", 15), ("teaspoon", 5)])
    def test_within_one_sd(self, name: str, ml: float) -> None:
        """The kitchen's own measure reaches the labelled one within one sd."""
        found = read_quantity(f"1 {name}", expect=("volume",), measures=measures())
        assert abs(found.value - ml) <= found.sd


class TestAtomicWeights:
    """IUPAC Commission on Isotopic Abundances and Atomic Weights, abridged table 2021."""

    def test_iron(self) -> None:
        """The standard atomic weight of iron is 55.845(2)."""
        iron = row("measures.iron_molar_mass")
        assert (iron.value, iron.spread) == (55.845, 0.002)

    def test_gallic_acid(self) -> None:
        """C7H6O5 from carbon 12.011, hydrogen 1.008 and oxygen 15.999."""
        assert row("measures.gallic_acid_molar_mass").value == pytest.approx(
            7 * 12.011 + 6 * 1.008 + 5 * 15.999, abs=0.01
        )


class TestWater:
    """IAPWS R6-95(2018) through the iapws package's IAPWS95."""

    def test_density_at_20(self) -> None:
        """Liquid water at 20 C and 0.101325 MPa."""
        iapws = pytest.importorskip("iapws")
        water = iapws.IAPWS95(T=293.15, P=0.101325)
        assert row("measures.water_density_20").value == pytest.approx(water.rho / 1000, abs=2e-6)
