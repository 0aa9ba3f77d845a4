"""Formulas, crystals, density scales, mould: edges and inverses."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.chemistry.boiling import heat_capacity, still_evaporated, time_to_boil_off
from inkhorn.chemistry.darkening import browned
from inkhorn.chemistry.density import (
    barkometer,
    baume,
    from_barkometer,
    from_baume,
    from_plato,
    from_twaddell,
    liquor_volume,
    plato,
    twaddell,
)
from inkhorn.chemistry.hydrates import HYDRATES, composition, crystal_yield, element_fraction, iron_fraction
from inkhorn.chemistry.oxidation import iron2_left
from inkhorn.chemistry.spoilage import mouldy_seconds, preserved
from inkhorn.chemistry.weathering import neutralised, weathered
from inkhorn.errors import HandbookError


def test_formula_counts():
    """Brackets, counts and water of crystallisation are counted."""
    assert dict(composition("KAl(SO4)2.12H2O")) == {"Al": 1, "H": 24, "K": 1, "O": 20, "S": 2}


@pytest.mark.parametrize("formula", ["", "fe", "Fe(SO4", "Fe)2", "Fe+2", "7"])
def test_bad_formula(formula):
    """What is no formula is refused with the formula named."""
    with pytest.raises(HandbookError, match="cannot be read"):
        composition(formula)


def test_drier_hydrates_hold_more_iron():
    """Iron content rises as water of crystallisation goes."""
    shares = [iron_fraction(f) for f in HYDRATES.values()]
    assert shares == sorted(shares)
    assert element_fraction("FeSO4", "Cu") == 0


def test_no_crystals_below_saturation():
    """A thin solution gives none; no crystals come from salt alone without water."""
    got = crystal_yield(salt=np.array([1.0, 10.0]), water=np.array([100.0, 0.0]), temperature=293.15)
    assert got.crystals.tolist() == [0.0, 0.0]
    assert got.salt_left.tolist() == [1.0, 10.0]


@pytest.mark.parametrize(
    ("there", "back"),
    [(barkometer, from_barkometer), (twaddell, from_twaddell), (baume, from_baume), (plato, from_plato)],
)
def test_scales_have_inverses(there, back):
    """Each scale's inverse leads back."""
    gravity = np.linspace(1.001, 1.2, 9)
    assert np.allclose(back(there(gravity)), gravity, atol=1e-10)


def test_volume_adds_up():
    """Each dissolved thing adds its specific volume; more of anything never shrinks the pot."""
    base = float(liquor_volume(water=500.0, temperature=293.15))
    full = float(
        liquor_volume(water=500.0, ethanol=5, acetic=5, solids=10, salts=10, gum=5, temperature=293.15)
    )
    assert base == pytest.approx(500.9, abs=0.1)
    assert full == pytest.approx(base + 5 * 1.2 + 5 * 0.86 + 10 * 0.61 + 10 * 0.072 + 5 * 0.6)
    assert float(liquor_volume(water=0.0, solids=1.0, solids_volume=0.7, temperature=300.0)) == pytest.approx(
        0.7
    )


def test_slow_evaporation_is_bounded():
    """A still pot loses flux x area x time, at most its water; no power takes no time (and boils nothing)."""
    assert still_evaporated(0.5, 0.05, np.array([60.0, 1e9]), water=300.0).tolist() == [1.5, 300.0]
    assert time_to_boil_off(np.array([1000.0, 5.0]), np.array([500.0, 0.0])).tolist() == [2.0, 0.0]
    assert float(heat_capacity(0.1, water=4.18, drop=2.5)) == pytest.approx(3.93)


def test_mould_waits_and_can_be_kept_off():
    """No mould before its onset, none with spirit enough; sharper with warmth."""
    assert mouldy_seconds(np.array([5.0, 15.0]), onset=10.0).tolist() == [0.0, 5.0]
    assert float(mouldy_seconds(1e9, onset=10.0, kept=1.0)) == 0.0
    assert float(mouldy_seconds(10.0, onset=10.0, speed=2.0)) == 10.0
    half = preserved(ethanol=0.065, acetic=0.0, ethanol_needed=0.13, acetic_needed=0.01)
    assert float(half) == pytest.approx(0.5)
    assert float(preserved(ethanol=0.1, acetic=0.1, ethanol_needed=0.13, acetic_needed=0.01)) == 1.0


def test_weathering_and_neutralising_edges():
    """Nothing weathers before the lag; iron that runs short leaves acid."""
    assert weathered(np.array([10.0, 1e12]), rate=1e-6, lag=20.0).tolist() == [0.0, 1.0]
    got = neutralised(np.array([1.0, -0.5]), 0.1, seconds=np.inf, rate=1e-5)
    assert got.iron_dissolved.tolist() == [0.1, 0.0]
    assert got.acid_left.tolist() == [0.8, -0.5]


def test_pot_without_iron_air_or_time_stays():
    """No iron, no rate, no supply, no time: nothing changes; browning starts at nothing."""
    got = iron2_left(
        np.array([0.0, 1.0, 1.0, 1.0]),
        np.array([10.0, 10.0, 10.0, 0.0]),
        rate=np.array([1.0, 0.0, 1.0, 1.0]),
        supply=np.array([1.0, 1.0, 0.0, 1.0]),
    )
    assert got.tolist() == [0.0, 1.0, 1.0, 1.0]
    assert browned(np.array([0.0, np.inf]), 1e10, 0.7).tolist() == [0.0, 1.0]
