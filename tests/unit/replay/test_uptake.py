"""The compiled maps do what the plain equations say."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry import binding
from inkhorn.replay import acid, uptake
from inkhorn.replay.draws import Draws

N = 500
RNG = np.random.default_rng(8)


def rows(count: int, top: float) -> tuple[np.ndarray, ...]:
    """Return so many arrays (N,) between nothing and a top."""
    return tuple(RNG.uniform(0, top, N) for _ in range(count))


def test_turning_and_binding_are_those_of_the_chemistry_floor() -> None:
    """Turned iron, bound iron and tannin used up agree with first-order decay and `binding.bound`."""
    tannins, sites, (decayed,) = rows(4, 20.0), rows(4, 3e-3), rows(1, 1.0)
    iron2, iron3, held = rows(3, 0.05)
    groups = (5.9e-3, 5.9e-3, 5.3e-3, 3.5e-3)
    out = dict(
        zip(uptake.OUT, uptake.turn(tannins, sites, decayed, iron2, iron3, held, 0.01, groups), strict=True)
    )
    capacity = sum(g * s for g, s in zip(tannins, sites, strict=True))
    turned = iron2 * decayed * capacity / (capacity + iron2)
    bound = binding.bound(iron3 + turned, capacity, 0.01)
    np.testing.assert_allclose(out["iron2"], iron2 - turned, rtol=1e-12)
    np.testing.assert_allclose(out["complex_iron"], held + bound, rtol=1e-12)
    np.testing.assert_allclose(out["iron3"], iron3 + turned - bound, rtol=1e-9, atol=1e-15)
    np.testing.assert_allclose(out["condensed"], tannins[3] * (1 - bound / capacity), rtol=1e-9)
    np.testing.assert_allclose(out["complex_catechol"], tannins[3] * groups[3] * bound / capacity, rtol=1e-9)


def test_nothing_in_gives_nothing_out() -> None:
    """A pot without tannin, or without iron, stays as it is, and no number is lost in a division by nothing."""
    none, some = np.zeros(N), np.full(N, 0.02)
    no_tannin = uptake.turn((none,) * 4, (some,) * 4, some, some, some, none, 0.01, (1.0,) * 4)
    np.testing.assert_array_equal(no_tannin[:2], [some, some])
    no_iron = uptake.turn((some,) * 4, (some,) * 4, some, none, none, none, 0.01, (1.0,) * 4)
    np.testing.assert_array_equal(no_iron, [none] * 5 + [some] * 4)


def test_a_film_settles_where_its_acid_balances() -> None:
    """At the pH found, acid set free by binding is free acid and bisulfate; with base to spare it is the top."""
    draws = Draws({}, np.zeros((0, N)))
    base, pyro, cat, sulfate = (RNG.uniform(low, 0.1, N) for low in (-0.02, 0.0, 0.0, 0.01))
    constant, top = acid.dissociation(draws), np.full(N, 6.5)
    laws = [law for kind in acid.CLASSES for law in acid.binding_law(kind, draws)]
    ph = uptake.settled_ph(base, pyro, cat, sulfate, constant, top, *laws, 45)
    free = 10.0**-ph
    over = (
        base
        + pyro * acid.bound_share("pyrogallol", ph, draws)
        + cat * acid.bound_share("catechol", ph, draws)
    )
    inside = ph < 6.4
    assert inside.sum() > N / 2
    holds = free + sulfate * free / (free + constant)
    np.testing.assert_allclose(over[inside], holds[inside], rtol=1e-6, atol=1e-9)
    assert np.all(over[~inside] <= 1e-6)
