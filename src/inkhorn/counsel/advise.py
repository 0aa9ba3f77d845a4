"""Correct a pot: up to three courses, each with its expected result and band."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel import aims, belief, plain, reach, sentences
from inkhorn.counsel.actions import Action, menu, sensible
from inkhorn.counsel.checks import check_first
from inkhorn.counsel.result import Check, Counsel, Course, Fetch, Standing
from inkhorn.counsel.search import Candidate, Pool, losses, search
from inkhorn.counsel.series import split_pot
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


def advise(post: Posterior, vessel: str, exemplar: str, *, as_: str = "now", keep: float = 0.0) -> Counsel:
    """Say what to do with a pot so that its dry stroke comes to the exemplar.

    Parameters
    ----------
    post : Posterior
        The estimate's draws.
    vessel, exemplar : str
        Names of the pot and of the page.
    as_ : str
        ``"now"`` for the page as it looks now, ``"new"`` as it was when new.
    keep : float
        How much ink must be left for what is still to be written, ml; 0 where nobody said.

    Raises
    ------
    CounselError
        If the pot or the page is unknown, empty, withheld, or not measured yet.
    """
    _check(post, vessel, exemplar, as_)
    goal = post.problem.plan.scene.targets[exemplar]
    actions = menu(post, vessel)
    table = lay_table(post, vessel, goal, actions, as_=as_, keep=keep)
    return _Case(table=table, actions=actions, as_=as_, exemplar=exemplar).counsel()


@attrs.frozen(kw_only=True, eq=False)
class _Case:
    """One question put to counsel, with what is worked out on the way."""

    table: Table
    actions: tuple[Action, ...]
    as_: str
    exemplar: str

    def counsel(self) -> Counsel:
        table, actions = self.table, self.actions
        nothing = np.zeros((1, len(actions)))
        still = try_courses(table, actions, nothing)
        found, pool = search(table, actions)
        idle = float(losses(table, still, actions, nothing).mean())
        volume = float(np.median(still.volume[0]))
        courses = _courses(table, actions, found, pool, still, idle)
        chance, nearly = reach.reachable(table, pool)
        far = nearly < value("counsel.unreachable")
        fetch = (
            reach.would_reach(table, actions, max(2 * chance, value("counsel.unreachable"))) if far else ()
        )
        checks = check_first(table, pool, lambda k: self._said(pool.amounts[k]))
        match = reach.match_chance(table, still)
        stop = not courses and (not checks or match >= value("counsel.enough"))
        return Counsel(
            vessel=table.vessel,
            exemplar=self.exemplar,
            as_=self.as_,
            now=_standing(still, 0),
            match=match,
            courses=tuple(courses),
            reachable=chance,
            check_first=() if stop else checks,
            stop=stop,
            series=split_pot(table, actions, found, pool, volume) if courses and not far else None,
            would_reach=fetch,
            believes=belief.beliefs(table, still),
            because=belief.because(table, still),
            would_change=belief.change([c.turns for c in checks]),
            note=self._note(pool, courses, found, fetch, checks, still, far=far, stop=stop),
            tried=pool.tried,
        )

    def _said(self, amounts: Array) -> str:
        """Return in few words what one course is."""
        used = [self.actions[int(i)] for i in np.flatnonzero(amounts > 0)]
        return sentences.gist(used)

    def _note(
        self,
        pool: Pool,
        courses: Sequence[Course],
        found: Sequence[Candidate],
        fetch: Sequence[Fetch],
        checks: Sequence[Check],
        still: Outcome,
        *,
        far: bool,
        stop: bool,
    ) -> str:
        table = self.table
        parts = []
        if far and found:
            mine = np.median(
                strokes.lab_on(
                    reach.closest_looks(table, self.actions, found[0].amounts), table.goal.bare_rgb
                ),
                axis=0,
            )
            theirs = np.median(strokes.lab_on(table.aim, table.goal.bare_rgb), axis=0)
            boiled = any(self.actions[i].kind == "reduce" for i in found[0].used)
            parts.append(sentences.out_of_reach_words(mine, theirs, most_boiled=boiled, known=bool(fetch)))
            parts.extend(f.sentence for f in fetch)
        if not courses:
            parts.append(
                sentences.leave_words(
                    still.distance[0], reach.match_chance(table, still), stop=stop, checks=bool(checks)
                )
            )
        if aims.is_browned(table) or self.as_ == "new":
            parts.extend(self._aim_words(pool, found))
        if table.goal.tolerance > value("counsel.match"):
            parts.append(
                f"The page's own letters differ by about {table.goal.tolerance:.0f} steps of colour: "
                "what comes nearer than that is a match."
            )
        return " ".join(p for p in parts if p)

    def _aim_words(self, pool: Pool, found: Sequence[Candidate]) -> list[str]:
        """Return what aiming at the page now or new does, and a warning where it would do harm."""
        theirs = aims.other(self.table, self.actions, self.as_)
        their_found, _ = search(theirs, self.actions)
        words = []
        if found and their_found:
            words.append(
                aims.choice_words(
                    self.table, self.actions, found[0].amounts, theirs, their_found[0].amounts, self.as_
                )
            )
        words.append(aims.harm_words(pool, self.actions, found))
        return words


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
    table: Table,
    actions: Sequence[Action],
    found: Sequence[Candidate],
    pool: Pool,
    still: Outcome,
    idle: float,
) -> list[Course]:
    """Return the best few courses that beat doing nothing and each other's sets of actions."""
    volume = float(np.median(still.volume[0]))
    better = [c for c in found if c.loss < idle][: 3 * MOST_COURSES]
    # Rounding can drop a trifle and make two courses one.
    rounded = {(tuple(_rounded(actions, c.amounts, volume)), c.order) for c in better}
    tried = []
    for row, order in sorted(rounded, key=str):
        amounts = np.array(row)
        if not amounts.any():
            continue
        outcome = try_courses(table, actions, amounts[None], order)
        loss = float(losses(table, outcome, actions, amounts[None]).mean())
        if not _harms(outcome, still) and pool.foreseen(amounts, loss) < idle:
            tried.append(
                (pool.foreseen(amounts, loss), Candidate(amounts=amounts, loss=loss, order=order), outcome)
            )
    tried.sort(key=lambda one: one[0])
    # Three courses should be three things to do, not one thing three times a little otherwise;
    # nor one thing, and then the same with a trifle more to do that brings nothing.
    kept: list[tuple[Candidate, Outcome]] = []
    for _, candidate, outcome in tried:
        if not any(set(candidate.used) >= set(other.used) for other, _ in kept):
            kept.append((candidate, outcome))
    return [_course(table, actions, c, outcome, still) for c, outcome in kept[:MOST_COURSES]]


def _harms(outcome: Outcome, still: Outcome) -> bool:
    """Say whether a course would all but surely leave more iron than the tannin holds, and more than there is now.

    Where iron is in excess already its limit is broken either way, and the loss alone would not mind more of it.
    """
    lasting = float(outcome.permanence_ok[0].mean())
    # numbers-in-code: boiling, too, loses a little tannin; a tenth more iron is a difference
    worse = float(np.median(outcome.iron_ratio[0])) > 1.1 * float(np.median(still.iron_ratio[0]))
    return worse and lasting < value("counsel.lasting_least")


def _course(
    table: Table, actions: Sequence[Action], candidate: Candidate, outcome: Outcome, still: Outcome
) -> Course:
    volume = float(np.median(still.volume[0]))
    amounts = candidate.amounts
    order = candidate.order if candidate.order is not None else range(len(actions))
    used = [int(i) for i in order if amounts[i] > 0]
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
        elif action.kind == "reduce":
            running *= 1 - amount
    has_iron = bool(np.median(composition.iron_total(state.liquor)) > 0)
    standing = _standing(outcome, 0)
    return Course(
        actions=tuple(entries),
        sentence=sentences.course_sentence(clauses, [actions[i] for i in used], has_iron=has_iron),
        why=sentences.why_words(
            still.distance[0],
            outcome.distance[0],
            standing.flow_ok,
            standing.permanence_ok,
            sentences.left_words(float(np.median(outcome.volume[0])), _page(table), table.keep),
        ),
        standing=standing,
        match=reach.match_chance(table, outcome),
        density_band={c: figure(outcome.strip[0, :, i], "1") for i, c in enumerate(strokes.CHANNELS)},
        cautions=_closing_last(cautions),
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
