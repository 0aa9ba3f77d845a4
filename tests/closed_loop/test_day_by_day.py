"""An inkwell that stood open for a week or so, in workshops whose physics is not the model's own."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from inkhorn.colour.difference import ciede2000
from inkhorn.counsel.daily.adjust import adjust
from inkhorn.estimate.posterior import sample_posterior
from inkhorn.handbook.load import value
from inkhorn.replay.fold import make_plan
from inkhorn.simulate import nature
from inkhorn.simulate.workshops import Diary, exemplar_entries, random_workshop
from support.daybooks import recorded


def off_and_after(seed):
    """Return how far the inkwell's ink is from the trial, colour and log thickness, before and after the advice."""
    deal = random_workshop(seed)
    first = deal.entries[0]["at"]
    diary = Diary(truth=deal.truth, at=deal.truth.now + timedelta(hours=1), entries=deal.entries)
    diary.do(kind="pour", **{"from": "pot"}, into="inkwell", amount="60 ml")
    diary.do(kind="store", vessel="inkwell", how="open")
    pen = next(iter(deal.truth.bench.pens))
    diary.do(kind="mark", vessel="inkwell", trial="good", support="skin-1", method="pen", pen=pen)
    before = deal.truth.copy()
    diary.at += timedelta(days=6 + 2 * (seed % 3))
    diary.see("vessel:inkwell", "volume")
    diary.see("trial:good", "optical_density")
    diary.do(kind="mark", vessel="inkwell", trial="now", support="skin-1", method="pen", pen=pen)
    diary.see("trial:now", "optical_density")
    entries = sorted([*exemplar_entries(deal.exemplar, first), *deal.entries], key=lambda e: e["at"])
    post = sample_posterior(make_plan(recorded(entries)), particles=256)
    answer = adjust(post, "inkwell", like="good", strokes=["now"])
    then = deal.truth.copy()
    for action in () if answer.adjustment is None else answer.adjustment.actions:
        # Only what is put in: the warmth of an inkwell is the same for both strokes here.
        if action["kind"] != "warm":
            then.apply(dict(action))

    def looks(truth):
        lab = truth.stroke("vessel:inkwell", support="skin-1", pen=pen).lab
        liquor = truth.bench.vessels["inkwell"].liquor
        return lab, np.log(nature.viscosity(liquor, truth.bench.n, celsius=truth.bench.n("air.room")))

    good, stale, mended = (looks(t) for t in (before, deal.truth, then))
    return [(float(ciede2000(good[0], one[0])), abs(float(one[1] - good[1]))) for one in (stale, mended)]


@pytest.fixture(scope="module")
def mornings():
    """Return distances in colour and thickness, before and after, of ten inkwells."""
    return np.array([off_and_after(seed) for seed in range(10)])


def test_the_inkwell_comes_nearer(mornings):
    """Where drying did what the eye sees, the advice takes off a third of it and more on the mean, in thickness too."""
    seen = mornings[mornings[:, 0, 0] >= value("today.seen")]
    assert len(seen) >= 3
    ratio = seen[:, 1] / seen[:, 0]
    assert ratio[:, 0].mean() <= 0.67
    assert ratio[:, 1].mean() <= 0.8


def test_no_inkwell_is_spoilt(mornings):
    """No advice puts the colour further off by more than the eye sees."""
    assert (mornings[:, 1, 0] <= mornings[:, 0, 0] + value("today.seen")).all()
