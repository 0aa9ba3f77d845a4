"""What a reading is worth for a decision, against what is known of it in closed form."""

from __future__ import annotations

import itertools
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import integrate, stats

from inkhorn.counsel.checks import Quick, turning
from inkhorn.counsel.judged import Judged, plainly, scale
from inkhorn.counsel.worth import chosen, weights_of, worth


def _two_courses(rng: np.random.Generator, draws: int) -> tuple[np.ndarray, np.ndarray]:
    """Return a standard-normal unknown and the loss of leaving things (0) and of a course that gains by it (-theta)."""
    theta = rng.standard_normal(draws)
    return theta, np.array([np.zeros(draws), -theta])


def test_a_normal_unknown_and_two_courses() -> None:
    """With losses 0 and -theta, theta ~ N(0, 1), read with error sd s, the value is phi(0) / sqrt(1 + s^2).

    The posterior mean is N(0, 1 / (1 + s^2)), and E max(0, m) of N(0, v) is sqrt(v) phi(0):
    Raiffa and Schlaifer, Applied Statistical Decision Theory (1961), section 5.10 (formula from memory).
    """
    rng = np.random.default_rng(0)
    theta, loss = _two_courses(rng, 1500)
    for sd in (0.3, 1.0, 3.0):
        got = worth(theta[:, None], sd, plainly(loss), rng.standard_normal((1500, 1)))
        assert got == pytest.approx(stats.norm.pdf(0) / np.sqrt(1 + sd**2), abs=0.06)


def test_more_information_never_raises_the_loss() -> None:
    """The smaller the error, the more a reading is worth, and the most is knowing all; within Monte Carlo error."""
    rng = np.random.default_rng(1)
    theta = rng.standard_normal(800)
    amounts = np.linspace(-2, 2, 21)
    loss = np.abs(theta[None] - amounts[:, None])
    noise = rng.standard_normal((800, 1))
    values = [worth(theta[:, None], sd, plainly(loss), noise) for sd in (0.1, 0.3, 1.0, 3.0, 10.0)]
    error = 2 * loss.std() / np.sqrt(800)
    assert all(near >= far - error for near, far in itertools.pairwise(values))
    most = loss.mean(axis=1).min() - loss.min(axis=0).mean()
    assert values[0] <= most + error
    assert values[0] > 0.8 * most


def test_two_readings_are_worth_at_least_one() -> None:
    """A second independent reading beside the first never makes the choice worse beyond Monte Carlo error."""
    rng = np.random.default_rng(2)
    theta = rng.standard_normal((600, 2))
    spots = rng.normal(0, 1, (40, 2))
    loss = np.hypot(*(theta[None] - spots[:, None]).transpose(2, 0, 1))
    noise = rng.standard_normal((600, 2))
    one = worth(theta[:, :1], 0.3, plainly(loss), noise[:, :1])
    both = worth(theta, 0.3, plainly(loss), noise)
    assert both >= one - 2 * loss.std() / np.sqrt(600)


@pytest.mark.parametrize("seed", range(5))
def test_a_reading_of_something_else_is_worth_nothing(seed: int) -> None:
    """What has nothing to do with the loss is worth nothing within Monte Carlo error, and never less than nothing."""
    rng = np.random.default_rng(seed)
    _, loss = _two_courses(rng, 600)
    other = rng.standard_normal((600, 1))
    got = worth(other, 0.5, plainly(loss), rng.standard_normal((600, 1)))
    assert 0 <= got < 0.1
    # the same reading without leaving out its own draw would seem worth something
    assert chosen(other, 0.5, plainly(loss), rng.standard_normal((600, 1))).fall(loss) < 0.1


def test_only_what_is_open_is_chosen() -> None:
    """A course that the reading rules out is not chosen after it, however good."""
    rng = np.random.default_rng(3)
    theta, loss = _two_courses(rng, 200)
    pick = chosen(theta[:, None], 0.1, plainly(loss), rng.standard_normal((200, 1)), np.array([True, False]))
    assert (pick.knowing == 0).all()


def test_a_choice_is_told_as_what_would_be_as_good_were_it_sure() -> None:
    """Where courses differ by what is wanting, x, alone, -s ln E exp(-x / s) is what a choice comes to.

    x ~ N(m, v) has -s ln E exp(-x / s) = m - v / (2 s), the certainty equivalent of an exponential utility:
    Pratt, Econometrica 32 (1964) 122 (formula from memory; here of one who hopes, hence the sign).
    """
    d = 12 + 0.8 * stats.norm.ppf((np.arange(4000) + 0.5) / 4000)
    judged = Judged(wanting=d[None], cost=np.full((1, 4000), 0.25))
    wanted = 12 - 0.8**2 / (2 * scale()) + 0.25
    assert judged.expected()[0] == pytest.approx(wanted, abs=0.01)
    assert judged.picked(np.zeros(4000, dtype=int)) == pytest.approx(wanted, abs=0.01)
    assert judged.without_own()[0].mean() == pytest.approx(wanted, abs=0.01)
    even = np.full((1, 4000), 1 / 4000)
    assert judged.expected(even)[0, 0] == pytest.approx(wanted, abs=0.01)


def test_a_sure_distance_is_itself() -> None:
    """With nothing unsure the certainty equivalent is what is wanting, near or far."""
    for d in (0.0, 2.5, 40.0):
        sure_one = Judged(wanting=np.full((1, 7), d), cost=np.zeros((1, 7)))
        assert sure_one.expected()[0] == pytest.approx(d)


def test_of_two_alike_on_the_average_the_likelier_match_is_taken() -> None:
    """To want 6 on the average, 0 or 12, is better than 6 for sure: one of the two trials matches."""
    both = Judged(wanting=np.array([[0.0, 12.0], [6.0, 6.0]]), cost=np.zeros((2, 2)))
    assert both.wanting.mean(axis=1)[0] == both.wanting.mean(axis=1)[1]
    assert both.expected()[0] < both.expected()[1]


def test_weights_are_bayes_rule() -> None:
    """Draws weigh as their likelihood of the result, and sum to one; the mean so weighed is the conjugate one."""
    theta = stats.norm.ppf((np.arange(2000) + 0.5) / 2000)[:, None]
    result = np.array([[0.7]])
    weights = weights_of(result, theta, 0.5)
    assert weights.sum() == pytest.approx(1)
    assert float((weights @ theta)[0, 0]) == pytest.approx(0.7 / (1 + 0.25), rel=1e-3)
    square = integrate.quad(lambda t: t * stats.norm.pdf(t) * stats.norm.pdf(0.7, t, 0.5), -8, 8)[0]
    norm = integrate.quad(lambda t: stats.norm.pdf(t) * stats.norm.pdf(0.7, t, 0.5), -8, 8)[0]
    assert float((weights @ theta)[0, 0]) == pytest.approx(square / norm, rel=1e-3)


def test_where_the_same_is_done_either_way_it_is_said_once() -> None:
    """Whatever lies off the middle asks for another course: "paler or darker", not the same words twice."""
    line = np.linspace(0.0, 1.0, 101)[:, None]
    quick = Quick(reading="page", foreseen=line, sd=0.01, ask="look")
    judged = SimpleNamespace(
        expected=lambda w: np.stack([np.abs((w @ line)[:, 0] - 0.5), np.full(len(w), 0.2)])
    )
    pool = SimpleNamespace(judged=judged, amounts=np.array([[0.0], [1.0]]))
    text = turning(quick, pool, lambda amounts: "boil down" if amounts[0] else "leave it")
    assert text == "If it is paler or darker than expected: boil down."
    judged.expected = lambda w: np.stack([(w @ line)[:, 0], np.full(len(w), 0.6)])
    assert turning(quick, pool, lambda _: "boil down") == "If it is darker than expected: boil down."
