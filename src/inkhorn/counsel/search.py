"""Finding good courses: a grid over few things done, then steps that halve."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.actions import Action
from inkhorn.counsel.trial_run import Outcome, Table, try_courses
from inkhorn.handbook.load import value

Array = NDArray[np.float64]
# numbers-in-code: shares of the most allowed that a search tries first, and how many at a time
_ALONE = np.array([0.03, 0.06, 0.1, 0.15, 0.2, 0.27, 0.35, 0.45, 0.55, 0.65, 0.8, 1.0])
_TOGETHER = np.array([0.05, 0.12, 0.25, 0.45, 0.7, 1.0])
_BATCH = 160


@attrs.frozen(kw_only=True, eq=False)
class Candidate:
    """A course under trial: amounts of every action, and its expected loss."""

    amounts: Array
    loss: float

    @property
    def used(self) -> tuple[int, ...]:
        """Return which actions it uses."""
        return tuple(int(i) for i in np.flatnonzero(self.amounts > 0))


@attrs.frozen(kw_only=True, eq=False)
class Pool:
    """Every course that was tried: amounts (K, A), losses (K,), distances without luck (K, M), evaluations."""

    amounts: Array
    loss: Array
    distance: Array
    safe: NDArray[np.bool_]
    tried: int


def losses(outcome: Outcome, actions: Sequence[Action], amounts: Array) -> Array:
    """Return the loss of each course on each draw, (K, M): distance, broken limits, trouble and waste."""
    weight = "counsel.weight."
    share = amounts / np.array([a.most for a in actions])
    trouble = value(weight + "action") * (amounts > 0).sum(axis=1)
    waste = share @ np.array([a.cost for a in actions])
    return np.asarray(
        outcome.distance
        + value(weight + "flow") * ~outcome.flow_ok
        + value(weight + "permanence") * ~outcome.permanence_ok
        + (trouble + waste)[:, None]
    )


def try_all(
    table: Table, actions: Sequence[Action], amounts: Array
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Return the loss (K, M), the distance (K, M) and whether limits are kept (K, M), in batches."""
    parts = []
    for start in range(0, len(amounts), _BATCH):
        some = amounts[start : start + _BATCH]
        outcome = try_courses(table, actions, some)
        parts.append(
            (losses(outcome, actions, some), outcome.distance, outcome.flow_ok & outcome.permanence_ok)
        )
    loss, distance, safe = (np.concatenate(p) for p in zip(*parts, strict=True))
    return loss, distance, safe


def search(table: Table, actions: Sequence[Action]) -> tuple[list[Candidate], Pool]:
    """Return candidates, best first, one for each set of actions, and all that was tried.

    Single actions are tried on a grid, pairs on a coarser one, then the best
    pair sets get a third action; the best few sets are refined by trying every
    amount a little up and down with steps that halve. No derivative, no
    chance: the same posterior gives the same courses.
    """
    most = np.array([a.most for a in actions])
    grid = _grid(actions) * most
    loss, distance, safe = try_all(table, actions, grid)
    pool = [(grid, loss, distance, safe)]
    best = _best_of_sets(grid, loss.mean(axis=1))
    wider = _third(best[:4], actions) * most
    if len(wider):
        more = try_all(table, actions, wider)
        pool.append((wider, *more))
        best = _best_of_sets(
            np.concatenate([grid, wider]), np.concatenate([loss.mean(axis=1), more[0].mean(axis=1)])
        )
    refined, extra = _refine(table, actions, best[:6], most)
    pool.append(extra)
    amounts, all_loss, all_distance, all_safe = (np.concatenate(p) for p in zip(*pool, strict=True))
    rest = [c for c in best if c.used not in {r.used for r in refined}]
    found = sorted([*refined, *rest], key=lambda c: c.loss)
    return found, Pool(
        amounts=amounts, loss=all_loss, distance=all_distance, safe=all_safe, tried=len(amounts)
    )


def _clash(actions: Sequence[Action], used: Sequence[int]) -> bool:
    """Say whether two actions undo each other: water in and water out, two warmings."""
    kinds = [actions[i].kind for i in used]
    return "reduce" in kinds and "add-liquid" in kinds


def _grid(actions: Sequence[Action]) -> Array:
    """Return shares of ``most``, (K, A): nothing done, each action alone, each pair."""
    a = len(actions)
    rows = [np.zeros(a)]
    for i in range(a):
        for share in _ALONE:
            course = np.zeros(a)
            course[i] = share
            rows.append(course)
    for pair in itertools.combinations(range(a), 2):
        if _clash(actions, pair):
            continue
        for shares in itertools.product(_TOGETHER, repeat=2):
            course = np.zeros(a)
            course[list(pair)] = shares
            rows.append(course)
    return np.array(rows)


def _third(best: Sequence[Candidate], actions: Sequence[Action]) -> Array:
    """Return the best sets with each possible third action, as shares, (K, A)."""
    most = np.array([a.most for a in actions])
    rows = []
    for candidate in best:
        for i in range(len(actions)):
            used = (*candidate.used, i)
            if i in candidate.used or len(used) > 3 or _clash(actions, used):
                continue
            for share in _TOGETHER[:4]:
                course = candidate.amounts / most
                course[i] = share
                rows.append(course)
    return np.array(rows).reshape(-1, len(actions))


def _best_of_sets(amounts: Array, loss: Array) -> list[Candidate]:
    """Return the best course of each set of actions, best set first; doing nothing is not a course."""
    best: dict[tuple[int, ...], Candidate] = {}
    for row_, mean in zip(amounts, loss, strict=True):
        candidate = Candidate(amounts=row_, loss=float(mean))
        known = best.get(candidate.used)
        if candidate.used and (known is None or candidate.loss < known.loss):
            best[candidate.used] = candidate
    return sorted(best.values(), key=lambda c: c.loss)


def _refine(
    table: Table, actions: Sequence[Action], start: Sequence[Candidate], most: Array
) -> tuple[list[Candidate], tuple[Array, Array, Array, NDArray[np.bool_]]]:
    """Improve several courses at once by pattern steps on a logarithmic scale of amounts."""
    now = list(start)
    # numbers-in-code: first step of a search on a scale of logarithms; it is halved until nothing is gained
    stride = 0.35
    seen = []
    for _ in range(7):
        batch, owner = [], []
        for j, candidate in enumerate(now):
            for i in candidate.used:
                for sign in (-1.0, 1.0):
                    course = candidate.amounts.copy()
                    course[i] = min(course[i] * np.exp(sign * stride), most[i])
                    batch.append(course)
                    owner.append(j)
        amounts = np.array(batch)
        loss, distance, safe = try_all(table, actions, amounts)
        seen.append((amounts, loss, distance, safe))
        moved = False
        for row_, mean, j in zip(amounts, loss.mean(axis=1), owner, strict=True):
            if mean < now[j].loss:
                now[j], moved = Candidate(amounts=row_, loss=float(mean)), True
        if not moved:
            stride /= 2
    joined = tuple(np.concatenate(p) for p in zip(*seen, strict=True))
    return sorted(now, key=lambda c: c.loss), (joined[0], joined[1], joined[2], joined[3])
