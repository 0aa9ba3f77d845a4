"""Extraction and diffusion: limits, shapes, joins."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.chemistry.diffusion import crank_cylinder, crank_limited, crank_slab, crank_sphere
from inkhorn.chemistry.extraction import drawn_share, extractable, hydrolyse, released, slow_rate, soak, soaks


@pytest.mark.parametrize(
    "shape", [crank_slab, crank_cylinder, crank_sphere, lambda fo: crank_limited(fo, 3.0)]
)
def test_curves_rise_from_nothing_to_all(shape):
    """Each curve is 0 at once, 1 in the end, and never falls, over the join of its two forms."""
    fo = np.concatenate([[0.0], np.geomspace(1e-8, 50, 2000)])
    got = shape(fo)
    assert got[0] == pytest.approx(0.0, abs=1e-6)
    assert got[-1] == pytest.approx(1.0)
    assert (np.diff(got) >= -1e-9).all()


def test_limited_bath_becomes_infinite():
    """A liquor a million times the solid gives the slab's own curve."""
    fo = np.geomspace(1e-3, 1, 20)
    assert np.allclose(crank_limited(fo, 1e6), crank_slab(fo), atol=2e-6)


def test_one_draw_equals_a_row_of_many():
    """The same number comes out alone, in a row and in a grid."""
    fo = np.linspace(0.01, 1, 12).reshape(3, 4)
    many = crank_limited(fo, np.linspace(1, 5, 4))
    assert many[2, 1] == pytest.approx(float(crank_limited(fo[2, 1], np.linspace(1, 5, 4)[1])), rel=1e-13)


def test_washing_then_slow():
    """At once the washing share is out; after long, all."""
    assert released(0.3, 1e-4, np.array([0.0, 1e9])) == pytest.approx([0.3, 1.0])


def test_slow_rate_is_the_tail_of_the_sphere():
    """Late in a sphere's release what is left falls off at the slow rate."""
    d, a, t = 5e-11, 1e-3, np.array([1e4, 1.1e4])
    left = 1 - crank_sphere(d * t / a**2)
    assert np.log(left[0] / left[1]) / 1e3 == pytest.approx(float(slow_rate(d, a)), rel=1e-2)


def test_extractable_meets_both_ends():
    """The share is the cold one cold, the hot one hot, and between in between."""
    kw = {"cold": 0.5, "hot": 0.65, "cold_temperature": 290.0, "hot_temperature": 363.0}
    got = extractable(np.array([290.0, 330.0, 363.0, 1000.0]), **kw)
    assert got[0] == pytest.approx(0.5)
    assert got[2] == pytest.approx(0.65)
    assert got[0] < got[1] < got[2] < got[3] < 1


def test_soaks_conserve_solute():
    """What drained and what is left add up to what there was; a soak smaller than the marc holds drains none."""
    got = soaks(np.array([50.0, 80.0]), added=[900.0, 500.0], holds=400.0, share=0.9)
    assert np.allclose(sum(s.drained for s in got) + got[-1].left, [50.0, 80.0])
    assert float(soak(10.0, added=100.0, carried=0.0, holds=200.0).drained) == 0.0


def test_hydrolysis_conserves_mass():
    """Gallic acid and sugar weigh what tannin and water lost (molar masses that balance)."""
    water, gallic, sugar = 18.0, 170.0, 180.0
    got = hydrolyse(10.0, 0.4, masses=(10 * gallic + sugar - 10 * water, gallic, sugar, water))
    assert float(got.gallotannin + got.gallic + got.sugar - got.water) == pytest.approx(10.0)


def test_little_water_draws_a_smaller_share():
    """At the proportion of reference the factor is 1; less water draws less, more draws more, up to 1 + K/r0."""
    got = drawn_share(np.array([0.0, 3.0, 9.0, 30.0, 1e9]), competes=2.0, reference=9.0)
    assert got[0] == 0
    assert got[2] == pytest.approx(1)
    assert np.all(np.diff(got) > 0)
    assert got[-1] == pytest.approx(1 + 2 / 9)


@pytest.mark.parametrize(
    ("competes", "measured"), [(2.1, 37.74 / 40.43), (1.6, 44.61 / 47.17), (9.0, 12.04 / 15.18)]
)
def test_share_meets_measured_pomace(competes, measured):
    """Phenols of grape pomace in 13.48 over 27.96 L/kg: spirit, acetone, water (Ferri and others 2020, table 1)."""
    assert drawn_share(13.48, competes=competes, reference=27.96) == pytest.approx(measured, abs=0.01)
