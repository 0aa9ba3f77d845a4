"""The search for a course, held against optima known in closed form and over thousands of random benches."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import attrs
import numpy as np
import pytest

from inkhorn.counsel import search as searching
from inkhorn.counsel.actions import Action, sensible
from inkhorn.counsel.courses import _rounded
from inkhorn.counsel.judged import scale, sure
from inkhorn.counsel.search import judge, search, try_all
from inkhorn.counsel.trial_run import Outcome

FREE = 0.0


@attrs.frozen(kw_only=True, eq=False)
class _Law:
    """A pot whose colour is a straight line: distance |sum of a_i s_i - t| on each draw."""

    strength: np.ndarray  # (A, M) colour a unit of each action
    aim: np.ndarray  # (M,)
    keep: float = 0.0
    flows: bool = True

    def outcome(self, _table: Any, _actions: Any, amounts: np.ndarray, _order: Any = None) -> Outcome:
        """Return what each course comes to."""
        came = amounts @ self.strength
        distance = np.abs(came - self.aim)
        yes = np.full(distance.shape, self.flows)
        return Outcome(
            distance=distance,
            density=np.repeat(came[..., None], 3, axis=2),
            strip=np.repeat(came[..., None], 3, axis=2),
            viscosity=distance,
            iron_ratio=distance,
            volume=np.full(distance.shape, 100.0),
            flow_ok=yes,
            permanence_ok=yes,
        )


def _action(most: float, *, kind: str = "add-liquid", unit: str = "ml", cost: float = FREE) -> Action:
    return Action(
        kind=kind, vessel="pot", what=f"thing of {most:g}", material="", most=most, unit=unit, cost=cost
    )


def _table(keep: float = 0.0) -> Any:
    """Return a table on which every distance counts from the page itself, and every change is seen."""
    return SimpleNamespace(keep=keep, match=0.0, still=None)


def _find(law: _Law, actions: list[Action], monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(searching, "try_courses", law.outcome)
    return search(_table(law.keep), actions)


@pytest.mark.parametrize("seed", range(8))
def test_one_unknown_and_one_addition(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The search comes within a twentieth of a step of colour of the best mean of exp(-|a s - t| / c), known exactly.

    Between the places a = t / s of the draws every term is convex in a, so the sum is too, and its greatest
    value lies at one of those places: all of them are tried.
    """
    rng = np.random.default_rng(seed)
    strength = rng.lognormal(0, 0.5, 401)
    law = _Law(strength=strength[None], aim=np.full(401, rng.uniform(3, 20)))

    def near(amount: float) -> np.float64:
        return np.float64(np.exp(-np.abs(amount * strength - law.aim) / scale()).mean())

    best = max(law.aim / strength, key=near)
    found, _ = _find(law, [_action(best * rng.uniform(1.3, 6))], monkeypatch)
    assert sure(near(found[0].amounts[0])) < sure(near(best)) + 0.05


@pytest.mark.parametrize("seed", range(4))
def test_a_bench_too_small_is_used_up(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the best amount lies beyond what there is, all there is is told, and never more."""
    rng = np.random.default_rng(seed)
    law = _Law(strength=rng.lognormal(0, 0.1, 64)[None], aim=np.full(64, 50.0))
    most = rng.uniform(1, 20)
    found, _ = _find(law, [_action(most)], monkeypatch)
    assert found[0].amounts[0] == pytest.approx(most)


def test_two_additions_to_two_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where only both together come to the aim, both are found, within a twentieth of what doing nothing costs."""
    aim = np.full(32, 30.0)
    law = _Law(strength=np.array([np.full(32, 1.0), np.full(32, 0.5)]), aim=aim)
    found, _ = _find(law, [_action(20.0), _action(40.0)], monkeypatch)
    assert found[0].loss - 2 * searching.value("counsel.weight.action") < 0.05 * 30
    assert len(found[0].used) == 2


def test_the_cheaper_of_two_alike_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two things that do the same, the one that costs less."""
    law = _Law(strength=np.ones((2, 16)), aim=np.full(16, 10.0))
    found, _ = _find(law, [_action(20.0, cost=1.0), _action(20.0, cost=0.1)], monkeypatch)
    assert found[0].used == (1,)


@pytest.mark.parametrize("scale", [1e-3, 1e3])
def test_units_make_no_difference(scale: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Grams told as milligrams give a thousand times the number, and the same loss."""
    rng = np.random.default_rng(5)
    strength, aim = rng.lognormal(0, 0.4, (3, 64)), rng.normal(20, 2, 64)
    most = [4.0, 9.0, 30.0]
    plain, _ = _find(_Law(strength=strength, aim=aim), [_action(m) for m in most], monkeypatch)
    other, _ = _find(
        _Law(strength=strength / scale, aim=aim), [_action(m * scale) for m in most], monkeypatch
    )
    np.testing.assert_allclose(other[0].amounts, plain[0].amounts * scale, rtol=1e-9)
    assert other[0].loss == pytest.approx(plain[0].loss)


def test_the_order_of_the_shelf_makes_no_difference(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same things in another order on the shelf, and the same draws in another order, give the same course."""
    rng = np.random.default_rng(6)
    strength, aim = rng.lognormal(0, 0.4, (3, 64)), rng.normal(20, 2, 64)
    most, turned, shuffled = [4.0, 9.0, 30.0], [2, 0, 1], rng.permutation(64)
    plain, _ = _find(_Law(strength=strength, aim=aim), [_action(m) for m in most], monkeypatch)
    law = _Law(strength=strength[turned][:, shuffled], aim=aim[shuffled])
    other, _ = _find(law, [_action(most[i]) for i in turned], monkeypatch)
    np.testing.assert_allclose(other[0].amounts, plain[0].amounts[turned], rtol=1e-9)


def _random_bench(rng: np.random.Generator) -> tuple[_Law, list[Action]]:
    count, draws = int(rng.integers(1, 4)), 6
    actions = []
    for _ in range(count):
        kind = str(rng.choice(["add-lot", "add-liquid", "pour", "reduce", "warm"]))
        unit = {"add-lot": "g", "reduce": "1", "warm": "degC"}.get(kind, "ml")
        most = {"1": rng.uniform(0.05, 0.9), "degC": rng.uniform(1, 25)}.get(unit, 10 ** rng.uniform(-3, 4))
        actions.append(_action(float(most), kind=kind, unit=unit, cost=float(rng.uniform(0, 1))))
    tint = rng.normal(0, 30, (count, draws)) / np.array([[a.most] for a in actions])
    return _Law(strength=tint, aim=rng.normal(0, 20, draws), flows=bool(rng.random() < 0.8)), actions


def _never_impossible(count: int, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(2)
    for _ in range(count):
        law, actions = _random_bench(rng)
        found, pool = _find(law, actions, monkeypatch)
        most = np.array([a.most for a in actions])
        for amounts in (pool.amounts, np.array([c.amounts for c in found])):
            assert np.isfinite(amounts).all()
            assert (amounts >= 0).all()
            assert (amounts <= most * (1 + 1e-12)).all()
        volume = float(10 ** rng.uniform(0, 4))
        for candidate in found[:6]:
            told = _rounded(actions, candidate.amounts, volume)
            assert (told >= 0).all()
            assert (told <= most).all()
        if all(a.kind != "add-liquid" for a in actions):
            continue
        wet = [i for i, a in enumerate(actions) if a.kind == "add-liquid"]
        dry = [i for i, a in enumerate(actions) if a.kind == "reduce"]
        assert not any(set(wet) & set(c.used) and set(dry) & set(c.used) for c in found)


def test_never_an_impossible_amount(monkeypatch: pytest.MonkeyPatch) -> None:
    """Over a thousand random benches: nothing below nothing, nothing more than there is, before rounding or after."""
    _never_impossible(1_000, monkeypatch)


@pytest.mark.benchmark
def test_never_an_impossible_amount_in_ten_thousand(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same over ten thousand."""
    _never_impossible(10_000, monkeypatch)


@pytest.mark.parametrize("number", [0.0123456, 0.999, 7.77, 12345.0])
def test_a_sensible_number_has_two_digits(number: float) -> None:
    """Two digits, within a tenth of the number; rounding down never goes above it."""
    assert sensible(number) == pytest.approx(number, rel=0.05)
    assert sensible(number, down=True) <= number
    assert float(f"{sensible(number):.1e}") == pytest.approx(sensible(number))


def test_what_breaks_a_limit_or_falls_short_costs_more() -> None:
    """The same colour with a pen that does not flow, or with less ink than was asked for, is the greater loss."""
    law = _Law(strength=np.ones((1, 8)), aim=np.full(8, 5.0))
    actions = [_action(10.0)]
    amounts = np.array([[5.0]])
    here = _table()
    fine = judge(here, law.outcome(None, None, amounts), actions, amounts).whole
    heavy = attrs.evolve(law, flows=False)
    stuck = judge(here, heavy.outcome(None, None, amounts), actions, amounts).whole
    short = judge(_table(200.0), law.outcome(None, None, amounts), actions, amounts).whole
    assert (stuck > fine).all()
    assert (short > fine).all()


def test_what_cannot_be_undone_is_charged(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stirring in what rules out better courses on some draws costs; water, which can be boiled off, costs nothing."""
    law = _Law(strength=np.array([[1.0] * 10, [-1.0] * 10]), aim=np.array([-8.0] * 5 + [8.0] * 5))
    monkeypatch.setattr(searching, "try_courses", law.outcome)
    lot, water = _action(10.0, kind="add-lot", unit="g"), _action(10.0)
    grid = np.array([[a, b] for a in (0.0, 4.0, 8.0) for b in (0.0, 4.0, 8.0)])
    pool = try_all(_table(), [lot, water], grid)
    assert pool.closed(np.array([8.0, 0.0])) > pool.closed(np.array([4.0, 0.0])) > 0
    assert pool.closed(np.array([0.0, 8.0])) == 0
