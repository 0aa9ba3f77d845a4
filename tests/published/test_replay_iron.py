"""Iron from the ground up, replayed and held to published figures and stoichiometry."""

from __future__ import annotations

import math

import numpy as np
import pytest

from inkhorn.replay import composition, heap, skin
from inkhorn.replay.liquor import Liquor
from support.replays import dated, drawn, medians, played

FE, FES2, HEPTA, CACO3 = 55.845, 119.97, 278.01, 100.09  # g/mol, IUPAC 2021


class TestIupacMasses:
    """FeS2 + 3.5 O2 + H2O -> Fe2+ + 2 SO4-2 + 2 H+ and Fe + 2 H+ -> Fe2+ + H2, with IUPAC (2021) masses, by hand.

    10 g of FeS2 are 83.36 mmol; 4.655 g of iron use up the acid; 23.2 g of
    iron a litre is the most that vinegar of 5 % (0.833 mol/L) can hold.
    """

    def test_sulfide_gives_two_sulfates_and_its_iron(self):
        """What ten grams of pyrite give, ochre included, is 83.36 mmol of iron and twice that of sulfate."""
        moles = np.array([10 / FES2])
        gained, sunk = heap.products(moles, "ore", medians())
        assert composition.iron_total(gained + sunk)[0] == pytest.approx(83.36e-3, rel=2e-4)
        assert (gained + sunk)["sulfate"][0] == pytest.approx(166.7e-3, rel=2e-4)

    def test_iron_uses_up_the_acid_and_makes_hydrogen(self):
        """Iron in plenty takes up half its moles of the acid; as much hydrogen comes off, and no acid is left."""
        world, _ = played(
            dated(
                (0, {"kind": "add", "into": "jar", "liquid": "water", "amount": "500 ml"}),
                (1, {"kind": "add", "into": "jar", "lot": "sulfuric-acid", "amount": "10 g"}),
                (
                    1,
                    {
                        "kind": "neutralise",
                        "vessel": "jar",
                        "lot": "iron-filings",
                        "amount": "20 g",
                        "for": "60 days",
                    },
                ),
            )
        )
        acid = 0.96 * 10 / 98.07 * 2
        assert world.vessels["jar"].liquor["iron2"][0] == pytest.approx(acid / 2, rel=0.01)
        assert world.hydrogen[0] == pytest.approx(acid / 2, rel=0.01)
        assert world.vessels["jar"].metal.iron[0] == pytest.approx(0.96 * 20 / FE - acid / 2, rel=0.02)

    def test_little_iron_leaves_the_rest_of_the_acid(self):
        """One gram of filings gives its own iron and no more."""
        world, _ = played(
            dated(
                (0, {"kind": "add", "into": "jar", "liquid": "water", "amount": "500 ml"}),
                (1, {"kind": "add", "into": "jar", "lot": "sulfuric-acid", "amount": "10 g"}),
                (
                    1,
                    {
                        "kind": "neutralise",
                        "vessel": "jar",
                        "lot": "iron-filings",
                        "amount": "1 g",
                        "for": "60 days",
                    },
                ),
            )
        )
        assert world.vessels["jar"].liquor["iron2"][0] * FE == pytest.approx(0.96, rel=0.001)
        assert world.hydrogen[0] == pytest.approx(0.96 / FE, rel=0.001)

    def test_vinegar_holds_no_more_iron_than_its_acid(self):
        """Even after years, vinegar holds at most half a mole of iron for a mole of acetic acid (plus its other acids)."""
        steep = {"kind": "steep", "lot": "iron-nails", "amount": "300 g", "liquid": "vinegar", "liquid_amount": "1 L",
                 "into": "jar", "for": "1000 days"}  # fmt: skip
        world, draws = played(dated((0, steep)))
        liquor = world.vessels["jar"].liquor
        acids = liquor["acetate"] + liquor["solids"] * draws.of("x", "pot.solids_acid")
        assert liquor["iron2"][0] == pytest.approx(acids[0] / 2, rel=0.01)

    def test_three_weeks_in_vinegar_give_grams(self):
        """One to three weeks give some grams of iron a litre (common practice: 2-10), told by nine draws in ten."""
        steep = {"kind": "steep", "lot": "iron-nails", "amount": "300 g", "liquid": "vinegar", "liquid_amount": "1 L",
                 "into": "jar", "for": "14 days"}  # fmt: skip
        world, _ = drawn(dated((0, steep)))
        grams = composition.iron_total(world.vessels["jar"].liquor) * FE
        low, middle, high = np.percentile(grams, (5, 50, 95))
        assert 2 < middle < 15
        assert low < 10
        assert high > 2


class TestSeidellSolubility:
    """The measured solubility of iron(II) sulfate: of 100 g of crystals in 100 g of water 28.5 g are left over at 25 C, 54.8 g at 10 C.

    By hand from 29.51 and 20.5 g FeSO4 in 100 g of water (Seidell's tables).
    """

    @pytest.mark.parametrize(("celsius", "grams"), [(25, 28.5), (10, 54.8)])
    def test_crystals_on_cooling(self, celsius, grams):
        """The lot weighs what falls out, and the mother liquor that clings to it, less water lost in drying."""
        world, draws = played(
            dated(
                (0, {"kind": "add", "into": "pan", "liquid": "water", "amount": "100 g"}),
                (
                    0.1,
                    {"kind": "add", "into": "pan", "lot": "ferrous-sulfate-heptahydrate", "amount": "100 g"},
                ),
                (0.1, {"kind": "warm", "vessel": "pan", "to": f"{celsius} degC"}),
                (0, {"kind": "crystallise", "vessel": "pan", "lot": "green-crystals"}),
            )
        )
        lot = world.lots["green-crystals"]
        wet, dried = draws.of("a", "pot.crystals.mother"), draws.of("b", "pot.crystals.tetrahydrate")
        by_hand = grams * (1 + wet[0] - dried[0] * 3 * 18.015 / HEPTA)
        assert lot.mass[0] == pytest.approx(by_hand, rel=0.02)

    def test_the_new_lot_carries_what_was_reckoned(self):
        """An ink made with the crystals holds their iron, not that of a handbook's vitriol."""
        start = dated(
            (0, {"kind": "add", "into": "pan", "liquid": "water", "amount": "100 ml"}),
            (0.1, {"kind": "add", "into": "pan", "lot": "scraped-green-vitriol", "amount": "120 g"}),
            (0.1, {"kind": "crystallise", "vessel": "pan", "lot": "crop", "amount": "30 g"}),
            (0.1, {"kind": "add", "into": "jar", "liquid": "water", "amount": "100 ml"}),
            (0.1, {"kind": "add", "into": "jar", "lot": "crop", "amount": "10 g"}),
        )
        world, draws = drawn(start)
        lot, jar = world.lots["crop"], world.vessels["jar"].liquor
        weighed, used = (draws.of(f"entry:{n}/amount", "pot.lot_mass") for n in (3, 5))
        # Nobody can take more than there is, whatever was written.
        np.testing.assert_allclose(lot.mass, np.maximum(weighed - used, 0.0), rtol=1e-9)
        np.testing.assert_allclose(
            composition.iron_total(jar),
            composition.iron_total(lot.holds) * np.minimum(used, weighed),
            rtol=1e-9,
        )
        share = draws.of("lot:crop/iron", "materials.scraped-green-vitriol.iron")
        # Between the 7- and the 4-hydrate by IUPAC masses, mother liquor of the same salt aside.
        assert 0.17 < np.median(share) < 0.22
        assert share.std() < 0.02


class TestDiazHidalgo2018:
    """Ink of gallic acid and green vitriol, 0.0588 mol/L each, on no chalk: measured final pH 1.66.

    Diaz Hidalgo, R. J. et al., New insights into iron-gall inks, Heritage Science 6:63, 2018, Table 2.
    With the neutral 1:1 solid, PHREEQC (phreeqc.dat) needs 44 % of the iron in it to give that pH.
    """

    @pytest.fixture
    def gallic(self):
        """Return one ml of the ink."""
        mol = 0.0588e-3
        return Liquor.of(1, water=1.0, iron2=mol, sulfate=mol, gallic=np.array([mol * 170.12]))

    def test_binding_stops_at_the_measured_acid(self, gallic):
        """Without chalk, the film comes to the measured pH within 0.15, and 44 % are bound within 5 %."""
        held = skin.held_on(gallic, np.array([20.0]), np.zeros(1), medians())
        assert held.ph[0] == pytest.approx(1.66, abs=0.15)
        assert held.pyrogallol[0] / 0.0588e-3 == pytest.approx(0.44, abs=0.05)

    def test_on_chalk_enough_all_binds(self, gallic):
        """Two protons a bound iron in 20 ml/m2 need 0.12 g/m2 of chalk; given that, the limiting reagent decides."""
        lasting = skin.lasting(gallic, np.array([20.0]), np.array([3.0]), medians())
        bound = composition.dry_binding(gallic, medians()).bound[0]
        by_hand = 20e-3 * bound / 1e-3 * 2 / 2 * CACO3
        assert lasting.needed[0] == pytest.approx(by_hand, rel=1e-3)
        assert lasting.reserve[0] == pytest.approx(3.0 / by_hand, rel=1e-3)
        held = skin.held_on(gallic, np.array([20.0]), np.array([3.0]), medians())
        assert held.pyrogallol[0] == pytest.approx(bound)


class TestDavy:
    """Oak barks in H. Davy's analysis, parts in 480: spring-cut 29, autumn-cut 21; coppice 32, middle-sized tree 29.

    Laslett, T., Timber and Timber Trees, 1875, ch. XI (which prints the parts as per cent).
    """

    @pytest.mark.parametrize(
        ("one", "other", "ratio"),
        [("cut in spring", "cut in autumn", 29 / 21), ("coppice", "by the brook", math.sqrt(32 / 29))],
    )
    def test_ratio_of_tannin(self, one, other, ratio):
        """The middles of two lots stand to each other as Davy found, within the rounding of the rows."""
        found = []
        for said in (one, other):
            gather = {
                "kind": "gather",
                "lot": "bark",
                "material": "oak bark",
                "amount": "1 kg",
                "source": said,
            }
            steep = {"kind": "steep", "lot": "bark", "amount": "1 kg", "liquid": "water", "liquid_amount": "10 L",
                     "into": "tub", "for": "12 h"}  # fmt: skip
            _, draws = drawn(dated((0, gather), (1, steep)), n=4001)
            found.append(np.median(draws.of("lot:bark/tannin", "materials.oak-bark.tannin")))
        assert found[0] / found[1] == pytest.approx(ratio, rel=0.01)
