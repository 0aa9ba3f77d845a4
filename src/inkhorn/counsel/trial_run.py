"""Trying many courses at once: every course on every draw, in one replay.

Columns are laid out course by course: column ``k * M + m`` is course ``k`` on
draw ``m``. All courses meet the same draws and the same luck of the stroke, so
their differences are not noise.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.chemistry import binding
from inkhorn.colour.difference import ciede2000
from inkhorn.counsel.actions import FIRST_NUMBER, GRAM, ML, Action
from inkhorn.counsel.went_on import likelihood, match_within
from inkhorn.estimate.contents import Hand, dry_stroke, usual_hand
from inkhorn.estimate.posterior import Posterior, stroke_scatter
from inkhorn.handbook.load import row, value
from inkhorn.replay import composition, seen, strokes, target
from inkhorn.replay.draws import Draws, Scout, Unknown, standard_normal
from inkhorn.replay.fold import Plan
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS, apply
from inkhorn.replay.target import Target
from inkhorn.replay.world import VesselState, World

Array = NDArray[np.float64]
# numbers-in-code: draws that a course is tried on, a matter of time
DRAWS = 320
# numbers-in-code: ml, more than any pot holds
_NO_LEVEL = 1e9


@attrs.frozen(kw_only=True, eq=False)
class Outcome:
    """What each course (K) comes to on each draw (M); arrays (K, M).

    ``distance`` is that of the usual stroke; ``strip`` (K, M, 3) is the density of the
    one strip that will be made next, its own luck included.
    """

    distance: Array
    density: Array
    strip: Array
    viscosity: Array
    iron_ratio: Array
    volume: Array
    flow_ok: NDArray[np.bool_]
    permanence_ok: NDArray[np.bool_]

    def only(self, k: int) -> Outcome:
        """Return the outcome of one course, as course 0."""
        return Outcome(**{f.name: getattr(self, f.name)[k : k + 1] for f in attrs.fields(Outcome)})


@attrs.frozen(kw_only=True, eq=False)
class Table:
    """A posterior, a pot and a target, ready to try courses on ``M`` draws.

    Attributes
    ----------
    beside : mapping
        Vessels that are not on the bench and are tried all the same, one column a draw.
    keep : float
        How much ink must be left for what is still to be written, ml.
    picks : ndarray of int (M,)
        Which of the posterior's draws these are.
    ml : float
        What the liquor is taken to fill, ml: what a course is told for.
    on_a_cup : bool
        Whether a course that cannot be taken back is done on a cup of the liquor first. A cup is measured when it
        is drawn; of the pot only so much is known as the daybook tells.
    still : Outcome or None
        Of doing nothing, as course 0, once that has been tried.
    written : Outcome or None
        Of writing as warm as the last line was, where that was told, and doing nothing else.
    """

    post: Posterior
    vessel: str
    goal: Target
    hand: Hand
    unknowns: dict[str, Unknown]
    z: Array
    aim: Array
    luck: Array
    noise: Array
    flow_band: tuple[float, float]
    picks: NDArray[np.intp]
    ml: float
    on_a_cup: bool = False
    beside: Mapping[str, VesselState] = MappingProxyType({})
    keep: float = 0.0
    still: Outcome | None = None
    written: Outcome | None = None

    @property
    def match(self) -> float:
        """Return the distance that counts as a match: a page whose own letters differ by more is matched among them."""
        return match_within(self.goal)

    @property
    def m(self) -> int:
        """Return the number of draws."""
        return int(self.z.shape[1])


def lay_table(
    post: Posterior,
    vessel: str,
    goal: Target,
    actions: Sequence[Action],
    *,
    as_: str,
    draws: int = DRAWS,
    keep: float = 0.0,
    went_on: bool = False,
    on_a_cup: bool = False,
) -> Table:
    """Take ``draws`` of the posterior, evenly over its particles, and fix the luck that all courses share.

    Parameters
    ----------
    went_on : bool
        Whether it counts that no strip looked at so far was found good (`inkhorn.counsel.went_on`).
    on_a_cup : bool
        Whether what cannot be taken back is tried on a cup first, where there is enough for one.
    """
    hand = usual_hand(vessel, post.problem.plan)
    whole = post.played.world.vessels[vessel]
    ml = float(np.median(composition.volume(whole.liquor, whole.temperature)))
    pen = f"pens.{hand.pen_kind or 'goose-quill'}"
    flow_band = (row(f"{pen}.flow_low").value, row(f"{pen}.flow_high").value)
    weights = likelihood(post, goal, flow_band) if went_on else np.ones(post.z.shape[1])
    picks = _evenly(weights, min(draws, post.z.shape[1]))
    scout = Scout()
    world = _narrow(post, np.array([picks[0]]))
    for i, action in enumerate(actions):
        step = action.step(post.problem.plan.start)
        world = apply(step, FIRST_NUMBER - i, world, scout, post.problem.plan.shelf)
    state = world.vessels[vessel]
    _dry(state, hand, post.problem.plan, goal, scout, state.temperature)
    target.density_new(goal, scout)
    new = {name: u for name, u in scout.met.items() if name not in post.problem.unknowns}
    extra = [standard_normal(post.seed, name, post.z.shape[1])[picks] for name in new]
    z = np.concatenate([post.z[:, picks], np.array(extra).reshape(len(extra), len(picks))], axis=0)
    unknowns = {**post.problem.unknowns, **new}
    here = Draws(unknowns, z)
    aim = target.density_new(goal, here) if as_ == "new" else target.density_now(goal, here)
    return Table(
        post=post,
        vessel=vessel,
        goal=goal,
        hand=hand,
        unknowns=unknowns,
        z=z,
        aim=aim,
        luck=np.exp(stroke_scatter(post)[picks] * standard_normal(post.seed, "next stroke", len(picks))),
        noise=post.problem.size_of_error("channel", post.played, post.draws)[picks, None]
        * np.stack([standard_normal(post.seed, f"next {c}", len(picks)) for c in strokes.CHANNELS], axis=-1),
        flow_band=flow_band,
        picks=picks,
        ml=ml,
        on_a_cup=on_a_cup and value("counsel.cup.share") * ml >= value("counsel.cup.ml"),
        keep=keep,
    )


def _evenly(weights: Array, m: int) -> NDArray[np.intp]:
    """Return which draws ``m`` spread evenly over the weights of all are, (m,); a heavy one may come twice."""
    along = np.cumsum(weights)
    # numbers-in-code: the middle of each m-th part
    return np.asarray(np.searchsorted(along, (np.arange(m) + 0.5) / m * along[-1]), dtype=np.intp)


def _narrow(post: Posterior, picks: NDArray[np.intp], repeat: int = 1) -> World:
    """Return the bench of a posterior for some of its draws, each laid out ``repeat`` times."""
    world = post.played.world
    columns = np.tile(picks, repeat)

    return attrs.evolve(world.columns(columns), marcs={})


def narrowed(table: Table) -> World:
    """Return the bench on the table's draws, one column a draw."""
    return _narrow(table.post, table.picks)


def _dry(
    state: VesselState, hand: Hand, plan: Plan, goal: Target, draws: Draws, writing: Array
) -> tuple[Array, Array]:
    """Return the density (N, 3) of a usual dry stroke on the exemplar's support, and the viscosity."""
    thick = seen.viscosity(state.liquor, writing, draws)
    return dry_stroke(state, hand, plan, goal.reflectance, draws, viscosity=thick).density, thick


def try_courses(
    table: Table, actions: Sequence[Action], amounts: Array, order: Sequence[int] | None = None
) -> Outcome:
    """Try courses, each a row of amounts, on every draw.

    Parameters
    ----------
    actions : sequence of Action
    amounts : ndarray, shape (K, A)
        How much of each, in its unit; 0 leaves it undone.
    order : sequence of int, optional
        In which order they are done; that of ``actions`` if left out.
    """
    k, m = len(amounts), table.m
    world = _narrow(table.post, table.picks, repeat=k)
    if table.beside:
        columns = np.tile(np.arange(m), k)
        more = {name: state.columns(columns) for name, state in table.beside.items()}
        world = attrs.evolve(world, vessels={**world.vessels, **more})
    fixed = _measured_out(table, actions, amounts, world, order)
    draws = Draws(table.unknowns, np.tile(table.z, k), fixed)
    before = world.vessels[table.vessel].temperature
    for i in range(len(actions)) if order is None else order:
        action = actions[i]
        if not amounts[:, i].any():
            continue
        step = action.step(table.post.problem.plan.start)
        world = apply(step, FIRST_NUMBER - i, world, draws, table.post.problem.plan.shelf)
    state = world.vessels[table.vessel]
    # Boiling leaves the pot to cool: ink is written with at the room's warmth unless it is warmed on purpose.
    warmed = [i for i, a in enumerate(actions) if a.kind == "warm"]
    writing = before
    for i in warmed:
        writing = before + np.repeat(amounts[:, i], m)
    density, thick = _dry(
        attrs.evolve(state, temperature=writing),
        table.hand,
        table.post.problem.plan,
        table.goal,
        draws,
        writing,
    )
    density = density.reshape(k, m, 3)
    held = composition.dry_binding(state.liquor, draws)
    ratio = binding.iron_to_capacity(held.iron, held.capacity).reshape(k, m)
    thick = thick.reshape(k, m)
    low, high = table.flow_band
    return Outcome(
        distance=distances(density, table),
        density=density,
        # Luck scales the film; on the density scale that is a factor but for the surface's floor.
        strip=density * table.luck[None, :, None] + table.noise,
        viscosity=thick,
        iron_ratio=ratio,
        volume=composition.volume(state.liquor, state.temperature).reshape(k, m),
        flow_ok=(thick >= low) & (thick <= high),
        permanence_ok=ratio <= value("permanence.iron_to_capacity.limit"),
    )


def _measured_out(
    table: Table, actions: Sequence[Action], amounts: Array, world: World, order: Sequence[int] | None
) -> dict[tuple[int, str], Array]:
    """Return what each action comes to on each column, by number and key of its entry, (K M,).

    Grams, ml and the level that is boiled down to are told for a pot that holds ``table.ml``. Where it holds more or
    less, they are too little or too much for it, unless they are done to a cup, which is measured.
    """
    m, state = table.m, world.vessels[table.vessel]
    held = composition.volume(state.liquor, state.temperature).reshape(len(amounts), m)
    for_good = [a.for_good for a in actions]
    on_a_cup = (amounts[:, for_good] > 0).any(axis=1, keepdims=True) & table.on_a_cup
    times = np.where(on_a_cup, held / table.ml, 1.0).ravel()
    full = np.full(len(amounts), table.ml)
    fixed: dict[tuple[int, str], Array] = {}
    for i in range(len(actions)) if order is None else order:
        action, amount = actions[i], amounts[:, i]
        column = np.repeat(amount, m)
        if action.kind == "reduce":
            full = full * (1.0 - amount)
            # What is not boiled down has no level to come to: one far above any pot.
            column = np.repeat(np.where(amount > 0, full, _NO_LEVEL), m) * times
        elif action.kind == "warm":
            column = column + state.temperature - ZERO_CELSIUS
        elif action.unit in (GRAM, ML):
            column = column * times
        if action.unit == ML:
            full = full + amount
        fixed[(FIRST_NUMBER - i, action.key)] = column
    return fixed


def changes(outcome: Outcome, table: Table) -> Array:
    """Return how much each course changes that anybody could see, (K,): 1 is just enough, 0 nothing.

    The most of three: how far the stroke's colour moves, and how far the chances that flow and iron
    keep their limits rise. Where the last line was written warm, the less of what it changes from the
    pot as it is and from that line: to warm it again is to write the same line again.
    """
    if table.still is None:
        return np.ones(len(outcome.distance))
    change = _change(outcome, table.still, table)
    return change if table.written is None else np.minimum(change, _change(outcome, table.written, table))


def _change(outcome: Outcome, still: Outcome, table: Table) -> Array:
    """Return how much each course changes from one outcome, (K,)."""
    bare = table.goal.bare_rgb
    moved = ciede2000(strokes.lab_on(outcome.density, bare), strokes.lab_on(still.density, bare)).mean(axis=1)
    surer = [
        ok.mean(axis=1) - was.mean()
        for ok, was in (
            (outcome.flow_ok, still.flow_ok),
            (outcome.permanence_ok, still.permanence_ok),
        )
    ]
    return np.asarray(
        np.maximum(moved / value("counsel.visible"), np.maximum(*surer) / value("counsel.surer_limit"))
    )


def harms(outcome: Outcome, table: Table) -> NDArray[np.bool_]:
    """Say which courses would all but surely leave more iron than the tannin holds, and more than there is now, (K,).

    Where iron is in excess already its limit is broken either way, and the loss alone would not mind more of it.
    """
    if table.still is None:
        return np.zeros(len(outcome.distance), dtype=np.bool_)
    # numbers-in-code: boiling, too, loses a little tannin; a tenth more iron is a difference
    more = np.median(outcome.iron_ratio, axis=1) > 1.1 * np.median(table.still.iron_ratio)
    return np.asarray(more & (outcome.permanence_ok.mean(axis=1) < value("counsel.lasting_least")))


def distances(density: Array, table: Table) -> Array:
    """Return the CIEDE2000 of dry strokes (K, M, 3) against the exemplar's intact ink, (K, M)."""
    mine = strokes.lab_on(density, table.goal.bare_rgb)
    theirs = strokes.lab_on(table.aim, table.goal.bare_rgb)
    return np.asarray(ciede2000(mine, theirs[None]))
