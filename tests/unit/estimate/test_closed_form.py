"""Small daybooks whose posterior is known in closed form or by quadrature."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm
from scipy.stats import t as student

from inkhorn.estimate.evidence.numbers import scale_of
from inkhorn.estimate.posterior import sample_posterior, summarise
from inkhorn.handbook.load import value
from inkhorn.replay import composition
from inkhorn.replay.fold import make_plan
from support.daybooks import recorded

POUR = {"at": "2026-09-01T08:00", "kind": "add", "into": "pot", "liquid": "water", "amount": "about 1000 ml"}


def volume_draws(entries, **how):
    """Return the posterior draws of the pot's volume."""
    post = sample_posterior(make_plan(recorded(entries)), particles=4096, **how)
    state = post.played.world.vessels["pot"]
    return composition.volume(state.liquor, state.temperature), post


def test_without_readings_the_prior_comes_back():
    """A pour judged by eye keeps its lognormal spread of 15 %, and its slips, when nothing is read."""
    ml, post = volume_draws([POUR])
    log = np.log(ml)
    slips = value("readings.amount_slip.share") * value("readings.amount_slip.size") ** 2
    assert log.mean() == pytest.approx(np.log(1000), abs=0.01)
    assert log.std() == pytest.approx(np.sqrt(np.log1p(0.15) ** 2 + slips), rel=0.05)
    inside = np.percentile(log, [25, 75])
    assert np.ptp(inside) == pytest.approx(2 * norm.ppf(0.75) * np.log1p(0.15), rel=0.06)
    assert post.ess == pytest.approx(4096)


def test_one_reading_gives_the_posterior_of_quadrature():
    """One volume read on a jug: mean, sd and evidence are those of one-dimensional quadrature."""
    reading = {
        "at": "2026-09-01T09:00",
        "kind": "reading",
        "of": "vessel:pot",
        "what": "volume",
        "value": "1150 ml",
        "sd": "20 ml",
    }
    ml, post = volume_draws([POUR, reading])
    grid = np.linspace(np.log(400), np.log(2500), 20001)
    item = post.problem.evidence[0]
    scale = np.sqrt(scale_of(item.variance)[0])
    share, wide = value("readings.amount_slip.share"), value("readings.amount_slip.size")
    usual = norm.pdf(grid, np.log(1000), np.log1p(0.15))
    slipped = norm.pdf(grid, np.log(1000), np.hypot(np.log1p(0.15), wide))
    prior = (1 - share) * usual + share * slipped
    like = student.pdf((item.observed[0] - grid) / scale, value("misfit.tail")) / scale
    weight = prior * like
    evidence = np.trapezoid(weight, grid)
    mean = np.trapezoid(weight * grid, grid) / evidence
    sd = np.sqrt(np.trapezoid(weight * (grid - mean) ** 2, grid) / evidence)
    log = np.log(ml)
    assert log.mean() == pytest.approx(mean, abs=4 * sd / np.sqrt(post.ess))
    # The far tails of a t posterior make its sample sd noisy; its quantiles are not.
    inside = np.cumsum(weight) / weight.sum()
    low, high = np.interp((0.05, 0.95), inside, grid)
    got_low, got_high = np.percentile(log, (5, 95))
    assert got_high - got_low == pytest.approx(high - low, rel=0.06)
    assert post.log_evidence == pytest.approx(np.log(evidence), abs=0.1)


def test_order_and_strangers_change_nothing():
    """Entries given in another order, and a separate jar, leave the pot's prior draws exactly as they were."""
    jar = {
        "at": POUR["at"],
        "kind": "add",
        "into": "jar",
        "liquid": "water",
        "amount": "about 300 ml",
    }
    one, _ = volume_draws([POUR])
    two, _ = volume_draws([POUR, jar])
    np.testing.assert_array_equal(one, two)


def test_two_pots_in_either_order_of_recording():
    """Two pots that have nothing to do with each other: recorded in turns or one after the other, the same draws."""
    steps = [
        [
            {"at": f"2026-09-01T{hour}:{minute}", "kind": "add", "into": pot, "liquid": "water", "amount": amount}
            for hour, amount in (("08", "about 500 ml"), ("09", "about 300 ml"))
        ]
        + [
            {"at": f"2026-09-01T11:{minute}", "kind": "reading", "of": f"vessel:{pot}", "what": "volume",
             "value": "780 ml"}
        ]
        for pot, minute in (("pot", "00"), ("jar", "30"))
    ]  # fmt: skip
    in_turns = [entry for pair in zip(*steps, strict=True) for entry in pair]
    one_by_one = [*steps[0], *steps[1]]
    posts = [sample_posterior(make_plan(recorded(book)), particles=256) for book in (in_turns, one_by_one)]
    for vessel in ("pot", "jar"):
        one, two = (post.played.world.vessels[vessel].liquor["water"] for post in posts)
        np.testing.assert_allclose(one, two, rtol=1e-12)


def test_a_wild_reading_is_flagged_and_kept():
    """A pH of 9 in a tannin liquor is kept, weighed lightly and flagged in plain words; a sound one is not."""
    steep = {
        "at": "2026-09-01T08:00", "kind": "steep", "lot": "sumac-leaf", "amount": "200 g", "liquid": "rainwater",
        "liquid_amount": "2 L", "into": "pot", "for": "12 h",
    }  # fmt: skip
    read = {
        "at": "2026-09-02T09:00",
        "kind": "reading",
        "of": "vessel:pot",
        "what": "ph",
        "with": "glass electrode",
    }
    for said, flagged in (("9.0", True), ("3.6", False)):
        post = sample_posterior(make_plan(recorded([steep, {**read, "value": said}])), particles=512)
        texts = [f.text for f in summarise(post).flags]
        assert any("disagrees" in text for text in texts) is flagged, (said, texts)


def test_same_seed_same_answer():
    """Two runs with one seed agree to the last digit; another seed differs but agrees within its error."""
    reading = {
        "at": "2026-09-01T09:00",
        "kind": "reading",
        "of": "vessel:pot",
        "what": "volume",
        "value": "1150 ml",
    }
    one, _ = volume_draws([POUR, reading])
    same, _ = volume_draws([POUR, reading])
    other, _ = volume_draws([POUR, reading], seed=1)
    np.testing.assert_array_equal(one, same)
    assert not np.array_equal(one, other)
    assert np.log(other).mean() == pytest.approx(
        np.log(one).mean(), abs=5 * np.log(one).std() / np.sqrt(2000)
    )
