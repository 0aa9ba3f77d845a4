"""The US government standard writing ink, replayed from weighed ingredients.

Recipe: C. E. Waters, Inks, National Bureau of Standards Circular C413, 1936.
Expected figures are hand calculations from that recipe and IUPAC masses, and
one equilibrium calculation with PHREEQC (Parkhurst and Appelo 2013, database
phreeqc.dat) of its minerals alone.
"""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.estimate.posterior import sample_posterior, summarise
from inkhorn.replay import composition
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import make_plan, play
from support.daybooks import recorded, standard_ink

# By hand: 15.0 g x 55.845 / 278.01 in a litre.
IRON_G_PER_L = 3.013
IRON_MMOL_PER_L = 53.96
# By hand: 11.7 g of tannic acid at 1701.2 g/mol, 3.8 g of gallic acid monohydrate at 188.13 g/mol.
TANNIC_MMOL, GALLIC_MMOL = 6.877, 20.20
# 0.05396 mol/kg FeSO4 with 0.0343 mol/kg HCl at 25 C, phreeqc.dat.
PH_OF_MINERALS = 1.827


@pytest.fixture(scope="module")
def jar():
    """Return the jar at the medians of every unknown."""
    plan = make_plan(recorded(standard_ink()))
    draws = Draws({}, np.zeros((0, 1)))
    return play(plan, draws).world.vessels["jar"], draws


class TestCircularC413:
    """Composition by hand from the circular's recipe."""

    def test_volume_is_a_litre(self, jar):
        """The jar is filled up to a litre."""
        state, _ = jar
        assert composition.volume(state.liquor, state.temperature)[0] == pytest.approx(1000, abs=0.01)

    def test_iron(self, jar):
        """Iron is 3.013 g/L, 53.96 mmol/L, within the rounding of the masses."""
        state, _ = jar
        iron = composition.iron_total(state.liquor)[0]
        assert iron * 1000 == pytest.approx(IRON_MMOL_PER_L, abs=0.02)
        assert iron * 55.845 == pytest.approx(IRON_G_PER_L, abs=0.001)

    def test_iron_to_capacity(self, jar):
        """Iron against sites is the hand figure for the handbook's sites per tannic acid.

        The circular's tannic acid is taken as pure by hand and as 93 % by the
        handbook, so the hand figure is made with that share.
        """
        state, draws = jar
        held = composition.dry_binding(state.liquor, draws)
        tannic = 0.93 * TANNIC_MMOL * 4.5
        by_hand = IRON_MMOL_PER_L / (tannic + GALLIC_MMOL)
        assert held.iron[0] / held.capacity[0] == pytest.approx(by_hand, rel=0.005)

    def test_ph_near_its_minerals(self, jar):
        """The pH is that of iron(II) sulfate and acid, a little lower for gallic acid and traces of iron(III)."""
        state, draws = jar
        ph = composition.acidity(state.liquor, state.temperature, draws)[0]
        assert ph == pytest.approx(PH_OF_MINERALS, abs=0.06)

    def test_the_estimate_says_so(self):
        """The whole estimate carries iron with the scale's error and the balanced ratio inside its band."""
        jar = summarise(sample_posterior(make_plan(recorded(standard_ink())), particles=512)).vessels["jar"]
        iron = jar.figures["iron_total"]
        assert iron.p05 <= IRON_MMOL_PER_L <= iron.p95
        # A jug filled to the mark is good to a few per cent, the scale is better: common practice.
        assert iron.p95 - iron.p05 < 0.15 * IRON_MMOL_PER_L
        # Lewis 1763 and this circular both come out near one iron a site (five sites a tannic acid).
        ratio = jar.figures["iron_to_capacity"]
        assert ratio.p05 < IRON_MMOL_PER_L / (5 * TANNIC_MMOL + GALLIC_MMOL) < ratio.p95

    def test_a_wrong_salt_would_show(self):
        """Twin that must differ: the same weight of a salt with less iron does not give 53.96 mmol/L."""
        entries = standard_ink()
        entries[3] = {**entries[3], "lot": "scraped-green-vitriol"}
        plan = make_plan(recorded(entries))
        state = play(plan, Draws({}, np.zeros((0, 1)))).world.vessels["jar"]
        assert abs(composition.iron_total(state.liquor)[0] * 1000 - IRON_MMOL_PER_L) > 5
