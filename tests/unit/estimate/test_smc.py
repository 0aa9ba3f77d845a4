"""The sampler against targets whose answer is known in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.errors import EstimateError
from inkhorn.estimate import smc
from inkhorn.estimate.aim import Settings, Slopes
from inkhorn.estimate.pieces import Crowd, _undone, fit_pieces
from inkhorn.replay.draws import standard_normal
from support.known_targets import Linear, Ridge, run


@pytest.mark.parametrize("d", [20, 60, 130])
def test_linear_target_keeps_mean_sd_and_evidence(d):
    """Sd within 6 % on average (no collapse), means within Monte Carlo error, evidence within 1."""
    target = Linear(d, 30, 0.3, seed=d)
    mean, sd, evidence = target.exact()
    got = run(target, d)
    off = (got.z.mean(axis=1) - mean) / sd
    assert np.mean(got.z.std(axis=1) / sd) == pytest.approx(1, abs=0.06)
    # At the effective number that the sampler itself reports, the mean square of z-scores is about one.
    assert np.mean(off**2) * got.ess < 4
    assert got.log_evidence == pytest.approx(evidence, abs=1.0)


def test_a_wrong_likelihood_fails_the_same_check():
    """Twin that must fail: a likelihood that claims a third of its true error gives too small an sd."""
    target = Linear(20, 30, 0.9, seed=4, claimed=0.3)
    _, sd, _ = target.exact()
    assert abs(np.mean(run(target, 20).z.std(axis=1) / sd) - 1) > 0.06


def test_same_seed_same_sample():
    """The same seed gives the same particles; another gives others; the global state is untouched."""
    before = np.random.get_state()[1].copy()  # noqa: NPY002
    one, two, other = (run(Linear(10, 5, 0.3, 1), 10, n=128, seed=s) for s in (0, 0, 1))
    np.testing.assert_array_equal(one.z, two.z)
    assert not np.array_equal(one.z, other.z)
    np.testing.assert_array_equal(before, np.random.get_state()[1])  # noqa: NPY002


def test_systematic_resampling_is_fair():
    """Each particle is chosen as often as its weight says, to within one."""
    weights = np.array([0.5, 0.25, 0.125, 0.125])
    counts = np.bincount(smc.systematic(weights, np.random.default_rng(1)), minlength=4)
    assert np.all(np.abs(counts - 4 * weights) < 1)


def test_impossible_readings_are_an_error():
    """When no draw explains the readings, the sampler says so and how to mend it."""

    class Never(Linear):
        def log_likelihood(self, z):
            return np.full(z.shape[1], -np.inf)

    with pytest.raises(EstimateError, match="no draw of the prior"):
        run(Never(3, 2, 1.0, 0), 3, n=16)


def test_a_curved_target_is_sampled():
    """A banana-shaped posterior: moments agree with fine quadrature on a grid."""

    class Banana:
        def log_likelihood(self, z):
            return -0.5 * ((z[1] - z[0] ** 2 + 1) / 0.3) ** 2

        def log_likelihood_above(self, z, _bar):
            return self.log_likelihood(z)

        exchange = None

        def slopes(self, z):
            gradient, information = np.zeros_like(z), np.zeros((z.shape[1], 2, 2))
            for k in range(z.shape[1]):
                j = np.array([-2 * z[0, k], 1.0]) / 0.3
                gradient[:, k] = -j * (z[1, k] - z[0, k] ** 2 + 1) / 0.3
                information[k] = np.outer(j, j)
            return Slopes(gradient=gradient, information=information)

    grid = np.linspace(-5, 5, 801)
    x, y = np.meshgrid(grid, grid, indexing="ij")
    log_p = -0.5 * (x**2 + y**2) - 0.5 * ((y - x**2 + 1) / 0.3) ** 2
    p = np.exp(log_p - log_p.max())
    p /= p.sum()
    got = run(Banana(), 2, n=4096)
    assert got.z[1].mean() == pytest.approx((p * y).sum(), abs=0.06)
    assert got.z[0].var() == pytest.approx((p * x**2).sum(), rel=0.12)


class Partly(Linear):
    """The first readings of a linear target only."""

    def __init__(self, whole: Linear, m: int) -> None:
        self.a, self.y, self.s, self.truth_s = whole.a[:m], whole.y[:m], whole.s, whole.truth_s


@pytest.mark.parametrize("first", [29, 25])
def test_a_sample_is_carried_on_to_more_readings(first):
    """From 29 or 25 readings to 30: mean, sd and evidence are those of all 30, as far as the effective number says."""
    whole = Linear(20, 30, 0.9, seed=8)
    part = Partly(whole, first)
    early = run(part, 20, n=4096)
    before = smc.Before(
        z=early.z,
        log_likelihood=early.log_likelihood,
        family=early.family,
        ess=early.ess,
        log_evidence=early.log_evidence,
    )
    got = smc.renew(whole, before, np.random.default_rng(3))
    mean, sd, evidence = whole.exact()
    assert got.ess > 500
    assert np.mean(((got.z.mean(axis=1) - mean) / sd) ** 2) * got.ess < 4
    assert np.mean(got.z.std(axis=1) / sd) == pytest.approx(1, abs=0.06)
    assert got.log_evidence == pytest.approx(evidence, abs=0.3)


def test_what_changes_nothing_moves_nothing():
    """Where no reading tells the later target from the earlier, the particles stay, and so does their number."""
    whole = Linear(20, 30, 0.9, seed=8)
    early = run(whole, 20)
    before = smc.Before(
        z=early.z,
        log_likelihood=early.log_likelihood,
        family=early.family,
        ess=early.ess,
        log_evidence=early.log_evidence,
    )
    got = smc.renew(whole, before, np.random.default_rng(3))
    np.testing.assert_array_equal(got.z, early.z)
    assert got.ess == early.ess


def exact_ridge():
    """Return quantiles of ``a`` and the log-evidence, by a fine grid over ``a`` and ``b``, ``s`` integrated out."""
    grid = np.linspace(-6, 6, 1201)
    a, b = np.meshgrid(grid, grid, indexing="ij")
    wide = 1 + Ridge.sd**2
    off = Ridge.y - np.minimum(a, 0.2 * b)
    log_p = -0.5 * (a**2 + b**2) - 0.5 * off**2 / wide
    p = np.exp(log_p)
    step = grid[1] - grid[0]
    evidence = np.log(p.sum() * step**2 / (2 * np.pi)) + 0.5 * np.log(Ridge.sd**2 / wide)
    share = np.cumsum(p.sum(axis=1)) / p.sum()
    return np.interp([0.05, 0.5, 0.95], share, grid), evidence


@pytest.mark.parametrize("trades", [True, False])
def test_a_long_thin_bent_ridge_is_sampled_to_its_ends(trades):
    """Where only a product is known, and one factor is cut off by another, the bands are those of quadrature."""
    target = Ridge(trades=trades)
    wanted, evidence = exact_ridge()
    got = run(target, 3, n=2048)
    np.testing.assert_allclose(np.quantile(got.z[1], [0.05, 0.5, 0.95]), wanted, atol=0.15)
    assert got.log_evidence == pytest.approx(evidence, abs=0.2)


def test_moves_about_one_piece_miss_an_end_of_it():
    """Twin that must fail: with one local piece for all, few moves and no trade, the band comes out too short or too long."""
    wanted, _ = exact_ridge()
    start = np.array([standard_normal(0, f"u{i}", 2048) for i in range(3)])
    how = Settings(
        pieces=1, scouts=32, scout_pieces=1, scout_moves=1, moves=1, last_moves=1, prior_share=1e-9,
        whole=0.0, anew=0.0,
    )  # fmt: skip
    got = smc.sample(Ridge(trades=False), start, np.random.default_rng(0), settings=how)
    assert np.abs(np.quantile(got.z[1], [0.05, 0.5, 0.95]) - wanted).max() > 0.15


class Bent(Linear):
    """Readings of ``b + c b^2`` for ``b = A z``: what local slopes tell differs from place to place."""

    c = 0.1

    def log_likelihood(self, z):
        """Return the normal log-likelihood."""
        b = self.a @ z
        return -0.5 * np.sum(((self.y[:, None] - b - self.c * b**2) / self.s) ** 2, axis=0)

    def slopes(self, z):
        """Return gradient and Gauss-Newton information."""
        b = self.a @ z
        j = (1 + 2 * self.c * b)[:, None, :] * self.a[:, :, None] / self.s
        gradient = np.einsum("mdk,mk->dk", j, (self.y[:, None] - b - self.c * b**2) / self.s)
        return Slopes(gradient=gradient, information=np.einsum("mdk,mek->kde", j, j))


def test_a_normal_of_the_crowd_is_worth_more_than_pieces_alone():
    """With sixty unknowns and readings that are not linear, moves about local pieces alone leave fewer effective particles."""
    target = Bent(60, 30, 1.0, seed=4)
    alone = Settings(whole=0.0, anew=0.0)
    both = [np.median([run(target, 60, seed=s, settings=how).ess for s in range(3)]) for how in (None, alone)]
    assert both[0] > 2 * both[1]


def test_no_particle_counts_for_its_own_normal():
    """Moving one part of the cloud leaves that part's own normal where it is, and pulls those of all others."""
    target, how = Linear(6, 8, 0.5, seed=1), Settings()
    z = np.random.default_rng(0).standard_normal((6, 64))
    far = z.copy()
    far[:, :8] += 5.0
    fits = [fit_pieces(target, z[:, :4], 1.0, how, Crowd(z=c, worth=60.0, parts=8)) for c in (z, far)]
    assert fits[0].parts == 8
    off = np.abs(fits[1].mean[-8:] - fits[0].mean[-8:]).max(axis=1)
    assert off[0] == 0
    assert off[1:].min() > 0.1
    each = fits[0].each(z)[-8:]
    np.testing.assert_array_equal(np.isfinite(each), np.repeat(np.eye(8, dtype=bool), 8, axis=1))


def test_trades_that_hang_on_one_another_are_undone():
    """The first order of bending back is the inverse of that of making straight, also where a trade pays for a payment."""
    rng = np.random.default_rng(2)
    paid, earlier = np.array([1, 4, 5]), np.array([1])
    shift = rng.standard_normal((7, 3, 6))
    shift[:, 0, paid] = 0.0
    shift[:, 1:, [4, 5]] = 0.0
    assert np.abs(shift[:, 1:, earlier]).min() > 0
    out = np.zeros((7, 6, 6))
    out[:, paid] = shift
    back = np.zeros((7, 6, 6))
    back[:, paid] = _undone(shift, paid, 2)
    np.testing.assert_allclose(
        (np.eye(6) + out) @ (np.eye(6) - back), np.broadcast_to(np.eye(6), (7, 6, 6)), atol=1e-12
    )
