"""From the candidates of a search to courses as they are told: rounded, weighed once more, in words."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel import plain, reach, sentences
from inkhorn.counsel.actions import GRAM, ML, Action, sensible
from inkhorn.counsel.fresh import Cup, free_name
from inkhorn.counsel.result import Course, Standing
from inkhorn.counsel.search import Candidate, Pool, judge
from inkhorn.counsel.trial_run import Outcome, Table, harms, try_courses
from inkhorn.estimate.figures import figure
from inkhorn.handbook.cautions import cautions_for
from inkhorn.handbook.load import value
from inkhorn.replay import composition, strokes
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS
from inkhorn.replay.steps.heat import simmer_rate

Array = NDArray[np.float64]
# numbers-in-code: how many of the best on few draws are weighed on all, a matter of time
_WEIGHED_AGAIN = 24


@attrs.frozen(kw_only=True, eq=False)
class Side:
    """One liquor to begin from, searched: the pot as it is, or a fresh cup.

    Attributes
    ----------
    table, wide : Table
        The draws that it was searched on, and all draws: of many courses tried on few draws the best looks
        better than it is, so the best few are weighed again on all.
    still : Outcome
        Of doing nothing to it, as course 0, on all draws.
    cup : Cup or None
        Where it is a fresh cup, that.
    """

    table: Table
    wide: Table
    still: Outcome
    actions: tuple[Action, ...]
    found: Sequence[Candidate]
    pool: Pool
    cup: Cup | None = None

    @property
    def volume(self) -> float:
        """Return what it holds, ml."""
        return self.wide.ml


@attrs.frozen(kw_only=True, eq=False)
class Kept:
    """A course worth telling: what it comes to with what it rules out, and where it begins."""

    loss: float
    side: Side
    candidate: Candidate
    outcome: Outcome


def stands(outcome: Outcome) -> Standing:
    """Return how the first course tried does."""
    return Standing(
        distance=figure(outcome.distance[0], "1"),
        flow_ok=float(outcome.flow_ok[0].mean()),
        permanence_ok=float(outcome.permanence_ok[0].mean()),
    )


def _rounded(actions: Sequence[Action], amounts: Array, volume: float) -> Array:
    """Return amounts as a maker would measure them, never more than there is."""
    out = amounts.copy()
    for i in (int(j) for j in np.flatnonzero(amounts > 0)):
        action = actions[i]
        if action.kind == "reduce":
            out[i] = 1.0 - sensible(volume * (1.0 - amounts[i])) / volume
        elif action.kind == "warm":
            out[i] = np.round(amounts[i])
        else:
            out[i] = sensible(amounts[i])
            if out[i] > action.most:
                out[i] = sensible(action.most, down=True)
        out[i] = min(max(out[i], 0.0), action.most)
    return out


def worth_telling(side: Side, idle: float, most: int) -> list[Kept]:
    """Return the best few courses of one side that beat doing nothing and each other's sets of actions.

    Parameters
    ----------
    idle : float
        What leaving the pot as it is comes to.
    most : int
        How many.
    """
    extra = value("counsel.weight.fresh") if side.cup is not None else 0.0
    # On the draws that stand for it, it may be all but dried up.
    if not side.volume > 0:
        return []
    better = side.found[:_WEIGHED_AGAIN]
    # Rounding can drop a trifle and make two courses one.
    rounded = {(tuple(_rounded(side.actions, c.amounts, side.volume)), c.order) for c in better}
    tried = [k for order in {order for _, order in rounded} for k in _weighed(side, rounded, order, extra)]
    tried = [k for k in tried if k.loss < idle]
    tried.sort(key=lambda one: (one.loss, str(one.candidate.amounts)))
    # Three courses should be three things to do, not one thing three times a little otherwise;
    # nor one thing, and then the same with a trifle more to do that brings nothing.
    kept: list[Kept] = []
    for one in tried:
        if not any(set(one.candidate.used) >= set(other.candidate.used) for other in kept):
            kept.append(one)
    return kept[:most]


def _weighed(
    side: Side,
    rounded: Collection[tuple[tuple[float, ...], tuple[int, ...] | None]],
    order: tuple[int, ...] | None,
    extra: float,
) -> list[Kept]:
    """Return the courses of one order, tried on all draws, but those that do nothing or harm."""
    rows = sorted(row for row, how in rounded if how == order and any(row))
    if not rows:
        return []
    amounts = np.array(rows)
    every = try_courses(side.wide, side.actions, amounts, order)
    losses = judge(side.wide, every, side.actions, amounts).expected()
    bad = harms(every, side.wide)
    return [
        Kept(
            loss=side.pool.foreseen(amounts[k], float(losses[k])) + extra,
            side=side,
            candidate=Candidate(amounts=amounts[k], loss=float(losses[k]), order=order),
            outcome=every.only(int(k)),
        )
        for k in np.flatnonzero(~bad)
    ]


def told(one: Kept, now: Outcome) -> Course:
    """Return a course in words and entries; ``now`` is how the pot stands as it is."""
    side, outcome = one.side, one.outcome
    table = side.wide
    steps = _steps(one, table.vessel, side.volume, 1.0)
    begun = side.cup
    state = table.post.played.world.vessels[table.vessel]
    has_iron = bool(np.median(composition.iron_total(state.liquor)) > 0)
    standing = stands(outcome)
    match = reach.match_chance(table, outcome)
    first = _on_a_cup(one) if begun is None and match < value("counsel.enough") else None
    sentence = sentences.course_sentence(
        [*([begun.clause] if begun is not None else []), *steps.clauses], steps.actions, has_iron=has_iron
    )
    return Course(
        vessel=table.vessel,
        actions=(*(begun.entries if begun is not None else ()), *steps.entries),
        cup=first.entries if first is not None else (),
        sentence=sentence if first is None else f"{sentence} {first.sentence}",
        why=sentences.why_words(
            now.distance[0],
            outcome.distance[0],
            standing.flow_ok,
            standing.permanence_ok,
            sentences.left_words(float(np.median(outcome.volume[0])), _page(table), table.keep),
        ),
        standing=standing,
        match=match,
        density_band={c: figure(outcome.strip[0, :, i], "1") for i, c in enumerate(strokes.CHANNELS)},
        cautions=_closing_last(steps.cautions),
    )


@attrs.frozen(kw_only=True)
class _Steps:
    """The steps of a course in order: in words, as entries, with their cautions."""

    clauses: tuple[str, ...]
    entries: tuple[dict[str, Any], ...]
    cautions: tuple[str, ...]
    actions: tuple[Action, ...]


def _steps(one: Kept, vessel: str, volume: float, share: float) -> _Steps:
    """Return the steps of a course done to ``volume`` ml in a vessel, amounts being a ``share`` of what they are."""
    side, amounts = one.side, one.candidate.amounts
    order = one.candidate.order if one.candidate.order is not None else range(len(side.actions))
    used = [int(i) for i in order if amounts[i] > 0]
    state = side.wide.post.played.world.vessels[side.wide.vessel]
    warmed = float(np.median(state.temperature))
    clauses: list[str] = []
    entries: list[dict[str, Any]] = []
    cautions: list[str] = []
    running = volume
    for i in used:
        action, amount = attrs.evolve(side.actions[i], vessel=vessel), float(amounts[i])
        if action.unit in (GRAM, ML) and share < 1:
            amount = sensible(amount * share)
        if action.kind == "warm":
            amount = round(amount + warmed - ZERO_CELSIUS)
        seconds = running * amount / simmer_rate(running) if action.kind == "reduce" else 0.0
        clauses.append(sentences.action_words(action, amount, running, seconds))
        entry = action.entry(amount, running)
        entries.append(entry)
        cautions.extend(cautions_for(entry, [action.material] if action.material else []))
        if action.unit == ML:
            running += amount
        elif action.kind == "reduce":
            running *= 1 - amount
    return _Steps(
        clauses=tuple(clauses),
        entries=tuple(entries),
        cautions=tuple(cautions),
        actions=tuple(side.actions[i] for i in used),
    )


@attrs.frozen(kw_only=True)
class _Tried:
    """A course of the pot tried on a cup of it first: entries, and that in a sentence."""

    entries: tuple[dict[str, Any], ...]
    sentence: str


def _on_a_cup(one: Kept) -> _Tried | None:
    """Return a course as it is tried on a cup of the pot first; None where it can be taken back or the pot is but a cup."""
    side, amounts = one.side, one.candidate.amounts
    for_good = [i for i in np.flatnonzero(amounts > 0) if side.actions[i].for_good]
    least = {GRAM: value("counsel.cup.least_g"), ML: value("counsel.cup.least_ml")}
    if not for_good:
        return None
    share = max(
        value("counsel.fresh.share"),
        value("counsel.cup.ml") / side.volume,
        *(least[side.actions[i].unit] / float(amounts[i]) for i in for_good),
    )
    if share > value("counsel.cup.share"):
        return None
    ml = sensible(share * side.volume)
    name = free_name(side.wide.post, side.wide.vessel)
    cup = Cup(source=side.wide.vessel, name=name, ml=ml, post=side.wide.post)
    steps = _steps(one, name, ml, ml / side.volume)
    return _Tried(
        entries=(*cup.entries, *steps.entries), sentence=sentences.cup_first(cup.drawn, steps.clauses)
    )


def _page(table: Table) -> float:
    """Return ml of ink that a page takes with the pen that this ink is written with."""
    pen = f"pens.{table.hand.pen_kind or 'goose-quill'}"
    thing = table.post.problem.plan.shelf.pens.get(table.hand.tool)
    width = thing.width.value if thing is not None and thing.width is not None else value(f"{pen}.width")
    return float(plain.ink_a_page(film=value(f"{pen}.film"), width=width))


def _closing_last(texts: Sequence[str]) -> tuple[str, ...]:
    unique = list(dict.fromkeys(texts))
    if not unique:
        return ()
    closing = texts[-1]
    return (*(t for t in unique if t != closing), closing)
