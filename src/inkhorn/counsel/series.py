"""A split-pot series: three small cups with different additions, where that teaches more than one pot.

Working on the pot itself, one course is done and its strip then says how to go
on, but what was stirred in is in. With cups the pot waits untouched while three
strips are read side by side. Both are weighed by the same rule: the expected
loss of the course chosen after the strips (`inkhorn.counsel.worth`).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.actions import GRAM, ML, Action, sensible, written
from inkhorn.counsel.plain import steps_words
from inkhorn.counsel.result import Series
from inkhorn.counsel.search import Candidate, Pool
from inkhorn.counsel.trial_run import Table
from inkhorn.counsel.worth import chosen
from inkhorn.handbook.load import value

Array = NDArray[np.float64]
CUPS = 3
# numbers-in-code: how many courses a cup may be, and every which draw is used: matters of time
_CONSIDERED, _EVERY = 24, 2


def split_pot(
    table: Table, actions: Sequence[Action], found: Sequence[Candidate], pool: Pool, volume: float
) -> Series | None:
    """Return a series of three cups, or None where working on the pot is as good.

    Parameters
    ----------
    found : sequence of Candidate
        Courses for the whole pot, best first.
    volume : float
        What the pot holds, ml.
    """
    cup = value("counsel.cup.ml")
    if not found or CUPS * cup > value("counsel.cup.share") * volume:
        return None
    cups = _measurable(actions, pool, cup / volume)
    if len(cups) < CUPS:
        return None
    rng = np.random.default_rng(np.random.SeedSequence([table.post.seed, pool.tried, CUPS]))
    kept = np.union1d(pool.contenders(), cups)
    rows, pool = [int(i) for i in np.searchsorted(kept, cups)], pool.only(kept).thinned(_EVERY)
    noise = rng.standard_normal((pool.distance.shape[1], 3 * CUPS))
    sd = float(np.hypot(value("counsel.check.photo.error"), np.std(table.luck) * pool.density.mean()))
    first = int(np.argmin(np.abs(pool.amounts - found[0].amounts).sum(axis=1)))
    alone = chosen(pool.density[first], sd, pool.judged, noise[:, :3], pool.open_after(pool.amounts[first]))
    picked: list[int] = []
    best = -np.inf
    for _ in range(CUPS):
        gains = [(_fall(pool, (*picked, k), sd, noise), k) for k in rows if k not in picked]
        best, k = max(gains)
        picked.append(k)
    gain = best - alone.gain(pool.judged)
    if gain < value("counsel.cup.gain"):
        return None
    picked.sort(key=lambda k: pool.density[k].mean())
    return _series(table, actions, pool, picked, cup, volume, gain)


def _fall(pool: Pool, rows: Sequence[int], sd: float, noise: Array) -> float:
    foreseen = np.concatenate([pool.density[k] for k in rows], axis=1)
    return chosen(foreseen, sd, pool.judged, noise[:, : foreseen.shape[1]]).gain(pool.judged)


def _measurable(actions: Sequence[Action], pool: Pool, share: float) -> list[int]:
    """Return good and different courses of the pool whose amounts could still be measured out for one cup."""
    least = {GRAM: value("counsel.cup.least_g"), ML: value("counsel.cup.least_ml")}
    floor = np.array([least.get(a.unit, 0.0) for a in actions])
    warm = np.array([a.kind == "warm" for a in actions])
    small = pool.amounts * share
    trifling = ((pool.amounts > 0) & (small < floor)).any(axis=1)
    can = np.asarray(~trifling & ~(pool.amounts[:, warm] > 0).any(axis=1))
    mean = pool.loss
    out: list[int] = []
    for k in np.argsort(mean, kind="stable"):
        look = pool.density[k].mean(axis=0)
        near = [np.abs(look - pool.density[j].mean(axis=0)).max() for j in out]
        if can[k] and (not near or min(near) > value("counsel.cup.apart")):
            out.append(int(k))
        if len(out) == _CONSIDERED:
            break
    return out


def _series(
    table: Table, actions: Sequence[Action], pool: Pool, rows: Sequence[int], cup: float, volume: float,
    gain: float,
) -> Series:  # fmt: skip
    cups, told = [], []
    for i, k in enumerate(rows):
        name = f"{table.vessel}-cup-{i + 1}"
        entries: list[dict[str, object]] = [
            {"kind": "pour", "from": table.vessel, "into": name, "amount": written(cup, ML)}
        ]
        words = []
        running = cup
        for j in (int(i) for i in np.flatnonzero(pool.amounts[k] > 0)):
            action, amount = actions[j], float(pool.amounts[k, j])
            small = amount if action.kind == "reduce" else sensible(amount * cup / volume)
            entry = action.entry(small, running)
            entry = {key: (name if v == table.vessel else v) for key, v in entry.items()}
            entries.append(entry)
            words.append(_words(action, small, running))
            running += small if action.unit == ML else -small * running if action.kind == "reduce" else 0.0
        told.append(f"{i + 1}: {', '.join(words) or 'as it is'}")
        cups.append(tuple(entries))
    sentence = (
        f"Draw off {CUPS} cups of {cup:g} ml and leave the pot. Cup {'; cup '.join(told)}. Write a line with each, "
        f"let them dry and photograph them together: that should bring you {steps_words(gain)} nearer than "
        "working on the pot straight away."
    )
    return Series(cups=tuple(cups), sentence=sentence, gain=gain)


def _words(action: Action, amount: float, running: float) -> str:
    name = action.what.replace("-", " ")
    if action.kind == "reduce":
        return f"boil down to {sensible(running * (1 - amount)):g} ml"
    return f"{amount:g} {action.unit} of {name}"
