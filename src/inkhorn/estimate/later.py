r"""How a stroke will look later: in an hour, in a day, dry; whether it has finished; when to look again.

The colour of a stroke comes over hours (`inkhorn.chemistry.darkening`). Each draw
has its own course of it, so that what is left at a time is a band too:

* *finished*: the probability that the change still to come, CIEDE2000 from then
  to dry, is below what the eye sees (row ``knowing.noticeable``);
* *look again*: the first time at which that probability reaches
  ``knowing.sure``. Where the final colour cannot be told yet, the first time at
  which one more reading would tell it: with ``D`` the dry density, ``d_t`` that
  at the time and ``e`` the error of a reading, what is left of the variance is
  ``var D - cov(D, d_t)^2 / (var d_t + e^2)`` (linear regression);
* *not identifiable*: the 90 % band of the dry density is wider than
  ``knowing.close.dry_optical_density``, what it hangs on is the growth since the
  last look (squared rank correlation above ``knowing.explains``), and of the prior
  variance of that growth more than ``knowing.prior_left`` is left: the readings
  came too early to say where it ends.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Any, Literal

import attrs
import numpy as np
from scipy.special import ndtri

from inkhorn.colour.difference import ciede2000
from inkhorn.daybook.entries import Reading
from inkhorn.errors import EstimateError
from inkhorn.estimate import contents, weighing
from inkhorn.estimate.evidence.base import Array
from inkhorn.estimate.figures import Figure, figure
from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.load import value
from inkhorn.replay import strokes, target
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import seconds_since
from inkhorn.replay.world import TrialState

State = Literal["finished", "darkening", "not identifiable"]
HOUR, DAY = 3600.0, 86400.0
#: How far ahead is looked for an end, s: a year of days.
FARTHEST = DAY * 1000
_ROUNDS = 40  # numbers-in-code: rounds of a bisection
#: Width of the 90 % band of a normal, in standard deviations.
_BAND = float(ndtri(0.95) - ndtri(0.05))  # numbers-in-code: the 90 % band
_COLOURS = frozenset({"optical_density", "photo", "lab", "depth", "hue", "than"})


@attrs.frozen(kw_only=True)
class Moment:
    """How a stroke looks ``after`` so many seconds, or dry (None); ``left`` is the change still to come, CIEDE2000."""

    after: float | None
    optical_density: dict[str, Figure]
    lab: dict[str, Figure]
    left: Figure

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "after": "dry" if self.after is None else self.after,
            "optical_density": {k: f.to_dict() for k, f in self.optical_density.items()},
            "lab": {k: f.to_dict() for k, f in self.lab.items()},
            "left": self.left.to_dict(),
        }


@attrs.frozen(kw_only=True)
class Course:
    """Where a trial is on its way: its age, s, how likely it is finished, and when to look again, s after it was made."""

    made: datetime
    age: float
    finished: float
    state: State
    look_again: float | None

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        again = None if self.look_again is None else self.made + timedelta(seconds=round(self.look_again))
        return {
            "made": self.made.isoformat(),
            "age": self.age,
            "finished": self.finished,
            "state": self.state,
            "look_again": self.look_again,
            "look_again_at": None if again is None else again.isoformat(),
        }


@attrs.frozen(kw_only=True)
class Prediction:
    """How a stroke of a vessel made now, or a trial, will look."""

    of: str
    ess: float
    moments: tuple[Moment, ...]
    course: Course | None = None

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "of": self.of,
            "ess": round(self.ess, 1),
            "moments": [m.to_dict() for m in self.moments],
            "course": None if self.course is None else self.course.to_dict(),
        }


@attrs.frozen(kw_only=True, eq=False)
class Stroke:
    """A stroke on its support: ``density(seconds or None for dry)`` gives (N, 3)."""

    density: Callable[[float | None], Array]
    bare_rgb: Array

    def lab(self, seconds: float | None) -> Array:
        """Return L*, a*, b* at a time, (N, 3)."""
        return strokes.lab_on(self.density(seconds), self.bare_rgb)

    def left(self, seconds: float | None) -> Array:
        """Return the change still to come, CIEDE2000, (N,)."""
        return np.asarray(ciede2000(self.lab(seconds), self.lab(None)))


def of_vessel(post: Posterior, name: str, after: Sequence[float | None]) -> Prediction:
    """Return how a stroke of a vessel's ink, made at the end of the daybook with its usual pen, will look.

    Parameters
    ----------
    after : sequence of float or None
        Seconds after it is laid; None for dry.
    """
    plan, draws = post.problem.plan, post.draws
    state = post.played.world.vessels.get(name)
    if state is None:
        raise EstimateError(f"{name} holds nothing that could be written with", mend="Name another vessel")
    if state.withheld:
        raise EstimateError(state.withheld, where=name)
    if not np.median(state.liquor["water"]) > 0:
        raise EstimateError(f"{name} is empty", mend="Name another vessel")
    hand = contents.usual_hand(name, plan)
    found = plan.scene.supports.get(hand.support)
    support = target.default_support() if found is None else found

    def density(seconds: float | None) -> Array:
        return contents.dry_stroke(state, hand, plan, support, draws, seconds=seconds).density

    stroke = Stroke(density=density, bare_rgb=strokes.bare_rgb(support))
    return Prediction(of=f"vessel:{name}", ess=post.ess, moments=tuple(_moment(stroke, t) for t in after))


def of_trial(post: Posterior, name: str, after: Sequence[float | None], at: datetime | None) -> Prediction:
    """Return how a trial will look, and where it is on its way.

    Parameters
    ----------
    after : sequence of float or None
        Seconds after it was made; None for dry. Nothing: as it is and dry.
    at : datetime or None
        The moment that counts as now; the last entry of the daybook if left out.
    """
    plan, world = post.problem.plan, post.played.world
    trial = world.trials.get(name)
    if trial is None:
        raise EstimateError(f"no mark of trial {name} is recorded", mend="Name another trial")
    if trial.withheld:
        raise EstimateError(trial.withheld, where=name)
    age = (world.now if at is None else seconds_since(plan.start, at)) - trial.at
    if age < 0:
        raise EstimateError(f"{name} was made after that moment", mend="Give a later one")
    support = plan.scene.supports[trial.support]
    stroke = Stroke(
        density=lambda seconds: strokes.trial_density(trial, seconds, support, post.draws),
        bare_rgb=strokes.bare_rgb(support),
    )
    return Prediction(
        of=f"trial:{name}",
        ess=post.ess,
        moments=tuple(_moment(stroke, t) for t in after or (age, None)),
        course=_course(post, name, trial, stroke, age),
    )


def _moment(stroke: Stroke, seconds: float | None) -> Moment:
    density, lab = stroke.density(seconds), stroke.lab(seconds)
    return Moment(
        after=seconds,
        optical_density={c: figure(density[:, i], "1") for i, c in enumerate(strokes.CHANNELS)},
        lab={c: figure(lab[:, i], "1") for i, c in enumerate(("L", "a", "b"))},
        left=figure(stroke.left(seconds), "1"),
    )


def _course(post: Posterior, name: str, trial: TrialState, stroke: Stroke, age: float) -> Course:
    finished = done(stroke, age)
    state: State = "finished" if finished >= value("knowing.sure") else "darkening"
    again: float | None = None
    if state == "darkening":
        again = first_time(lambda t: done(stroke, t) >= value("knowing.sure"), age)
        if is_open(post, trial, stroke, last_look(post, name, trial)):
            state = "not identifiable"
            close = value("knowing.close.dry_optical_density")
            telling = first_time(lambda t: band_after(stroke, t) <= close, age)
            again = min((t for t in (again, telling) if t is not None), default=None)
    made = post.problem.plan.start + timedelta(seconds=trial.at)
    return Course(made=made, age=age, finished=finished, state=state, look_again=again)


def done(stroke: Stroke, seconds: float) -> float:
    """Return the probability that the change still to come is too small to be seen."""
    return float(np.mean(stroke.left(seconds) < value("knowing.noticeable")))


def band_after(stroke: Stroke, seconds: float) -> float:
    """Return the width of the 90 % band of the dry density that one reading at a time would leave."""
    dry, then = (np.mean(stroke.density(t), axis=1) for t in (None, seconds))
    error = value("readings.density") ** 2 + value("misfit.channel") ** 2
    together = float(np.cov(dry, then)[0, 1])
    left = float(np.var(dry, ddof=1)) - together**2 / (float(np.var(then, ddof=1)) + error)
    return _BAND * float(np.sqrt(max(left, 0.0)))


def first_time(holds: Callable[[float], bool], start: float) -> float | None:
    """Return the first time, s, from which something holds that goes on holding; None where it is not within years."""
    low, high = max(start, 1.0), FARTHEST
    if holds(low):
        return low
    if low >= high or not holds(high):
        return None
    for _ in range(_ROUNDS):
        middle = float(np.sqrt(low * high))
        low, high = (low, middle) if holds(middle) else (middle, high)
        # Nobody looks at a stroke to the minute.
        if high < low * (1.0 + 1e-2):
            break
    return high


def last_look(post: Posterior, name: str, trial: TrialState) -> float:
    """Return how old a trial was when its colour was last read, s; 0 where it never was."""
    plan = post.problem.plan
    looks = [
        seconds_since(plan.start, line.entry.at) - trial.at
        for line in plan.evidence
        if isinstance(line.entry, Reading)
        and line.entry.of == f"trial:{name}"
        and line.entry.what in _COLOURS
    ]
    return max([0.0, *looks])


def is_open(post: Posterior, trial: TrialState, stroke: Stroke, looked: float) -> bool:
    """Say whether the final colour cannot be told yet because the readings came too early."""
    dry = np.mean(stroke.density(None), axis=1)
    low, high = np.percentile(dry, (5, 95))  # numbers-in-code: the 90 % band
    if high - low <= value("knowing.close.dry_optical_density"):
        return False
    growth = _growth(post.draws, trial, looked)
    scores = weighing.normal_scores(np.stack([dry, growth]))
    if weighing.in_common(scores[0], scores[1]) < value("knowing.explains"):
        return False
    problem = post.problem
    before = _growth(problem.draws(problem.prior(post.seed, post.draws.n)), trial, looked)
    return bool(np.var(growth) > value("knowing.prior_left") * np.var(before))


def _growth(draws: Draws, trial: TrialState, seconds: float) -> Array:
    """Return how much the colour grows from a time to dry, natural log, (N,)."""
    return -np.log(strokes.progress(seconds, draws, trial.ready))
