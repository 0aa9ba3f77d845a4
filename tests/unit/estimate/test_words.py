"""Words as evidence: what is said moves the estimate the way a person would expect."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.estimate.evidence.words import word
from inkhorn.estimate.posterior import sample_posterior, summarise
from inkhorn.estimate.problem import make_problem
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import make_plan
from inkhorn.replay.people import words
from support.daybooks import recorded

POT = [
    {"at": "2026-09-01T08:00", "kind": "add", "into": "pot", "liquid": "water", "amount": "about 1 L"},
    {"at": "2026-09-01T08:10", "kind": "add", "into": "pot", "lot": "tannic-acid", "amount": "about 40 g"},
    {"at": "2026-09-01T08:20", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "about 20 g"},
    {"at": "2026-09-01T08:30", "kind": "add", "into": "pot", "lot": "plum-gum", "amount": "about 15 g"},
    {"at": "2026-09-01T09:00", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-parchment", "method": "pen", "pen": "reed"},
    {"at": "2026-09-01T09:10", "kind": "add", "into": "pot", "liquid": "water", "amount": "about 500 ml"},
    {"at": "2026-09-01T09:20", "kind": "mark", "vessel": "pot", "trial": "t2", "support": "goat-parchment", "method": "pen", "pen": "reed"},
    {"at": "2026-09-02T09:30", "kind": "reading", "of": "exemplar:page", "what": "optical_density", "value": {"R": 0.8, "G": 0.85, "B": 0.8}, "sd": 0.03},
]  # fmt: skip


def estimated(what, value, **more):
    """Return the estimate of the pot after one word about the second trial."""
    said = {
        "at": "2026-09-02T10:00",
        "kind": "reading",
        "of": "trial:t2",
        "what": what,
        "value": value,
        **more,
    }
    return summarise(sample_posterior(make_plan(recorded([*POT, said])), particles=512)).vessels["pot"]


@pytest.mark.parametrize(
    ("what", "low", "high", "look"),
    [
        ("flow", "floods", "skips", lambda pot: pot.figures["viscosity"].median),
        ("depth", "far too pale", "far too dark", lambda pot: pot.dry_optical_density["G"].median),
        ("hue", "much bluer", "much browner", lambda pot: pot.dry_lab["b"].median),
    ],
)
def test_a_word_moves_the_estimate_its_own_way(what, low, high, look):
    """Opposite words about flow, depth and hue pull viscosity, density and b* apart, in their own direction."""
    assert look(estimated(what, low)) < look(estimated(what, high))


def test_than_compares_two_trials():
    """Calling the thinned trial darker than the first pulls against the model; calling it paler agrees and is likelier."""
    heights = {}
    for told in ("paler t1", "darker t1", "same t1"):
        said = {"at": "2026-09-02T10:00", "kind": "reading", "of": "trial:t2", "what": "than", "value": told}
        problem = make_problem(make_plan(recorded([*POT, said])))
        heights[told] = problem.log_likelihood(problem.prior(0, 256)).mean()
    assert heights["paler t1"] > heights["same t1"] > heights["darker t1"]


@pytest.mark.parametrize("scale", ["body", "surface", "depth", "hue", "flow", "absorbency"])
def test_the_chances_of_all_words_add_up_to_one(scale):
    """For any prediction the words of a scale share out the whole probability."""
    draws = Draws({}, np.zeros((0, 5)))
    mu = np.array([[-3.0, -0.5, 0.0, 1.0, 8.0]])
    said = [word(number=1, scale=scale, said=w) for w in words(scale)]
    total = sum(np.exp(one.log_density(mu, draws)) for one in said)
    np.testing.assert_allclose(total, 1.0, rtol=1e-12)
