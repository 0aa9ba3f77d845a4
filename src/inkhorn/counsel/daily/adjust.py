"""The day's adjustment: the water, gum, warmth or stock ink that brings back the ink of a trial."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Sequence
from datetime import datetime

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.actions import Action, menu, sensible
from inkhorn.counsel.daily import hints, say
from inkhorn.counsel.daily.result import Adjustment, Likeness, Today
from inkhorn.counsel.daily.yesterday import Yesterday, as_goal, as_it_was, mark_of, strength, this_morning
from inkhorn.counsel.trial_run import Outcome, Table, lay_table, narrowed, try_courses
from inkhorn.daybook.measures import measures
from inkhorn.errors import CounselError
from inkhorn.estimate.figures import figure
from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.cautions import cautions_for
from inkhorn.handbook.load import value
from inkhorn.quantities import read_quantity
from inkhorn.replay import composition, dissolve
from inkhorn.replay.draws import Draws
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS

Array = NDArray[np.float64]
# numbers-in-code: shares of the most allowed that a search tries first
_ALONE = np.geomspace(0.004, 1.0, 18)
# numbers-in-code: as above, of two things together
_TOGETHER = np.geomspace(0.01, 1.0, 7)
_ROUNDS = 8


def adjust(
    post: Posterior,
    vessel: str,
    *,
    like: str,
    strokes: Collection[str] = (),
    temperature: str | None = None,
    at: datetime | None = None,
) -> Today:
    """Return what brings a vessel's ink back to what it was when a trial was written with it.

    Parameters
    ----------
    post : Posterior
        The estimate's draws.
    vessel : str
        What is written from.
    like : str
        The trial that the ink should be like: its dry colour, and its flow at writing warmth.
    strokes : collection of str
        This morning's trials, for hints about the pen; what was read of them is in the estimate already.
    temperature : str, optional
        The morning's warmth, as a maker writes it: ``"14 degC"``.
    at : datetime, optional
        When; the last entry if left out.

    Raises
    ------
    CounselError
        If the vessel or a trial is unknown, or the vessel is empty or withheld.
    """
    plan = post.problem.plan
    _check(post, vessel)
    _, _, mark = mark_of(plan, like)
    for stroke in strokes:
        mark_of(plan, stroke)
    warm = _warmth(temperature)
    today = this_morning(post, vessel, warm, at)
    actions = [a for a in menu(today, vessel) if _is_daily(a, today)]
    table = lay_table(today, vessel, as_goal(plan, mark), actions, as_="now")
    draws = Draws(table.unknowns, table.z)
    then = as_it_was(plan, like, vessel, table.hand, draws)
    table = attrs.evolve(table, aim=then.density)
    still = try_courses(table, actions, np.zeros((1, len(actions))))
    state = narrowed(table).vessels[vessel]
    now = _likeness(still, 0, then)
    best = None
    if not _is_alike(now):
        best = _best(table, actions, then, still)
    return _answer(table, actions, best, then, now, still, vessel, like, tuple(strokes), state.temperature)


def _check(post: Posterior, vessel: str) -> None:
    state = post.played.world.vessels.get(vessel)
    if state is None:
        known = ", ".join(post.played.world.vessels) or "none yet"
        raise CounselError(f"there is no vessel {vessel!r}", mend=f"Vessels of this daybook: {known}")
    if state.withheld:
        raise CounselError(state.withheld, where=vessel, mend="Ask about another vessel")
    if not np.median(composition.volume(state.liquor, state.temperature)) > 0:
        raise CounselError(f"{vessel} is empty", mend="Ask about the vessel that you write from")


def _warmth(text: str | None) -> tuple[float, float] | None:
    if text is None:
        return None
    told = read_quantity(text, expect=("temperature",), measures=measures(), where="temperature")
    return told.value, told.sd


def _is_daily(action: Action, post: Posterior) -> bool:
    """Say whether something is done in a morning: water, gum, warmth, ink from another vessel; no more iron."""
    if action.kind in ("add-liquid", "warm"):
        return True
    if action.kind == "add-lot":
        return dissolve.is_material(action.material) and dissolve.role(action.material) == "gum"
    other = post.played.world.vessels.get(action.what)
    return (
        action.kind == "pour"
        and other is not None
        and bool(np.median(composition.iron_total(other.liquor)) > 0)
    )


# ---------------------------------------------------------------- the search


def _loss(table: Table, outcome: Outcome, amounts: Array, then: Yesterday) -> Array:
    """Return the expected loss of each course, (K,): colour, thickness, flow broken that was kept, things to do.

    An ink that flowed badly as it was is brought back as it was: to better it is another question.
    """
    off = np.abs(np.log(outcome.viscosity / then.viscosity))
    loss = outcome.distance + value("today.weight.flow") * off
    low, high = table.flow_band
    flowed = (then.viscosity >= low) & (then.viscosity <= high)
    loss = loss + value("counsel.weight.flow") * (flowed & ~outcome.flow_ok)
    return np.asarray(loss.mean(axis=1) + value("counsel.weight.action") * (amounts > 0).sum(axis=1))


def _most(actions: Sequence[Action], still: Outcome) -> Array:
    held = float(np.median(still.volume[0]))
    caps = {"add-liquid": value("today.most.water") * held, "pour": value("today.most.stock") * held}
    return np.array([min(a.most, caps.get(a.kind, a.most)) for a in actions])


def _best(table: Table, actions: Sequence[Action], then: Yesterday, still: Outcome) -> Array | None:
    """Return the amounts of the best course as a maker would measure them, (A,); None where leaving it is as good."""
    if not actions:
        return None
    most = _most(actions, still)
    nothing = np.zeros((1, len(actions)))
    idle = float(_loss(table, still, nothing, then)[0])
    grid = np.concatenate([nothing, _grid(len(actions), [a.kind for a in actions]) * most])
    loss = _loss(table, try_courses(table, actions, grid), grid, then)
    starts = grid[np.argsort(loss, kind="stable")[:4]]
    found = _refined(table, actions, starts, most, then)
    rounded = np.array([_measured(a, x, m) for a, x, m in zip(actions, found, most, strict=True)])
    after = _loss(table, try_courses(table, actions, rounded[None]), rounded[None], then)[0]
    if not rounded.any() or idle - after < value("counsel.gain"):
        return None
    return rounded


def _grid(count: int, kinds: Sequence[str]) -> Array:
    """Return shares of the most: each thing alone, then each pair, (K, A)."""
    rows = []
    for i in range(count):
        alone = np.zeros((len(_ALONE), count))
        alone[:, i] = _ALONE
        rows.append(alone)
    for i, j in itertools.combinations(range(count), 2):
        if kinds[i] == kinds[j] == "pour":
            continue
        both = np.zeros((len(_TOGETHER) ** 2, count))
        both[:, [i, j]] = list(itertools.product(_TOGETHER, repeat=2))
        rows.append(both)
    return np.concatenate(rows)


def _refined(table: Table, actions: Sequence[Action], starts: Array, most: Array, then: Yesterday) -> Array:
    """Improve a few courses by steps up and down on the logarithm of each amount that halve."""
    now = starts.copy()
    best = _loss(table, try_courses(table, actions, now), now, then)
    # numbers-in-code: first step of a search on a scale of logarithms
    stride = 0.4
    for _ in range(_ROUNDS):
        batch, owner = [], []
        for k, course in enumerate(now):
            for i in np.flatnonzero(course > 0):
                for factor in (0.0, np.exp(-stride), np.exp(stride)):
                    tried = course.copy()
                    tried[i] = min(course[i] * factor, most[i])
                    batch.append(tried)
                    owner.append(k)
        if not batch:
            break
        amounts = np.array(batch)
        moved = False
        for course, loss, k in zip(
            amounts, _loss(table, try_courses(table, actions, amounts), amounts, then), owner, strict=True
        ):
            if loss < best[k]:
                now[k], best[k], moved = course, loss, True
        if not moved:
            stride /= 2
    return np.asarray(now[int(np.argmin(best))])


def _measured(action: Action, amount: float, most: float) -> float:
    """Return an amount as it can be measured out; degrees above the present to the degree."""
    if amount <= 0:
        return 0.0
    if action.kind == "warm":
        return float(min(np.round(amount), np.floor(most)))
    return min(sensible(amount), sensible(most, down=True))


# ---------------------------------------------------------------- the answer


def _likeness(outcome: Outcome, k: int, then: Yesterday) -> Likeness:
    return Likeness(
        distance=figure(outcome.distance[k], "1"),
        thickness=figure(outcome.viscosity[k] / then.viscosity, "1"),
        flow_ok=float(outcome.flow_ok[k].mean()),
    )


def _is_alike(now: Likeness) -> bool:
    """Say whether neither the eye nor the hand would know the difference."""
    thick = abs(np.log(max(now.thickness.median, 1e-9)))
    return now.distance.median <= value("today.seen") and bool(thick <= value("today.flow_seen"))


def _answer(
    table: Table,
    actions: Sequence[Action],
    best: Array | None,
    then: Yesterday,
    now: Likeness,
    still: Outcome,
    vessel: str,
    like: str,
    strokes: tuple[str, ...],
    temperature: Array,
) -> Today:
    plan = table.post.problem.plan
    after, adjustment, clauses = now, None, list[str]()
    celsius = float(np.median(temperature)) - ZERO_CELSIUS
    held = float(np.median(still.volume[0]))
    if best is not None:
        after = _likeness(try_courses(table, actions, best[None]), 0, then)
        entries, cautions = [], list[str]()
        for i in (int(j) for j in np.flatnonzero(best > 0)):
            action, amount = actions[i], float(best[i])
            told = round(amount + celsius) if action.kind == "warm" else amount
            entry = action.entry(told, held)
            entries.append(entry)
            cautions.extend(cautions_for(entry, [action.material] if action.material else []))
            clauses.append(say.clause(action, told))
        adjustment = Adjustment(actions=tuple(entries), after=after, cautions=tuple(dict.fromkeys(cautions)))
    evaporated = None
    if then.untouched:
        state = narrowed(table).vessels[vessel]
        gone = still.volume[0] * (strength(state) / np.maximum(then.strength, 1e-12) - 1.0)
        evaporated = figure(np.maximum(gone, 0.0), "ml")
    return Today(
        vessel=vessel,
        like=like,
        temperature=figure(temperature - ZERO_CELSIUS, "degC"),
        evaporated=evaporated,
        now=now,
        adjustment=adjustment,
        sentence=say.sentence(clauses, like, now, after, evaporated, alike=_is_alike(now)),
        hints=hints.of_pen(plan, like, strokes, now.thickness.median),
    )
