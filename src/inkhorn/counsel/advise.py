"""Correct a pot: up to three courses, each with its expected result and band."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel import sentences
from inkhorn.counsel.actions import Action, menu, sensible
from inkhorn.counsel.checks import check_first
from inkhorn.counsel.result import Counsel, Course, Standing
from inkhorn.counsel.search import Candidate, Pool, losses, search
from inkhorn.counsel.trial_run import Outcome, Table, lay_table, try_courses
from inkhorn.errors import CounselError
from inkhorn.estimate.figures import figure
from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.cautions import cautions_for
from inkhorn.handbook.load import value
from inkhorn.replay import composition, strokes
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS
from inkhorn.replay.steps.heat import simmer_rate

Array = NDArray[np.float64]
MOST_COURSES = 3


def advise(post: Posterior, vessel: str, exemplar: str, *, as_: str = "now") -> Counsel:
    """Say what to do with a pot so that its dry stroke comes to the exemplar.

    Parameters
    ----------
    post : Posterior
        The estimate's draws.
    vessel, exemplar : str
        Names of the pot and of the page.
    as_ : str
        ``"now"`` for the page as it looks now, ``"new"`` as it was when new.

    Raises
    ------
    CounselError
        If the pot or the page is unknown, empty, withheld, or not measured yet.
    """
    _check(post, vessel, exemplar, as_)
    goal = post.problem.plan.scene.targets[exemplar]
    actions = menu(post, vessel)
    table = lay_table(post, vessel, goal, actions, as_=as_)
    nothing = np.zeros((1, len(actions)))
    still = try_courses(table, actions, nothing)
    found, pool = search(table, actions)
    idle_loss = float(losses(still, actions, nothing).mean())
    courses = _courses(table, actions, found, still, idle_loss)
    reachable, nearly = _reachable(table, actions, pool)
    note = _note(table, actions, courses, found, nearly, still, as_)
    return Counsel(
        vessel=vessel,
        exemplar=exemplar,
        as_=as_,
        now=_standing(still, 0),
        courses=tuple(courses),
        reachable=reachable,
        check_first=check_first(table, actions, pool, post.seed),
        note=note,
        tried=pool.tried,
    )


def _check(post: Posterior, vessel: str, exemplar: str, as_: str) -> None:
    world = post.played.world
    state = world.vessels.get(vessel)
    if as_ not in ("now", "new"):
        raise CounselError(f"the page cannot be taken as {as_!r}", mend="Say as now, or as new")
    if state is None:
        known = ", ".join(world.vessels) or "none yet"
        raise CounselError(f"there is no vessel {vessel!r}", mend=f"Vessels of this daybook: {known}")
    if state.withheld:
        raise CounselError(state.withheld, where=vessel, mend="Ask about another vessel")
    if not np.median(composition.volume(state.liquor, state.temperature)) > 0:
        raise CounselError(f"{vessel} is empty", mend="Ask about a vessel that holds ink")
    if exemplar not in post.problem.plan.scene.targets:
        known = ", ".join(post.problem.plan.scene.targets) or "none yet"
        raise CounselError(
            f"there is no measured exemplar {exemplar!r}",
            mend=f"Measured exemplars: {known}. Add a picture of the page with inkhorn exemplar",
        )


def _standing(outcome: Outcome, k: int) -> Standing:
    return Standing(
        distance=figure(outcome.distance[k], "1"),
        flow_ok=float(outcome.flow_ok[k].mean()),
        permanence_ok=float(outcome.permanence_ok[k].mean()),
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


def _courses(
    table: Table, actions: Sequence[Action], found: Sequence[Candidate], still: Outcome, idle: float
) -> list[Course]:
    """Return the best few courses that beat doing nothing and each other's sets of actions."""
    volume = float(np.median(still.volume[0]))
    better = [c for c in found if c.loss < idle][: 2 * MOST_COURSES]
    if not better:
        return []
    # Rounding can drop a trifle and make two courses one.
    rounded = {tuple(_rounded(actions, c.amounts, volume)) for c in better}
    amounts = np.array(sorted(rounded))
    outcome = try_courses(table, actions, amounts)
    loss = losses(outcome, actions, amounts).mean(axis=1)
    order = [int(k) for k in np.argsort(loss, kind="stable") if loss[k] < idle and amounts[k].any()]
    # Three courses should be three things to do, not one thing three times a little otherwise.
    first = {tuple(amounts[k] > 0): k for k in reversed(order)}
    order = [k for k in order if first[tuple(amounts[k] > 0)] == k]
    # Nor one thing, and then the same with a trifle more to do that brings nothing.
    order = [
        k
        for place, k in enumerate(order)
        if not any(np.all((amounts[k] > 0) >= (amounts[j] > 0)) for j in order[:place])
    ]
    return [_course(table, actions, amounts[k], outcome, k, still) for k in order[:MOST_COURSES]]


def _course(
    table: Table, actions: Sequence[Action], amounts: Array, outcome: Outcome, k: int, still: Outcome
) -> Course:
    volume = float(np.median(still.volume[0]))
    used = [int(i) for i in np.flatnonzero(amounts > 0)]
    state = table.post.played.world.vessels[table.vessel]
    warmed = float(np.median(state.temperature))
    clauses: list[str] = []
    entries: list[dict[str, Any]] = []
    cautions: list[str] = []
    running = volume
    for i in used:
        action, amount = actions[i], float(amounts[i])
        if action.kind == "warm":
            amount = round(amount + warmed - ZERO_CELSIUS)
        seconds = running * amount / simmer_rate() if action.kind == "reduce" else 0.0
        clauses.append(sentences.action_words(action, amount, running, seconds))
        entry = action.entry(amount, running)
        entries.append(entry)
        cautions.extend(cautions_for(entry, [action.material] if action.material else []))
        if action.unit == "ml":
            running += amount
    has_iron = bool(np.median(composition.iron_total(state.liquor)) > 0)
    standing = _standing(outcome, k)
    return Course(
        actions=tuple(entries),
        sentence=sentences.course_sentence(clauses, [actions[i] for i in used], has_iron=has_iron),
        why=sentences.why_words(
            still.distance[0],
            outcome.distance[k],
            standing.flow_ok,
            standing.permanence_ok,
            float(np.median(outcome.volume[k])),
        ),
        standing=standing,
        density_band={c: figure(outcome.strip[k, :, i], "1") for i, c in enumerate(strokes.CHANNELS)},
        cautions=_closing_last(cautions),
    )


def _closing_last(texts: Sequence[str]) -> tuple[str, ...]:
    unique = list(dict.fromkeys(texts))
    if not unique:
        return ()
    closing = texts[-1]
    return (*(t for t in unique if t != closing), closing)


def _reachable(table: Table, actions: Sequence[Action], pool: Pool) -> tuple[float, float]:
    """Return the chances that some course tried brings the pot within a match, and within twice that.

    Limits on flow and iron are kept. On each draw the best course for that
    draw counts: what somebody who knew the pot could do with it.
    """
    # numbers-in-code: how many courses of the pool are tried again, a matter of time
    best = pool.loss.mean(axis=1).argsort()[:400]
    # numbers-in-code: as above, spread over all the rest
    spread = np.unique(np.concatenate([best, np.linspace(0, len(pool.loss) - 1, 200).astype(int)]))
    parts = [try_courses(table, actions, pool.amounts[some]) for some in np.array_split(spread, 4)]
    distance = np.concatenate([p.distance for p in parts])
    safe = np.concatenate([p.flow_ok & p.permanence_ok for p in parts])
    near = np.where(safe, distance, np.inf).min(axis=0)
    # A page whose own letters differ by more is matched by anything that lies among them.
    match = max(value("counsel.match"), table.goal.tolerance)
    return float((near <= match).mean()), float((near <= 2 * match).mean())


def _note(
    table: Table,
    actions: Sequence[Action],
    courses: Sequence[Course],
    found: Sequence[Candidate],
    nearly: float,
    still: Outcome,
    as_: str,
) -> str:
    parts = []
    if nearly < value("counsel.unreachable") and found:
        outcome = try_courses(table, actions, found[0].amounts[None])
        mine = np.median(strokes.lab_on(outcome.density[0], table.goal.bare_rgb), axis=0)
        theirs = np.median(strokes.lab_on(table.aim, table.goal.bare_rgb), axis=0)
        boiled = any(actions[i].kind == "reduce" for i in found[0].used)
        parts.append(sentences.out_of_reach_words(mine, theirs, most_boiled=boiled))
    if not courses:
        words = sentences.difference_words(float(np.median(still.distance[0])))
        parts.append(f"Nothing on the bench is expected to do better than leaving the pot as it is: {words}.")
    if as_ == "new":
        parts.append(
            "You aim at the page as it was when new, which is itself uncertain; iron in excess would brown it sooner."
        )
    elif float(np.median(table.goal.density[2] - table.goal.density[0])) > value("counsel.brown"):
        parts.append(
            "The page has browned: matching an aged brown with fresh ink asks for less iron and more brown "
            "extract, not for more iron."
        )
    if table.goal.tolerance > value("counsel.match"):
        parts.append(
            f"The page's own letters differ by about {table.goal.tolerance:.0f} steps of colour: "
            "what comes nearer than that is a match."
        )
    return " ".join(parts)
