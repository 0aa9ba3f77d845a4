"""Correct a pot: up to three courses, each with its expected result and band."""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel import aims, belief, reach, sentences
from inkhorn.counsel.actions import Action, menu
from inkhorn.counsel.checks import about_iron, check_first, quick_readings, to_know
from inkhorn.counsel.courses import Kept, Side, stands, told, worth_telling
from inkhorn.counsel.fresh import Cup, cups
from inkhorn.counsel.plain import steps_words
from inkhorn.counsel.result import Check, Counsel, Course, Fetch
from inkhorn.counsel.search import judge, search
from inkhorn.counsel.series import split_pot
from inkhorn.counsel.trial_run import DRAWS, Outcome, Table, lay_table, try_courses
from inkhorn.daybook.entries import Entry, Mark
from inkhorn.errors import CounselError
from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.load import value
from inkhorn.replay import composition, strokes
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS
from inkhorn.replay.target import Target

Array = NDArray[np.float64]
MOST_COURSES = 3
#: How many other liquors are tried for a fresh beginning: a matter of time.
_CUPS = 3


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
    plain = lay_table(post, vessel, goal, menu(post, vessel), as_=as_, keep=keep, on_a_cup=True)
    side = _looked_into(post, vessel, goal, as_, keep)
    afresh = tuple(
        _looked_into(cup.post, cup.name, goal, as_, keep, cup)
        for cup in cups(post, vessel, keep=keep)[:_CUPS]
    )
    return _Case(pot=side, afresh=afresh, plain=plain, as_=as_, exemplar=exemplar).counsel()


def _looked_into(
    post: Posterior, vessel: str, goal: Target, as_: str, keep: float, cup: Cup | None = None
) -> Side:
    """Return what can be done with one liquor, searched."""
    actions = menu(post, vessel)

    def lay(draws: int) -> tuple[Table, Outcome]:
        # Beside the page only what it looks like now can be judged by eye.
        table = lay_table(
            post, vessel, goal, actions, as_=as_, draws=draws, keep=keep, went_on=as_ == "now", on_a_cup=True
        )
        nothing = np.zeros((1, len(actions)))
        still = try_courses(table, actions, nothing)
        again = _as_warm_as_written(post, vessel, actions)
        written = None if again is None else try_courses(table, actions, again)
        return attrs.evolve(table, still=still, written=written), still

    table, _ = lay(DRAWS)
    wide, still = lay(post.draws.n)
    found, pool = search(table, actions)
    return Side(table=table, wide=wide, still=still, actions=actions, found=found, pool=pool, cup=cup)


def _concerns(entry: Entry) -> tuple[str, ...]:
    """Return the vessels that an entry does something to, or writes from."""
    return tuple(str(getattr(entry, key)) for key in ("vessel", "into") if hasattr(entry, key))


def _as_warm_as_written(post: Posterior, vessel: str, actions: Sequence[Action]) -> Array | None:
    """Return the course that only warms a liquor as its last line was, (1, A).

    None where that was not written warm, or something was done to the liquor since: then it is another ink.
    """
    done = [e.entry for e in post.problem.plan.entries if vessel in _concerns(e.entry)]
    last = done[-1] if done else None
    warmth = last.temperature if isinstance(last, Mark) else None
    warm = next((i for i, a in enumerate(actions) if a.kind == "warm"), None)
    if warmth is None or warm is None:
        return None
    now = float(np.median(post.played.world.vessels[vessel].temperature)) - ZERO_CELSIUS
    course = np.zeros((1, len(actions)))
    course[0, warm] = np.clip(warmth.value - now, 0.0, actions[warm].most)
    return course


@attrs.frozen(kw_only=True, eq=False)
class _Case:
    """One question put to counsel, with what is worked out on the way.

    Attributes
    ----------
    pot : Side
    afresh : tuple of Side
        Cups of other liquor that could stand in for it.
    plain : Table
        The pot's table that does not count that the maker went on: how the pot stands is told from it.
    """

    pot: Side
    afresh: tuple[Side, ...]
    plain: Table
    as_: str
    exemplar: str

    def counsel(self) -> Counsel:
        table, actions, found, pool = self.pot.table, self.pot.actions, self.pot.found, self.pot.pool
        nothing = np.zeros((1, len(actions)))
        as_is = try_courses(self.plain, actions, nothing)
        idle = float(judge(self.pot.wide, self.pot.still, actions, nothing).expected()[0])
        match = reach.match_chance(table, as_is)
        # What matches is left alone, whatever might be nearer still.
        matches = match >= value("counsel.enough")
        # What is told of a course counts that somebody who asks again has not found the last strip good. So does what is
        # told of the pot as it stands, or the two could not be held beside each other.
        here = as_is
        if not matches:
            here, match = self.pot.still, reach.match_chance(self.pot.wide, self.pot.still)
        kept = [] if matches else self._kept(idle)
        venture = not kept and not matches
        if venture:
            kept = self._kept(idle + value("counsel.venture"))[:1]
        courses = tuple(told(k, self.pot.still) for k in kept)
        reached = [reach.reachable(s.table, s.pool) for s in (self.pot, *self.afresh)]
        chance, nearly = (max(r[i] for r in reached) for i in (0, 1))
        far = nearly < value("counsel.unreachable")
        fetch = (
            reach.would_reach(table, actions, max(2 * chance, value("counsel.unreachable"))) if far else ()
        )
        wide, readings = self.pot.wide, quick_readings(self.pot.wide)
        checks = check_first(wide, actions, pool, readings, self._said)
        if not checks and not matches:
            # What will be written next, where that is the pot's own ink.
            following = kept[0].outcome if kept and kept[0].side is self.pot else self.pot.still
            checks = to_know(wide, following, readings)
        if not matches:
            asked = {c.reading for c in checks}
            checks += tuple(c for c in about_iron(self.pot.still, readings) if c.reading not in asked)
        stop = not courses and (not checks or matches)
        return Counsel(
            vessel=table.vessel,
            exemplar=self.exemplar,
            as_=self.as_,
            now=stands(here),
            match=match,
            courses=courses,
            reachable=chance,
            check_first=() if stop else checks,
            stop=stop,
            series=split_pot(table, actions, found, pool, self.pot.volume) if courses and not far else None,
            would_reach=fetch,
            believes=belief.beliefs(self.plain, as_is),
            because=belief.because(self.plain, as_is),
            would_change=belief.change([c.turns for c in checks]),
            note=self._note(courses, fetch, checks, as_is, far=far, stop=stop, venture=venture),
            tried=sum(s.pool.tried for s in (self.pot, *self.afresh)),
        )

    def _kept(self, idle: float) -> list[Kept]:
        """Return the best few courses of all sides, best first, that come to less than ``idle``.

        Beside the best only such as gain a fair share of what it gains: what changes next to nothing is no choice.
        """
        kept = [k for s in (self.pot, *self.afresh) for k in worth_telling(s, idle, MOST_COURSES)]
        kept.sort(key=lambda k: k.loss)
        least = value("counsel.alternative") * (idle - kept[0].loss) if kept else 0.0
        return [k for k in kept[:MOST_COURSES] if idle - k.loss >= least]

    def _said(self, amounts: Array) -> str:
        """Return in few words what one course is."""
        used = [self.pot.actions[int(i)] for i in np.flatnonzero(amounts > 0)]
        return sentences.gist(used)

    def _note(
        self,
        courses: Sequence[Course],
        fetch: Sequence[Fetch],
        checks: Sequence[Check],
        as_is: Outcome,
        *,
        far: bool,
        stop: bool,
        venture: bool,
    ) -> str:
        table, found, actions = self.pot.table, self.pot.found, self.pot.actions
        parts = []
        if far and found:
            mine = np.median(
                strokes.lab_on(reach.closest_looks(table, actions, found[0].amounts), table.goal.bare_rgb),
                axis=0,
            )
            theirs = np.median(strokes.lab_on(table.aim, table.goal.bare_rgb), axis=0)
            boiled = any(actions[i].kind == "reduce" for i in found[0].used)
            parts.append(sentences.out_of_reach_words(mine, theirs, most_boiled=boiled, known=bool(fetch)))
            parts.extend(f.sentence for f in fetch)
        if not courses:
            parts.append(
                sentences.leave_words(
                    as_is.distance[0], reach.match_chance(table, as_is), stop=stop, checks=bool(checks)
                )
            )
        elif venture:
            parts.append(sentences.venture_words())
        if aims.is_browned(table) or self.as_ == "new":
            parts.extend(self._aim_words())
        if table.goal.tolerance > value("counsel.match"):
            parts.append(
                f"The page's own letters differ by {steps_words(table.goal.tolerance)}: "
                "what comes nearer than that is a match."
            )
        return " ".join(p for p in parts if p)

    def _aim_words(self) -> list[str]:
        """Return what aiming at the page now or new does, and a warning where it would do harm."""
        table, actions, found = self.plain, self.pot.actions, self.pot.found
        theirs = aims.other(table, actions, self.as_)
        their_found, _ = search(theirs, actions)
        words = []
        if found and their_found:
            words.append(
                aims.choice_words(table, actions, found[0].amounts, theirs, their_found[0].amounts, self.as_)
            )
        words.append(aims.harm_words(self.pot.pool, actions, found))
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
