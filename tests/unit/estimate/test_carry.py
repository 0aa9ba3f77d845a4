"""Estimates carried on as the daybook grows, and readings left to the end."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from inkhorn.daybook.book import Recorded
from inkhorn.estimate import carry, keep, smc
from inkhorn.estimate.posterior import sample_posterior, summarise
from inkhorn.estimate.problem import Problem, make_problem
from inkhorn.replay import luck
from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import make_plan, play
from support.daybooks import recorded


class Shelf(dict[str, Any]):
    """A shelf in memory."""

    def recall(self, key: str) -> Any:
        """Return what is kept, or None."""
        return self.get(key)

    def remember(self, key: str, value: Any) -> None:
        """Keep it."""
        self[key] = value


def _at(hour: int) -> str:
    return f"2026-09-{1 + hour // 24:02}T{hour % 24:02}:00"


def _book() -> list[dict[str, Any]]:
    """Return an invented daybook with ten readings and a last step."""
    steps: list[dict[str, Any]] = [
        {"kind": "steep", "lot": "sumac-leaf", "amount": "about 400 g", "liquid": "spring water",
         "liquid_amount": "about 4 L", "into": "tub", "for": "18 h"},
        {"kind": "reading", "of": "vessel:tub", "what": "volume", "value": "3.4 L"},
        {"kind": "strain", "vessel": "tub", "into": "pot"},
        {"kind": "reading", "of": "vessel:pot", "what": "ph", "value": "4.1", "with": "strip"},
        {"kind": "reduce", "vessel": "pot", "to": "about 1 L"},
        {"kind": "reading", "of": "vessel:pot", "what": "specific_gravity", "value": "1.045"},
        {"kind": "add", "into": "pot", "lot": "vitriol", "amount": "about 40 g"},
        {"kind": "reading", "of": "vessel:pot", "what": "volume", "value": "1050 ml"},
        {"kind": "reading", "of": "vessel:pot", "what": "ph", "value": "3.1", "with": "strip"},
        {"kind": "add", "into": "pot", "lot": "plum-gum", "amount": "about 25 g"},
        {"kind": "reading", "of": "vessel:pot", "what": "body", "value": "flows well"},
        {"kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "pen", "pen": "reed-3mm"},
        {"kind": "reading", "of": "trial:t1", "what": "optical_density", "value": {"R": 0.9, "G": 0.95, "B": 0.9},
         "sd": 0.04},
        {"kind": "reading", "of": "vessel:pot", "what": "viscosity", "value": "3.2 mPa s"},
        {"kind": "mark", "vessel": "pot", "trial": "t2", "support": "goat-1", "method": "pen", "pen": "reed-3mm"},
        {"kind": "reading", "of": "trial:t2", "what": "optical_density", "value": {"R": 1.0, "G": 1.0, "B": 0.95},
         "sd": 0.04},
        {"kind": "reading", "of": "trial:t2", "what": "flow", "value": "flows well"},
        {"kind": "add", "into": "pot", "liquid": "water", "amount": "about 80 ml"},
    ]  # fmt: skip
    return [{"at": _at(i * 24 if i else 0), **step} for i, step in enumerate(steps)]


@pytest.fixture(scope="module")
def book() -> tuple[Recorded, ...]:
    """Return the entries as a workshop would have them."""
    return tuple(recorded(_book()))


def test_where_an_estimate_goes_on_from(book: tuple[Recorded, ...]) -> None:
    """With ten readings it goes on from the eighth; with few from nothing; and right at the eighth from nothing."""
    before = carry.earlier(book)
    assert before is not None
    assert sum(carry._teaches(item) for item in before) == 8
    assert carry.earlier(book[:6]) is None
    assert carry.earlier(before) is None


def test_carried_on_is_the_same_as_sampled(
    book: tuple[Recorded, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Figures of an estimate carried on over three steps and two readings agree with one from nothing."""
    scouted: list[int] = []
    whole = smc.sample

    def counted(target: Problem, *args: Any, **more: Any) -> smc.Sample:
        scouted.append(len(target.plan.entries))
        return whole(target, *args, **more)

    monkeypatch.setattr(smc, "sample", counted)
    on = keep.posterior_of(book, {}, 0, Shelf())
    before = carry.earlier(book)
    # The two readings were not enough to send it back to nothing: only the earlier state was sampled so.
    assert before is not None
    assert scouted == [len(before)]
    anew = sample_posterior(make_plan(book))
    # Told along the informed direction that forgets least, from families of particles: over six seeds 31 to 155. (The
    # number told before, from what moves forget, was five times that, and more than the scatter between seeds bore out.)
    assert on.ess > 25
    one, two = (summarise(post).vessels["pot"].figures for post in (on, anew))
    for name in ("volume", "iron_to_capacity", "ph", "viscosity", "gum"):
        sd = (two[name].p95 - two[name].p05) / 3.29
        # Three standard errors of the difference of two medians by their effective numbers (of a normal's median: 1.25 sd over
        # the root of n). Over four seeds that of iron over capacity scatters by 0.32 sd from nothing, 0.13 carried on.
        near = 0.7 if name == "iron_to_capacity" else 3 * 1.25 * np.sqrt(1 / on.ess + 1 / anew.ess)
        assert abs(one[name].median - two[name].median) < near * sd, name
        # On a logarithm: the upper end of a skewed band is the least surely sampled of all.
        wide, wanted = (np.log(f[name].p95 / f[name].p05) for f in (one, two))
        assert wide == pytest.approx(wanted, rel=0.25), name
    # Over eight seeds the log evidence of this book scatters by 1.1 nat from nothing and by 0.7 carried on (means 0.6
    # with an error of 0.5 apart): two standard errors of the difference of one run of each.
    assert on.log_evidence == pytest.approx(anew.log_evidence, abs=2.6)


def test_warm_and_cold_are_the_same(book: tuple[Recorded, ...]) -> None:
    """Whether the earlier state was estimated before or not, the draws are the same to the last bit."""
    warm = Shelf()
    before = carry.earlier(book)
    assert before is not None
    keep.posterior_of(before, {}, 0, warm)
    np.testing.assert_array_equal(
        keep.posterior_of(book, {}, 0, warm).z, keep.posterior_of(book, {}, 0, Shelf()).z
    )


def test_a_new_trial_leaves_the_scatter_of_the_others() -> None:
    """Numbers found for one trial more give the earlier trials the scatter they had, and give it back alone."""
    n = 500
    z = np.array([standard_normal(0, f"t{i}", n) for i in range(3)])
    fresh, place = standard_normal(0, "new", n)[None], standard_normal(0, "size", n)
    more = luck.with_more(z, fresh, place)
    np.testing.assert_allclose(luck._scattered(more)[:3], luck._scattered(z), rtol=2e-3, atol=1e-4)
    np.testing.assert_allclose(luck._spread_out(luck._scattered(more)[:3]), z, rtol=5e-3, atol=5e-3)
    # What was normal for three stays normal for four.
    assert np.mean(more**2) == pytest.approx(1, abs=0.12)


def test_late_readings_change_no_decision(book: tuple[Recorded, ...]) -> None:
    """A likelihood that stops early agrees with the whole one wherever that reaches the bar, and is nowhere above."""
    problem = make_problem(make_plan(book))
    assert len(problem.slow) == 2
    z = problem.prior(0, 300)
    whole = problem.log_likelihood(z)
    bar = np.random.default_rng(0).permutation(whole)
    early = problem.log_likelihood_above(z, bar)
    np.testing.assert_allclose(early[whole >= bar], whole[whole >= bar], rtol=1e-10)
    assert (early[np.isfinite(early)] <= whole[np.isfinite(early)] + 1e-9).all()
    assert np.isneginf(early).any()


def test_a_straightened_ridge_is_the_same_ridge(book: tuple[Recorded, ...]) -> None:
    """Unknowns made straight and bent again are the same, and so is their likelihood, found in one replay or in two."""
    problem = make_problem(make_plan(book))
    exchange = problem.exchange
    assert exchange is not None
    z = problem.prior(0, 50)
    u = exchange.straight(z)
    assert np.abs(u - z).max() > 0.1
    again = exchange.bent(u)
    np.testing.assert_allclose(again, z, atol=1e-9)
    low = np.full(50, -np.inf)
    # The replay that found the place is used again for its likelihood.
    np.testing.assert_allclose(
        problem.log_likelihood_above(again, low), problem.log_likelihood(z), rtol=1e-9, atol=1e-6
    )
    # What a trade pays with, and what later ones pay with, changes nothing of what it pays for.
    for i, trade in enumerate(exchange.steps):
        other = z.copy()
        other[np.concatenate([later.paid for later in exchange.steps[i:]])] += 1.0
        np.testing.assert_array_equal(trade.worth(other), trade.worth(z))


def test_slopes_of_the_exchange_are_those_of_its_worth(book: tuple[Recorded, ...]) -> None:
    """Slopes agree with differences over a hundred times the step."""
    exchange = make_problem(make_plan(book)).exchange
    assert exchange is not None
    z = make_problem(make_plan(book)).prior(3, 2)
    slopes = exchange.slopes(z)
    assert slopes.shape == (2, len(exchange.paid), len(z))
    step = 1e-2
    for i in np.argsort(np.abs(slopes[0, 0]))[-5:]:
        up, down = z.copy(), z.copy()
        up[i] += step
        down[i] -= step
        wide = (exchange.straight(up) - exchange.straight(down))[exchange.paid] / (2 * step)
        np.testing.assert_allclose(slopes[:, :, i].T, wide, rtol=0.05, atol=0.02)


def test_what_only_an_answer_asks_for_is_unknown_too() -> None:
    """No reading asks how thick a pot of gum and water is; its estimate still carries the doubt of the gum."""
    plan = make_plan(
        recorded(
            [
                {"at": _at(0), "kind": "add", "into": "jar", "liquid": "water", "amount": "500 ml"},
                {"at": _at(1), "kind": "add", "into": "jar", "lot": "plum-gum", "amount": "40 g"},
            ]
        )
    )
    problem = make_problem(plan)
    assert "ink/martin" in problem.unknowns
    z = problem.prior(0, 400)
    assert play(plan, Draws(problem.unknowns, z)).world.vessels["jar"] is not None
    thick = summarise(sample_posterior(plan, particles=400)).vessels["jar"].figures["viscosity"]
    assert thick.p95 > 1.3 * thick.p05
