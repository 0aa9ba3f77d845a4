"""Binding: limits, monotony, scale."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from inkhorn.chemistry.binding import bound, iron_to_capacity
from inkhorn.chemistry.permanence import free_iron, free_share

amounts = st.floats(0, 1e3, allow_subnormal=False)
slacks = st.floats(0, 1)


@given(iron=amounts, capacity=amounts, slack=slacks)
def test_never_more_than_either(iron, capacity, slack):
    """Bound iron is between nothing and the smaller of iron and capacity."""
    held = float(bound(iron, capacity, slack))
    assert 0 <= held <= min(iron, capacity)


@given(iron=st.floats(1e-6, 1e3), capacity=st.floats(1e-6, 1e3), slack=slacks, more=st.floats(0, 10))
def test_grows_with_both(iron, capacity, slack, more):
    """More iron, or more phenol, never binds less."""
    held = float(bound(iron, capacity, slack))
    assert float(bound(iron * (1 + more), capacity, slack)) >= held * (1 - 1e-12)
    assert float(bound(iron, capacity * (1 + more), slack)) >= held * (1 - 1e-12)


@given(iron=st.floats(1e-6, 1e3), capacity=st.floats(1e-6, 1e3), slack=slacks, scale=st.floats(1e-3, 1e3))
def test_scales(iron, capacity, slack, scale):
    """A pot twice as large binds twice as much."""
    a, b = float(bound(iron, capacity, slack)), float(bound(iron * scale, capacity * scale, slack))
    assert np.isclose(a * scale, b, rtol=1e-9)


def test_no_slack_is_the_limiting_reagent():
    """With no slack it is the plain minimum; zero iron binds nothing."""
    got = bound(np.array([0.0, 1.0, 2.0, 3.0]), 2.0, 0.0)
    assert np.allclose(got, [0.0, 1.0, 2.0, 2.0], atol=1e-7)


def test_ratio_edges():
    """No iron is 0 whatever the capacity; iron without phenol is infinite; free shares follow."""
    assert iron_to_capacity(np.array([0.0, 1.0, 1.0]), np.array([0.0, 0.0, 2.0])).tolist() == [
        0.0,
        np.inf,
        0.5,
    ]
    assert free_iron(np.array([3.0, 1.0]), 2.0).tolist() == [1.0, 0.0]
    assert free_share(np.array([4.0, 0.0]), np.array([1.0, 0.0])).tolist() == [0.75, 0.0]
