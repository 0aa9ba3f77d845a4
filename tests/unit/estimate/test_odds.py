"""Odds of two ways of making: against exact evidence, and refused where there is nothing in common."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from inkhorn.errors import EstimateError
from inkhorn.estimate import odds, smc
from inkhorn.estimate.aim import Slopes
from inkhorn.estimate.posterior import sample_posterior
from inkhorn.handbook.load import value
from inkhorn.replay.fold import make_plan
from support.daybooks import recorded


class Linear:
    """Readings ``y`` of ``A z`` with unit errors, ``z`` standard normal: its evidence is a normal density."""

    def __init__(self, a: np.ndarray, y: np.ndarray) -> None:
        self.a, self.y = a, y

    def log_likelihood(self, z: np.ndarray) -> np.ndarray:
        """Return the log-likelihood of each column."""
        return norm.logpdf(self.y[:, None] - self.a @ z).sum(axis=0)

    def log_likelihood_above(self, z: np.ndarray, bar: np.ndarray) -> np.ndarray:
        """Return the same."""
        del bar
        return self.log_likelihood(z)

    def slopes(self, z: np.ndarray) -> Slopes:
        """Return gradient and information."""
        information = np.broadcast_to(self.a.T @ self.a, (z.shape[1], len(z), len(z)))
        return Slopes(gradient=self.a.T @ (self.y[:, None] - self.a @ z), information=information)

    exchange = None

    @property
    def log_evidence(self) -> float:
        """Return the exact evidence."""
        return float(
            multivariate_normal(np.zeros(len(self.y)), np.eye(len(self.y)) + self.a @ self.a.T).logpdf(self.y)
        )


def runs(target: Linear, seeds: range) -> list[float]:
    """Return the sampler's evidence for some seeds."""
    d = target.a.shape[1]
    out = []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        out.append(smc.sample(target, rng.standard_normal((d, 512)), rng).log_evidence)
    return out


def test_the_odds_of_two_linear_models_are_exact() -> None:
    """Two conjugate models of the same readings: the exact log-odds lie in the interval, and it is narrow."""
    rng = np.random.default_rng(11)
    y = rng.normal(0, 2, 6)
    one, two = Linear(rng.normal(size=(6, 4)), y), Linear(0.4 * rng.normal(size=(6, 8)), y)
    log_odds, error = odds.weigh(runs(one, range(3)), runs(two, range(3, 6)))
    assert log_odds == pytest.approx(one.log_evidence - two.log_evidence, abs=error + 0.15)
    assert error < 0.8


def test_the_interval_holds_nine_times_in_ten() -> None:
    """Over many pairs of noisy runs the interval holds the truth as often as it says (Student's t)."""
    rng, held = np.random.default_rng(5), 0
    for _ in range(2000):
        log_odds, error = odds.weigh(rng.normal(1.0, 0.3, 3), rng.normal(0.0, 0.3, 3))
        held += abs(log_odds - 1.0) < error
    assert held / 2000 == pytest.approx(0.9, abs=0.025)


def test_one_run_is_refused() -> None:
    """A single run does not tell its own error."""
    with pytest.raises(EstimateError, match="how sure"):
        odds.weigh([1.0], [2.0, 2.1])


def test_the_average_density_of_a_page_is_that_of_the_convolved_normals() -> None:
    """Draws N(m, S) of what was foreseen and a page with covariance C: the evidence is N(page; m, S + C)."""
    rng = np.random.default_rng(3)
    spread, own = np.diag([0.02, 0.03, 0.01]), 0.02 * np.eye(3)
    foreseen = rng.multivariate_normal([0.7, 0.8, 0.9], spread, 200_000)
    seen = np.array([0.8, 0.7, 0.95])
    exact = multivariate_normal([0.7, 0.8, 0.9], spread + own).logpdf(seen)
    assert odds.average(foreseen, seen, own) == pytest.approx(exact, abs=0.02)


def pour(amount: str) -> dict[str, object]:
    """Return water poured by eye."""
    return {"at": "2026-09-01T08:00", "kind": "add", "into": "pot", "liquid": "water", "amount": amount}


def jug(value: str) -> dict[str, object]:
    """Return a volume read on a jug."""
    return {
        "at": "2026-09-01T08:10", "kind": "reading", "of": "vessel:pot", "what": "volume", "value": value, "sd": "20 ml",
    }  # fmt: skip


def way(*entries: dict[str, object]):
    """Return what gives the posterior of a daybook for a seed."""
    plan = make_plan(recorded(entries))
    return lambda seed: sample_posterior(plan, seed=seed, particles=1024)


def test_two_daybooks_with_the_same_reading_are_weighed_by_it() -> None:
    """Was it one litre or two that gave 1.1 litres: the odds are those of two contaminated normals in the logarithm, about."""
    found = odds.weigh_ways(way(pour("about 1 L"), jug("1100 ml")), way(pour("about 2 L"), jug("1100 ml")))
    own = np.hypot(np.log1p(0.15), 20 / 1100)
    share, wide = value("readings.amount_slip.share"), np.hypot(own, value("readings.amount_slip.size"))
    one, two = (
        np.log((1 - share) * norm.pdf(off, 0, own) + share * norm.pdf(off, 0, wide))
        for off in np.log([1.1, 1.1 / 2])
    )
    exact = one - two
    assert found.basis == "readings"
    assert found.against == "1 reading"
    assert found.log_odds == pytest.approx(exact, abs=1.0)
    assert found.to_dict()["odds"]["median"] == pytest.approx(np.exp(found.log_odds))


def test_other_readings_are_refused() -> None:
    """Ways that were held against different readings, with no page in common, cannot be weighed; it is said what differs."""
    with pytest.raises(EstimateError, match="1 reading only in the first, 1 reading only in the second"):
        odds.weigh_ways(way(pour("about 1 L"), jug("1100 ml")), way(pour("about 2 L"), jug("1900 ml")))


def test_the_moment_and_a_note_make_no_other_reading() -> None:
    """The same figure read on another day, with a note, is the same evidence."""
    other = {**jug("1100 ml"), "at": "2026-10-01T09:00", "note": "second jug"}
    plans = [make_plan(recorded([pour("about 1 L"), one])) for one in (jug("1100 ml"), other)]
    assert odds.same_readings(*plans)


def ink(iron: str) -> list[dict[str, object]]:
    """Return an ink of tannic acid with some iron, and a page that was measured."""
    day = "2026-09-01T08:"
    page = {
        "at": day + "30", "kind": "reading", "of": "exemplar:page", "what": "optical_density",
        "value": {"R": 0.9, "G": 0.95, "B": 1.0}, "sd": 0.05,
    }  # fmt: skip
    return [
        {"at": day + "00", "kind": "add", "into": "jar", "liquid": "water", "amount": "800 ml"},
        {"at": day + "05", "kind": "add", "into": "jar", "lot": "tannic-acid", "amount": "30 g"},
        {
            "at": day + "10",
            "kind": "add",
            "into": "jar",
            "lot": "ferrous-sulfate-heptahydrate",
            "amount": iron,
        },
        page,
    ]


def test_two_ways_of_one_page_are_weighed_by_the_page() -> None:
    """Without readings in common the page decides: an ink of hardly any iron loses against one of iron enough."""
    found = odds.weigh_ways(way(*ink("14 g")), way(*ink("0.3 g")))
    assert (found.basis, found.against) == ("page", "page")
    assert found.log_odds - found.error > np.log(3)


def test_a_page_measured_otherwise_is_no_common_page() -> None:
    """The same name with another measure is refused, and said."""
    other = ink("14 g")
    other[-1] = {**other[-1], "sd": 0.2}
    with pytest.raises(EstimateError, match="page was not measured the same"):
        odds.weigh_ways(way(*ink("14 g")), way(*other))
