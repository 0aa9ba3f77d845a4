"""Several pictures of one original as one measure."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from inkhorn.replay.combine import combine, shape_between
from inkhorn.replay.target import PhotoMeasure, make_target, words_off

ERROR = np.eye(3) * 0.02**2


def _at(*levels: float) -> list[np.ndarray]:
    return [np.full(3, level) for level in levels]


def _measure(level: float, *, number: int, spread: float | None = None) -> PhotoMeasure:
    return PhotoMeasure(
        density=np.full(3, level),
        covariance=ERROR,
        spread=None if spread is None else np.full(3, spread),
        called="photo",
        number=number,
    )


def test_one_measure_is_left_as_it_is() -> None:
    """A single picture must come out with its own density and error."""
    one = combine(_at(0.8), [ERROR])
    np.testing.assert_allclose(one.density, 0.8)
    np.testing.assert_allclose(one.covariance, ERROR, rtol=0.01)
    assert one.apart == ()


def test_agreeing_measures_are_averaged() -> None:
    """Four pictures that agree must halve the error."""
    all_ = combine(_at(0.8, 0.8, 0.8, 0.8), [ERROR] * 4)
    np.testing.assert_allclose(np.sqrt(np.diag(all_.covariance)), 0.01, rtol=0.01)


def test_surer_measure_counts_for_more() -> None:
    """Two pictures apart by less than their errors must be weighed by the inverse of their variances."""
    both = combine(_at(0.80, 0.82), [np.eye(3) * 0.01**2, np.eye(3) * 0.03**2])
    np.testing.assert_allclose(both.density, (0.80 * 9 + 0.82) / 10, atol=2e-4)


def test_a_second_picture_that_agrees_within_chance_makes_the_page_surer() -> None:
    """Over pairs that differ by their own errors alone two are surer than one, three times in five at least."""
    rng = np.random.default_rng(3)
    one = combine(_at(0.8), [ERROR]).covariance.mean()
    pairs = [0.8 + rng.multivariate_normal(np.zeros(3), ERROR, 2) for _ in range(200)]
    assert np.mean([combine(list(pair), [ERROR] * 2).covariance.mean() < one for pair in pairs]) > 0.6


def test_hue_is_kept_surer_than_depth() -> None:
    """Scatter that is alike in all channels must widen depth, hardly hue."""
    seen = [np.array([0.7, 0.8, 0.9]) + shift for shift in (-0.08, 0.0, 0.08)]
    all_ = combine(seen, [ERROR] * 3)
    depth, hue = np.ones(3) / 3, np.array([1, 0, -1]) / np.sqrt(2)
    assert depth @ all_.covariance @ depth > 2 * hue @ all_.covariance @ hue


def test_picture_that_stands_apart_is_told_and_weighed_lightly() -> None:
    """One of three far off the others must be named, with by how much, and hardly move the middle."""
    all_ = combine(_at(0.80, 0.82, 1.10), [ERROR] * 3)
    assert [a.index for a in all_.apart] == [2]
    assert all_.apart[0].by == pytest.approx(0.29, abs=0.005)
    assert all_.density.mean() == pytest.approx(0.82, abs=0.02)
    assert all_.weights[2] < 0.1


def test_neither_of_two_is_favoured() -> None:
    """Of two that disagree the middle must be taken, with a band that reaches both."""
    both = combine(_at(0.8, 1.1), [ERROR] * 2)
    np.testing.assert_allclose(both.density, 0.95)
    assert 1.645 * np.sqrt(both.covariance[0, 0]) > 0.15
    assert len(both.apart) == 2


def test_order_does_not_matter() -> None:
    """Whatever order the pictures come in, the answer must be the same."""
    seen = _at(0.7, 0.82, 0.85, 1.2)
    first = combine(seen, [ERROR] * 4)
    for order in itertools.permutations(range(4)):
        again = combine([seen[i] for i in order], [ERROR] * 4)
        np.testing.assert_allclose(again.density, first.density, atol=1e-10)
        assert {order[a.index] for a in again.apart} == {a.index for a in first.apart}


@pytest.mark.parametrize("count", [2, 3, 6])
@pytest.mark.parametrize("between", [0.0, 0.05])
def test_band_holds_the_truth(count: int, between: float) -> None:
    """The 90 % band of the mean density must hold the truth in 82 to 99 of a hundred, whatever the scatter."""
    rng = np.random.default_rng(1)
    inside = 0
    for _ in range(300):
        wide = between**2 * shape_between(0.8) + ERROR
        seen = 0.8 + rng.multivariate_normal(np.zeros(3), wide, count)
        all_ = combine(list(seen), [ERROR] * count)
        inside += abs(all_.density.mean() - 0.8) < 1.645 * np.sqrt(all_.covariance.mean())
    assert 0.82 * 300 < inside < 0.99 * 300


def test_target_tells_which_picture_disagrees() -> None:
    """The target must name the entry of the picture that stands apart and by how much it is off."""
    levels = (0.80, 0.81, 0.79, 0.50)
    goal = make_target("roll", [_measure(v, number=n) for n, v in enumerate(levels, 5)], None)
    assert goal is not None
    ((number, text),) = goal.apart
    assert number == 8
    assert "0.30 paler" in text
    assert "weighed lightly" in text


def test_target_knows_how_even_the_page_is() -> None:
    """The scribe's own unevenness must give a tolerance; an even page has none."""
    even = make_target("roll", [_measure(0.8, number=1, spread=0.0)], None)
    loose = make_target("roll", [_measure(0.8, number=1, spread=0.08)], None)
    assert even is not None
    assert loose is not None
    assert even.tolerance == 0
    assert 1 < loose.tolerance < 8
    np.testing.assert_allclose(loose.spread, 0.08)


def test_words_for_a_difference() -> None:
    """A difference must be said as darker or paler with two digits, and hue by itself as hue."""
    assert words_off(0.213) == "0.21 darker"
    assert words_off(-0.1) == "0.10 paler"
    assert words_off(0.001) == "of another hue"
