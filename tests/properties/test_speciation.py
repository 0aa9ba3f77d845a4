"""What must hold of any solution: balances, limits, order, sameness."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inkhorn.chemistry.speciation import Totals, solve

_TRACKED = {
    "iron2": "Fe+2",
    "iron3": "Fe+3",
    "sulfate": "SO4-2",
    "chloride": "Cl-",
    "acetate": "HAcetate",
    "carbonate": "CO2",
    "calcium": "Ca+2",
    "aluminium": "Al+3",
    "pyrogallol": "H2Pg",
    "catechol": "H2Cat",
    "organic_acid": "HA",
}
amount = st.one_of(st.just(0.0), st.floats(1e-6, 0.3))
bench = st.fixed_dictionaries(dict.fromkeys(_TRACKED, amount) | {"strong": st.floats(-0.2, 0.2)})
relaxed = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def draws(seed: int, n: int) -> Totals:
    """Return rough pots of every kind: each thing there in seven of ten, over its range."""
    rng = np.random.default_rng(seed)

    def some(most: float) -> np.ndarray:
        return (rng.random(n) < 0.7) * most * rng.random(n)

    tops = (0.2, 0.1, 0.3, 0.02, 0.5, 0.01, 0.02, 0.01, 0.4, 0.3, 0.1)
    parts = {name: some(top) for name, top in zip(_TRACKED, tops, strict=True)}
    return Totals(**parts, strong=0.05 * rng.standard_normal(n))


@relaxed
@given(pot=bench, celsius=st.floats(1, 95))
def test_balances(pot, celsius):
    """Each component and the charge balance; nothing is negative, at any temperature."""
    got = solve(Totals(**pot), temperature=celsius + 273.15)
    assert all(float(m) >= 0 for m in got.species.values())
    for name, component in _TRACKED.items():
        assert float(got.total(component)) == pytest.approx(pot[name], rel=1e-8, abs=1e-14)
    size = sum(pot[n] for n in _TRACKED) + abs(pot["strong"]) + 1e-7
    assert float(got.charge()) == pytest.approx(-pot["strong"], abs=1e-8 * size)
    assert got.bracketed == 0


@relaxed
@given(
    pot=bench,
    acid=st.floats(1e-6, 0.2),
    which=st.sampled_from(["chloride", "sulfate", "strong", "organic_acid"]),
)
def test_more_acid_never_raises_ph(pot, acid, which):
    """Adding hydrochloric, sulfuric, an untracked strong or a plain organic acid never raises the pH."""
    more = dict(pot)
    more[which] += -acid if which == "strong" else acid
    before, after = solve(Totals(**pot)), solve(Totals(**more))
    assert float(after.ph) <= float(before.ph) + 1e-9


@relaxed
@given(pot=bench)
def test_binding_limits(pot):
    """Zero iron binds nothing; bound iron is never more than the iron, nor than the groups."""
    none = solve(Totals(**{**pot, "iron3": 0.0}))
    assert [float(x) for x in none.bound_iron3()] == [0.0, 0.0]
    got = solve(Totals(**pot))
    gallic, catechol = (float(x) for x in got.bound_iron3())
    assert gallic + catechol <= pot["iron3"] * (1 + 1e-9)
    assert gallic <= pot["pyrogallol"] * (1 + 1e-9)
    assert catechol <= pot["catechol"] * (1 + 1e-9)


def test_both_ways_agree():
    """The fast way and the bracketed way give one answer, pots of every kind."""
    pots = draws(7, 8)
    fast, sure = solve(pots), solve(pots, robust=True)
    assert sure.bracketed == 8
    assert np.allclose(fast.ph, sure.ph, atol=1e-7)
    assert np.allclose(fast.ionic_strength, sure.ionic_strength, rtol=1e-7)


def test_fast_way_always_suffices():
    """Of 4,000 rough pots none needs the bracketed way."""
    assert solve(draws(11, 4000)).bracketed == 0


def test_one_draw_equals_a_row_of_many_and_repeats():
    """Row k of many is what k gives alone, bit for bit, and a second call gives the same."""
    many = draws(3, 50)
    first, again = solve(many), solve(many)
    assert np.array_equal(first.ph, again.ph)
    one = {n: getattr(many, n)[17] for n in (*_TRACKED, "strong")}
    alone = solve(Totals(**one))
    assert float(alone.ph) == first.ph[17]
    assert float(alone.species["FeSO4"]) == first.species["FeSO4"][17]


def test_iron_binds_more_as_acid_goes_and_gallate_before_catechol():
    """From pH below 1 up to 6 more and more iron(III) is held, pyrogallol-type groups first."""
    alkali = np.linspace(-0.2, 0.25, 60)
    kw = {"iron3": 0.01, "sulfate": 0.05, "strong": alkali}
    gallic = solve(Totals(pyrogallol=0.1, **kw))
    catechol = solve(Totals(catechol=0.1, **kw))
    held, other = gallic.bound_iron3()[0], catechol.bound_iron3()[1]
    assert gallic.ph[0] < 1
    assert gallic.ph[-1] > 6
    assert (np.diff(held) > -1e-9).all()
    assert held[0] < 0.0005
    assert held[-1] > 0.0099
    assert (held >= other - 1e-6).all()
    assert float(solve(Totals(catechol=0.1, iron3=0.01, sulfate=0.07)).bound_iron3()[1]) < 0.25 * 0.01
