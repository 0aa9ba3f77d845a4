"""What a reading taught, from draws, against closed forms of normal theory."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import genpareto, norm
from scipy.stats import t as student

from inkhorn.estimate import closely, pareto, taught, weighing
from inkhorn.estimate.evidence.numbers import Number, scale_of
from inkhorn.estimate.knowledge import knowledge_of
from inkhorn.estimate.posterior import sample_posterior, summarise
from inkhorn.handbook.load import value
from inkhorn.replay.fold import make_plan
from support.daybooks import recorded

DRAWS = 40_000
POUR = {"at": "2026-09-01T08:00", "kind": "add", "into": "pot", "liquid": "water", "amount": "about 1000 ml"}
#: Poured by somebody else, whose eye is their own.
JAR = {**POUR, "at": "2026-09-01T08:30", "into": "jar", "who": "Reed"}


def jug(at: str, value: str, sd: str, vessel: str = "pot") -> dict[str, str]:
    """Return a volume read on a jug."""
    return {
        "at": f"2026-09-01T{at}", "kind": "reading", "of": f"vessel:{vessel}", "what": "volume", "value": value,
        "sd": sd,
    }  # fmt: skip


def conjugate(ratio: float, seen: float, rng: np.random.Generator) -> tuple[np.ndarray, float]:
    """Return the log-likelihood of one normal reading on draws of its posterior, and its exact information, bits.

    The unknown is standard normal; the reading ``seen`` has variance 1 / ratio.
    """
    variance = 1 / (1 + ratio)
    mean = seen * ratio * variance
    theta = rng.normal(mean, np.sqrt(variance), DRAWS)
    exact = (variance + mean**2 - 1 - np.log(variance)) / 2 / np.log(2)
    return norm.logpdf(seen, theta, 1 / np.sqrt(ratio)), exact


@pytest.mark.parametrize("ratio", [0.02, 0.2, 0.5])
@pytest.mark.parametrize("seen", [0.0, 1.5])
def test_the_information_of_one_normal_reading_is_that_of_the_closed_form(ratio: float, seen: float) -> None:
    """For a conjugate normal reading the realised information is the divergence of two normals, within its error."""
    height, exact = conjugate(ratio, seen, np.random.default_rng(3))
    weights = pareto.smooth(-height)
    bits, error = taught.information(height, weights, DRAWS)
    assert weights.is_trusted(DRAWS)
    assert bits == pytest.approx(exact, abs=4 * error + 0.002)


def test_expected_over_readings_it_is_lindleys() -> None:
    """Averaged over what might have been read it is 0.5 log2(1 + prior variance / error variance) (Lindley 1956)."""
    rng, ratio = np.random.default_rng(7), 0.5
    told = []
    for seen in rng.normal(0, np.sqrt(1 + 1 / ratio), 400):
        variance = 1 / (1 + ratio)
        theta = rng.normal(seen * ratio * variance, np.sqrt(variance), 2000)
        height = norm.logpdf(seen, theta, 1 / np.sqrt(ratio))
        told.append(taught.information(height, pareto.smooth(-height), 2000)[0])
    expected = 0.5 * np.log2(1 + ratio)
    assert np.mean(told) == pytest.approx(expected, abs=4 * np.std(told) / 20)


def test_a_reading_that_says_too_much_is_told_as_a_lower_bound() -> None:
    """Where the reading is a hundred times surer than all else, draws cannot tell, say so, and claim too little."""
    height, exact = conjugate(1e4, 0.5, np.random.default_rng(4))
    weights = pareto.smooth(-height)
    bits, _ = taught.information(height, weights, DRAWS)
    assert not weights.is_trusted(DRAWS)
    assert 0 < bits < exact


def test_the_shape_of_normal_theory_is_posterior_over_error_variance() -> None:
    """One over the likelihood of a normal reading has a Pareto tail of shape (posterior variance) / (error variance)."""
    rng = np.random.default_rng(8)
    reading = Number(number=1, observed=np.zeros(2), axes=np.eye(2), variance=np.array([0.5, 4.0]))
    mu = rng.multivariate_normal([0, 0], np.diag([0.2, 1.0]), DRAWS).T
    # Student's t of this handbook has a little more information than a normal of its variance.
    nu = value("misfit.tail")
    exact = (nu + 2) / (nu + 4) * nu / (nu - 2) * 0.2 / 0.5
    assert taught.normal_shape(reading, mu, None) == pytest.approx(exact, rel=0.03)


def test_the_pareto_fit_finds_shape_and_scale() -> None:
    """Exceedances drawn from a generalised Pareto distribution give its shape and scale back (scipy's is the law)."""
    for shape in (-0.3, 0.2, 0.6):
        above = np.sort(genpareto.rvs(shape, scale=2.0, size=5000, random_state=5))
        k, scale = pareto.fit(above)
        assert k == pytest.approx(shape, abs=0.06)
        assert scale == pytest.approx(2.0, rel=0.08)
        places = np.array([0.1, 0.5, 0.9])
        np.testing.assert_allclose(
            pareto.quantile(places, shape, 2.0), genpareto.ppf(places, shape, scale=2.0), rtol=1e-12
        )


def test_even_weights_stay_even() -> None:
    """Weights that are all the same are left alone: no tail, no warning, all draws count."""
    weights = pareto.smooth(np.full(1000, -3.0))
    np.testing.assert_allclose(weights.share, 1e-3)
    assert weights.log_mean == pytest.approx(-3.0)
    assert weights.effective == pytest.approx(1000)
    assert weights.is_trusted(1000)


def test_normal_scores_know_no_units() -> None:
    """The change of a figure in bits is the same for the figure, its logarithm, and the closed form of two normals."""
    rng = np.random.default_rng(2)
    draws = rng.normal(0, 1, DRAWS)
    log_w = norm.logpdf(draws, 0.4, 0.8) - norm.logpdf(draws, 0, 1)
    share = np.exp(log_w) / np.exp(log_w).sum()
    rows = weighing.normal_scores(np.stack([draws, np.exp(3 * draws)]))
    plain, other = weighing.changed(rows, share)
    assert plain == pytest.approx(other, rel=1e-9)
    exact = (np.log(0.8) + (1 + 0.4**2) / (2 * 0.8**2) - 0.5) / np.log(2)
    assert plain == pytest.approx(exact, abs=0.02)


def test_a_daybook_names_the_vessel_that_was_read() -> None:
    """Two pots of two makers, one read: the reading taught of that pot, and the other jar's prior is all still there."""
    post = sample_posterior(
        make_plan(recorded([POUR, JAR, jug("09:00", "1050 ml", "170 ml")])), particles=2048, seed=2
    )
    known = summarise(post).knowledge
    assert known is not None
    (one,) = known.taught
    assert one.sure
    assert (one.most.of, one.most.figure) == ("vessel:pot", "volume")
    assert one.most.without.p95 - one.most.without.p05 > one.most.now.p95 - one.most.now.p05
    left = {item.of: item.left for item in known.least_known if item.figure == "volume"}
    assert left["vessel:jar"] == pytest.approx(1.0, abs=0.1)
    assert left["vessel:pot"] < 0.8
    assert next(iter(left)) == "vessel:jar"


def test_two_readings_that_say_the_same_share_what_they_teach() -> None:
    """A reading beside its twin teaches less than the same reading alone: most was known without it."""
    alone = sample_posterior(make_plan(recorded([POUR, jug("09:00", "1050 ml", "60 ml")])), particles=2048)
    both = sample_posterior(
        make_plan(recorded([POUR, jug("09:00", "1050 ml", "60 ml"), jug("09:10", "1050 ml", "60 ml")])),
        particles=2048,
    )
    (one,) = summarise(alone).knowledge.taught
    first, second = summarise(both).knowledge.taught
    assert first.bits == pytest.approx(second.bits, abs=0.1)
    assert first.bits < 0.6 * one.bits


def test_a_strong_reading_is_told_closely() -> None:
    """A jug far surer than the eye: sampled without it, its information is that of quadrature, where weights fail."""
    plan = make_plan(recorded([POUR, jug("09:00", "1100 ml", "12 ml")]))
    post = sample_posterior(plan, particles=2048)
    (rough,) = summarise(post).knowledge.taught
    (fine,) = summarise(post, closely=True).knowledge.taught
    grid = np.linspace(np.log(400), np.log(2500), 20001)
    item = post.problem.evidence[0]
    like = item.log_density(grid[None, :], post.draws)
    prior = norm.pdf(grid, np.log(1000), np.log1p(0.15))
    chance = np.trapezoid(prior * np.exp(like), grid)
    exact = np.trapezoid(prior * np.exp(like) / chance * (like - np.log(chance)), grid) / np.log(2)
    assert not rough.sure
    assert fine.sure
    assert fine.error < 0.1
    assert fine.bits == pytest.approx(exact, abs=4 * fine.error)
    assert fine.most.without.p95 - fine.most.without.p05 == pytest.approx(
        np.diff(np.exp(norm.ppf((0.05, 0.95), np.log(1000), np.log1p(0.15))))[0], rel=0.2
    )


@pytest.mark.parametrize("ratio", [0.5, 30.0, 3000.0])
def test_the_bridge_finds_the_chance_of_a_reading(ratio: float) -> None:
    """Draws with and without a normal reading give its chance, N(seen; 0, 1 + 1 / ratio), within the error told."""
    rng, seen = np.random.default_rng(6), 1.3
    off = []
    for _ in range(40):
        variance = 1 / (1 + ratio)
        with_it = rng.normal(seen * ratio * variance, np.sqrt(variance), 1000)
        without = rng.normal(0, 1, 1000)
        heights = (norm.logpdf(seen, theta, 1 / np.sqrt(ratio)) for theta in (with_it, without))
        got, error = closely.bridge(*heights, 1000, 1000)
        off.append((got - norm.logpdf(seen, 0, np.sqrt(1 + 1 / ratio))) / error)
    assert abs(np.mean(off)) < 0.5
    assert 0.6 < np.std(off) < 1.5


def test_the_learnt_share_of_variance_is_that_of_quadrature() -> None:
    """What is left of an unknown's variance where it lies in its prior, by quadrature over the eye and the hand."""
    post = sample_posterior(make_plan(recorded([POUR, jug("09:00", "1000 ml", "150 ml")])), particles=4096)
    item = next(i for i in summarise(post).knowledge.learnt if i.unknown == "entry:1/amount")
    known = post.problem.unknowns["entry:1/amount"]
    scale = np.log1p(0.15)
    common, own = np.meshgrid(*2 * [np.linspace(-5, 5, 801)])
    slipped = known.tail.reach(own, scale * np.sqrt(1 - known.share))
    ml = scale * (np.sqrt(known.share) * common + np.sqrt(1 - known.share) * slipped)
    read = post.problem.evidence[0]
    # The person's eye judges the jug as well, unless it was measured, which it was.
    error = np.sqrt(scale_of(read.variance)[0])
    like = student.pdf((read.observed[0] - np.log(1000) - ml) / error, value("misfit.tail"))
    weight = like * norm.pdf(common) * norm.pdf(own)
    weight /= weight.sum()
    place = np.sqrt(known.share) * common + np.sqrt(1 - known.share) * own
    left = np.sum(weight * place**2) - np.sum(weight * place) ** 2
    assert item.left == pytest.approx(left, rel=0.1)
    assert item.left < 0.9
    assert item.prior.median == pytest.approx(1000)


def test_nothing_read_taught_nothing() -> None:
    """Without readings nothing is taught, and what was learnt of every unknown is next to nothing."""
    post = sample_posterior(make_plan(recorded([POUR])), particles=1024)
    known = knowledge_of(post.problem, post.z, post.played, post.draws, post.seed, post.ess)
    assert known.taught == ()
    assert max(item.bits for item in known.learnt) < 0.02
