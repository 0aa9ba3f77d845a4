"""Finding good courses: a grid over few things done, then steps that halve."""

from __future__ import annotations

import functools
import itertools
from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.actions import Action
from inkhorn.counsel.judged import Judged, near, sure
from inkhorn.counsel.trial_run import Outcome, Table, changes, harms, try_courses
from inkhorn.handbook.load import value

Array = NDArray[np.float64]
# numbers-in-code: shares of the most allowed that a search tries first, and how many at a time
_ALONE = np.array([0.03, 0.06, 0.1, 0.15, 0.2, 0.27, 0.35, 0.45, 0.55, 0.65, 0.8, 1.0])
_TOGETHER = np.array([0.05, 0.12, 0.25, 0.45, 0.7, 1.0])
_BATCH = 64
#: How many of the best courses are looked at with foresight: a matter of time.
_LOOKED_AT = 48
#: How many of the best sets get one more action: a matter of time.
_WIDENED = 4
#: How many of the best on the average more knowledge may choose among, and of those that are best on some draw.
_CONTENDERS = 60
_PER_COURSE = ("amounts", "distance", "volume", "density", "lasting", "safe")


@attrs.frozen(kw_only=True, eq=False)
class Candidate:
    """A course under trial: amounts of every action, its expected loss, and the order where it is not the usual.

    ``loss`` counts what the course leads on to (see `Pool.foreseen`).
    """

    amounts: Array
    loss: float
    order: tuple[int, ...] | None = None

    @property
    def used(self) -> tuple[int, ...]:
        """Return which actions it uses."""
        return tuple(int(i) for i in np.flatnonzero(self.amounts > 0))


@attrs.frozen(kw_only=True, eq=False, slots=False)
class Pool:
    """Every course that was tried.

    Attributes
    ----------
    amounts : ndarray (K, A)
    for_good : ndarray of bool (A,)
        Which actions cannot be taken back.
    judged : Judged
        What is wanting to a match and what each costs, on each draw.
    distance, volume : ndarray (K, M)
        Distance of the usual stroke; what is left, ml.
    density : ndarray (K, M, 3)
        Of the usual dry stroke.
    lasting, safe : ndarray of bool (K, M)
        Whether iron keeps its limit; whether flow does too.
    """

    amounts: Array
    for_good: NDArray[np.bool_]
    judged: Judged
    distance: Array
    volume: Array
    density: Array
    lasting: NDArray[np.bool_]
    safe: NDArray[np.bool_]

    @property
    def tried(self) -> int:
        """Return how many courses were tried."""
        return len(self.amounts)

    @functools.cached_property
    def loss(self) -> Array:
        """Return what each course comes to, (K,), before what it leads on to."""
        return self.judged.expected()

    @classmethod
    def joined(cls, parts: Sequence[Pool]) -> Pool:
        """Return several pools of the same actions as one."""
        return cls(
            for_good=parts[0].for_good,
            judged=functools.reduce(Judged.joined, (p.judged for p in parts)),
            **{name: np.concatenate([getattr(p, name) for p in parts]) for name in _PER_COURSE},
        )

    def contenders(self) -> NDArray[np.intp]:
        """Return the courses that more knowledge might make the best: on some draw, or on the average, sorted."""
        best, often = np.unique(self.judged.whole.argmin(axis=0), return_counts=True)
        most = best[np.argsort(-often, kind="stable")[:_CONTENDERS]]
        return np.union1d(most, np.argsort(self.loss, kind="stable")[:_CONTENDERS])

    def only(self, rows: NDArray[np.intp]) -> Pool:
        """Return the pool of some of its courses."""
        return Pool(
            for_good=self.for_good,
            judged=self.judged.at(rows),
            **{name: getattr(self, name)[rows] for name in _PER_COURSE},
        )

    def thinned(self, step: int) -> Pool:
        """Return the pool on every so many-th draw."""
        every = (slice(None), slice(None, None, step))
        on_draws = {n: getattr(self, n)[every] for n in _PER_COURSE if n != "amounts"}
        return Pool(for_good=self.for_good, amounts=self.amounts, judged=self.judged.at(every), **on_draws)

    def open_after(self, amounts: Array) -> NDArray[np.bool_]:
        """Return which courses of the pool can still be come to once ``amounts`` (A,) are done, (K,).

        What is stirred or poured in stays in; what is boiled off can be made
        up with water, and water boiled off.
        """
        tolerance = 1e-9
        held = self.amounts[:, self.for_good] >= amounts[self.for_good] - tolerance
        return np.asarray(held.all(axis=1))

    def closed(self, amounts: Array) -> float:
        """Return what doing ``amounts`` costs in courses that it rules out, in units of CIEDE2000.

        On each draw somebody who came to know the pot would take the best
        course still open; what that comes to, less the same with all courses
        open.
        """
        still_open = self.open_after(amounts)
        if not amounts[self.for_good].any() or not still_open.any():
            return 0.0
        return _known(self.judged.whole[still_open]) - self._best

    def foreseen(self, amounts: Array, loss: float) -> float:
        """Return an expected loss with what the course rules out, weighed by the handbook."""
        return loss + value("counsel.weight.foresight") * max(self.closed(amounts), 0.0)

    @functools.cached_property
    def _best(self) -> float:
        return _known(self.judged.whole)


def _known(whole: Array) -> float:
    """Return what (K, M) comes to where the best course for each draw is taken."""
    return float(sure(near(whole.min(axis=0)).mean()))


def judge(table: Table, outcome: Outcome, actions: Sequence[Action], amounts: Array) -> Judged:
    """Return how each course does on each draw.

    Colour, flow and iron decide whether the next stroke is a match. The risk of
    iron that the tannin cannot hold, ink that is short, trouble and waste are
    costs beside, whatever the stroke looks like. What would all but surely do
    harm is no course at all (`harms`).
    """
    weight = "counsel.weight."
    share = amounts / np.array([a.most for a in actions])
    trouble = (amounts > 0) @ np.array([value(weight + "action") + a.once for a in actions])
    waste = share @ np.array([a.cost for a in actions])
    short = 0.0 if not table.keep else np.maximum(1.0 - outcome.volume / table.keep, 0.0)
    wanting = (
        np.maximum(outcome.distance - table.match, 0.0)
        + value(weight + "flow") * ~outcome.flow_ok
        + value(weight + "permanence") * ~outcome.permanence_ok
    )
    # What nobody could see is no course, however well it looks on paper.
    trifling = (amounts > 0).any(axis=1) * np.maximum(1.0 - changes(outcome, table), 0.0)
    cost = (
        value(weight + "risk") * ~outcome.permanence_ok
        + value(weight + "short") * short
        + (trouble + waste + value(weight + "trifle") * trifling)[:, None]
        + value(weight + "harm") * harms(outcome, table)[:, None]
    )
    return Judged(wanting=np.asarray(wanting), cost=np.asarray(cost))


def try_all(table: Table, actions: Sequence[Action], amounts: Array) -> Pool:
    """Return courses, (K, A), as tried on every draw, in batches."""
    parts = []
    for some in np.array_split(amounts, max(-(-len(amounts) // _BATCH), 1)):
        outcome = try_courses(table, actions, some)
        parts.append(
            Pool(
                amounts=some,
                for_good=np.array([a.for_good for a in actions]),
                judged=judge(table, outcome, actions, some),
                distance=outcome.distance,
                volume=outcome.volume,
                density=outcome.density,
                lasting=outcome.permanence_ok,
                safe=outcome.flow_ok & outcome.permanence_ok,
            )
        )
    return Pool.joined(parts)


def search(table: Table, actions: Sequence[Action]) -> tuple[list[Candidate], Pool]:
    """Return candidates, best first, one for each set of actions, and all that was tried.

    Single actions are tried on a grid, pairs on a coarser one, then the best
    sets get one more action, twice; the best few sets are refined by trying every
    amount a little up and down with steps that halve. What they are ranked by
    counts what each rules out. No derivative, no chance: the same posterior
    gives the same courses.
    """
    most = np.array([a.most for a in actions])
    pool = try_all(table, actions, _grid(actions) * most)
    for _ in range(2):
        wider = _one_more(_best_of_sets(pool)[:_WIDENED], actions) * most
        if len(wider):
            pool = Pool.joined([pool, try_all(table, actions, wider)])
    best = _best_of_sets(pool)
    refined, extra = _refine(table, actions, best[:6], most)
    pool = Pool.joined([pool, extra])
    rest = [c for c in best if c.used not in {r.used for r in refined}]
    found = [attrs.evolve(c, loss=pool.foreseen(c.amounts, c.loss)) for c in (*refined, *rest[:_LOOKED_AT])]
    found.extend(_turned_round(table, actions, found, pool))
    return sorted(found, key=lambda c: c.loss), pool


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


def _one_more(best: Sequence[Candidate], actions: Sequence[Action]) -> Array:
    """Return the best sets with each possible further action, as shares, (K, A)."""
    most = np.array([a.most for a in actions])
    rows = []
    for candidate in best:
        for i in range(len(actions)):
            used = (*candidate.used, i)
            if i in candidate.used or _clash(actions, used):
                continue
            for share in _TOGETHER[:4]:
                course = candidate.amounts / most
                course[i] = share
                rows.append(course)
    return np.array(rows).reshape(-1, len(actions))


def _best_of_sets(pool: Pool) -> list[Candidate]:
    """Return the best course of each set of actions, best set first; doing nothing is not a course."""
    mean = pool.loss
    seen: dict[tuple[int, ...], Candidate] = {}
    for k in np.argsort(mean, kind="stable"):
        candidate = Candidate(amounts=pool.amounts[k], loss=float(mean[k]))
        if candidate.used:
            seen.setdefault(candidate.used, candidate)
    return list(seen.values())


def _refine(
    table: Table, actions: Sequence[Action], start: Sequence[Candidate], most: Array
) -> tuple[list[Candidate], Pool]:
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
        tried = try_all(table, actions, np.array(batch).reshape(-1, len(actions)))
        seen.append(tried)
        moved = False
        for row_, mean, j in zip(tried.amounts, tried.loss, owner, strict=True):
            if mean < now[j].loss:
                now[j], moved = Candidate(amounts=row_, loss=float(mean)), True
        if not moved:
            stride /= 2
    return sorted(now, key=lambda c: c.loss), Pool.joined(seen)


def _turned_round(
    table: Table, actions: Sequence[Action], found: Sequence[Candidate], pool: Pool
) -> list[Candidate]:
    """Return the best few courses that boil and stir something in, with the boiling last, where that is better."""
    boil = next((i for i, a in enumerate(actions) if a.kind == "reduce"), None)
    lots = {i for i, a in enumerate(actions) if a.kind == "add-lot"}
    both = [c for c in found[:6] if boil in c.used and lots & set(c.used)]
    if boil is None or not both:
        return []
    order = (*(i for i in range(len(actions)) if i != boil), boil)
    amounts = np.stack([c.amounts for c in both])
    mean = judge(table, try_courses(table, actions, amounts, order), actions, amounts).expected()
    turned = [
        Candidate(amounts=c.amounts, loss=pool.foreseen(c.amounts, float(m)), order=order)
        for c, m in zip(both, mean, strict=True)
    ]
    # A trifle is no reason to do things in an unusual order.
    least = value("counsel.weight.action")
    return [t for t, c in zip(turned, both, strict=True) if t.loss < c.loss - least]
