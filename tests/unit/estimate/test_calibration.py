"""The sampler and the likelihoods together are calibrated: truths from the model rank evenly in its posteriors."""

from __future__ import annotations

import pytest

from inkhorn.estimate.problem import Problem
from support.calibrated import evenness, outside, ranks, small_bench

TRUTHS = range(20)


@pytest.fixture(scope="module")
def bench() -> Problem:
    """Return the small bench."""
    return small_bench()


def test_truths_rank_evenly(bench: Problem) -> None:
    """Ranks of eight main figures over 20 truths are as even as chance lets them be (Talts and others 2018)."""
    found = ranks(bench, TRUTHS, particles=128)
    assert len(found) == 8
    assert {name: evenness(shares) for name, shares in found.items() if evenness(shares) < 1e-3} == {}
    assert 0.08 < outside(found) < 0.34
    assert outside({"pH": found["pH"]}) < 0.5


def test_a_broken_likelihood_is_seen(bench: Problem) -> None:
    """Twin that must fail: with readings believed six times as sure as they are, the pH falls outside its bands."""
    found = ranks(bench, list(TRUTHS)[:12], particles=128, believed=1 / 6)
    assert outside({"pH": found["pH"]}) > 0.5
