"""A course is weighed as it is told: so many grams, ml, and a level, for a pot of which the content is not known."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.counsel.actions import menu
from inkhorn.counsel.trial_run import Table, lay_table, try_courses
from inkhorn.daybook.store.memory import MemoryStore
from inkhorn.daybook.wire import decode
from inkhorn.estimate.keep import posterior_of
from inkhorn.replay import composition

BOOK = (
    {"kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "100 g"},
    {"kind": "steep", "lot": "sumac-leaf", "amount": "200 g", "liquid": "rainwater", "liquid_amount": "2 L",
     "into": "tub", "for": "24 h"},
    {"kind": "strain", "vessel": "tub", "into": "pot"},
    {"kind": "reduce", "vessel": "pot", "to": "about 800 ml"},
    {"kind": "add", "into": "pot", "lot": "vitriol", "amount": "12.0 g"},
    {"kind": "reading", "of": "exemplar:page", "what": "optical_density",
     "value": {"R": 0.7, "G": 0.75, "B": 0.7}, "sd": 0.03},
)  # fmt: skip


class _Shelf(dict):
    recall = dict.get
    remember = dict.__setitem__


def _posterior(*more: dict[str, str]):
    """Return the posterior of a pot that was boiled down to "about 800 ml", and of what was then done to it."""
    store = MemoryStore()
    for i, entry in enumerate((*BOOK, *more)):
        raw = {"at": f"2026-09-{i + 3:02d}T08:00", **entry}
        store.append(raw, decode(raw))
    return posterior_of(tuple(store.recorded()), {}, 0, _Shelf())


@pytest.fixture(scope="module")
def post():
    """Return the posterior of a pot that nobody measured."""
    return _posterior()


def _table(post, *, on_a_cup: bool) -> tuple[Table, tuple]:
    actions = menu(post, "pot")
    goal = post.problem.plan.scene.targets["page"]
    return lay_table(post, "pot", goal, actions, as_="now", on_a_cup=on_a_cup), actions


def _course(actions, **amounts: float) -> np.ndarray:
    row = np.zeros((1, len(actions)))
    for kind, amount in amounts.items():
        row[0, next(i for i, a in enumerate(actions) if a.kind == kind.replace("_", "-"))] = amount
    return row


def _held(post, table: Table) -> np.ndarray:
    state = post.played.world.vessels["pot"]
    return composition.volume(state.liquor, state.temperature)[table.picks]


def test_boiled_to_a_level_a_pot_holds_that_whatever_it_held(post) -> None:
    """To half of what the pot is thought to hold: the level is the same on every draw, the share is not."""
    table, actions = _table(post, on_a_cup=False)
    before = _held(post, table)
    after = try_courses(table, actions, _course(actions, reduce=0.5)).volume[0]
    boils = before > 0.7 * table.ml
    # A level is read hot or cold and come to within the usual error; the pot itself differs by far more.
    assert np.log(before).std() > 0.12
    assert np.log(after[boils]).std() < 0.06
    assert np.median(after) == pytest.approx(0.5 * table.ml, rel=0.05)


def test_what_a_pot_holds_matters_less_on_a_cup(post) -> None:
    """Twice the vitriol in a fuller pot is too little for it; a cup is measured when it is drawn."""
    spread = {}
    for on_a_cup in (False, True):
        table, actions = _table(post, on_a_cup=on_a_cup)
        still = try_courses(table, actions, np.zeros((1, len(actions))))
        then = try_courses(table, actions, _course(actions, add_lot=12.0))
        more = (then.iron_ratio - still.iron_ratio)[0] / still.iron_ratio[0]
        spread[on_a_cup] = np.corrcoef(np.log(more), np.log(_held(post, table)))[0, 1], more
    # In the pot itself the old iron and the new were both weighed: their ratio does not depend on what it holds.
    assert np.std(np.log(spread[False][1])) < 0.1
    # On a cup, so many grams a ml, it does.
    assert spread[True][0] > 0.8


def test_a_course_that_does_not_boil_leaves_the_level_alone(post) -> None:
    """Tried in one batch with one that boils, water alone still only adds water."""
    table, actions = _table(post, on_a_cup=False)
    both = np.concatenate([_course(actions, reduce=0.5), _course(actions, add_liquid=100.0)])
    after = try_courses(table, actions, both).volume[1]
    assert np.allclose(after - _held(post, table), 100.0, rtol=0.02)


def test_a_pot_that_is_but_a_cup_is_told_for_as_it_is(post) -> None:
    """Where no cup can be drawn of it, grams are for the pot."""
    assert _table(post, on_a_cup=True)[0].on_a_cup
    little = _posterior({"kind": "discard", "vessel": "pot", "amount": "750 ml"})
    assert not _table(little, on_a_cup=True)[0].on_a_cup
