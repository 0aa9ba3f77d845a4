"""Players who know the true state and the exact physics, but have the same hands.

They bound what counsel could do. Where even exact hands that know the page fall short, nobody can match; and
what is matched by who sees the page only as it was measured tells what its measurement alone costs.
"""

from __future__ import annotations

import copy
from typing import Any

import attrs
import numpy as np
from benchmarks.closed_loop.game import OVERNIGHT, Game
from benchmarks.closed_loop.seen import page_as_measured
from benchmarks.closed_loop.space import Knob, entries, knobs
from scipy.optimize import differential_evolution, minimize

from inkhorn.simulate.maker import Maker
from inkhorn.simulate.truth import Truth

#: What a broken limit costs, in CIEDE2000 for each e-fold beyond it, and how far inside the limits to aim.
_WALL, _MARGIN = 60.0, 0.04
_POPULATION, _GENERATIONS = 8, 40
#: A plan that comes so near is not bettered.
_ENOUGH = 0.4


@attrs.frozen(kw_only=True)
class Plan:
    """The best amounts found for a liquor, and the true distance that exact hands would reach."""

    base: str
    ml: float
    space: tuple[Knob, ...]
    amounts: np.ndarray
    cost: float
    distance: float
    match: bool


def with_exact_hands(truth: Truth) -> Truth:
    """Return a light copy of a truth whose maker is never off and never spills."""
    bench = truth.bench
    out = copy.copy(truth)
    out.bench = attrs.evolve(
        bench,
        maker=Maker(clumsiness=0.0),
        vessels={k: _vessel(v) for k, v in bench.vessels.items()},
        lots={k: copy.copy(v) for k, v in bench.lots.items()},
        trials={},
    )
    return out


def _vessel(vessel: Any) -> Any:
    new = copy.copy(vessel)
    liquor = copy.copy(vessel.liquor)
    liquor.amounts, liquor.swell = dict(liquor.amounts), dict(liquor.swell)
    new.liquor = liquor
    return new


def plan(game: Game, base: str, share: float = 1.0, seed: int = 0, page: np.ndarray | None = None) -> Plan:
    """Return the best that exact hands could do with a liquor, or with a cup that is a share of it.

    The aim is the true original, or the colour ``page`` (L*, a*, b*).
    """
    start = with_exact_hands(game.truth)
    ml = start.bench.volume(start.bench.vessel(base))
    if share < 1.0:
        cup = "cup-0"
        start.apply({"kind": "pour", "from": base, "into": cup, "amount": f"{ml * share:.4g} ml"})
        base, ml = cup, start.bench.volume(start.bench.vessel(cup))
    space = knobs(start, base, ml, warm=True)
    box = [(k.low, k.high) for k in space]

    def look(amounts: np.ndarray) -> tuple[float, float, bool]:
        then = with_exact_hands(start)
        what, celsius = entries(space, amounts, base, ml, exact=True)
        for entry in what:
            then.apply(entry)
        if any("gum" in str(e.get("lot", "")) for e in what):
            then.apply({"kind": "rest", "vessel": base, "for": OVERNIGHT, "covered": True})
        turn = game.judge(then, base, celsius=celsius, page=page)
        low, high = game.band
        over = max(np.log(turn.viscosity / high) + _MARGIN, 0.0) + max(
            np.log(low / turn.viscosity) + _MARGIN, 0.0
        )
        iron = max(np.log(max(turn.iron_ratio, 1e-9) / game.standard.iron) + _MARGIN, 0.0)
        return turn.distance + _WALL * (over + iron), turn.distance, turn.match

    def near_enough(best: np.ndarray, convergence: float) -> bool:
        del convergence
        return look(best)[0] < _ENOUGH

    still = np.array([min(max(0.0, k.low + 1e-3 * (k.high - k.low)), k.high) for k in space])
    found = differential_evolution(
        lambda x: look(x)[0], box, popsize=_POPULATION, maxiter=_GENERATIONS, tol=1e-3, seed=seed, x0=still,
        polish=False, atol=0.02, callback=near_enough,
    )  # fmt: skip
    finer = minimize(
        lambda x: look(x)[0],
        found.x,
        method="Nelder-Mead",
        bounds=box,
        options={"maxfev": 200, "xatol": 1e-3},
    )
    amounts = finer.x if finer.fun < found.fun else found.x
    cost, distance, match = look(amounts)
    return Plan(base=base, ml=ml, space=space, amounts=amounts, cost=cost, distance=distance, match=match)


#: A cup of plain liquor drawn for a fresh start, as a share of what there is.
FRESH = 0.2


#: Plain liquors that a fresh cup may be drawn from.
_PLAIN = ("stock", "brown")


def best_plan(game: Game, seed: int = 0, page: np.ndarray | None = None) -> tuple[Plan, str | None]:
    """Return the best plan for the pot, or for a fresh cup of plain liquor where that does better."""
    best, drawn = plan(game, game.dealt.pot, seed=seed, page=page), None
    for source in _PLAIN:
        if best.match or source not in game.truth.bench.vessels:
            continue
        fresh = plan(game, source, FRESH, seed=seed, page=page)
        if fresh.cost < best.cost:
            best, drawn = fresh, source
    return best, drawn


class Omniscient:
    """Replans each round on the true state; its amounts pass through the same maker's hands."""

    name = "omniscient"
    #: Whether it can tell at once that the page is out of reach.
    knows_the_page = True

    def __init__(self, game: Game, seed: int = 0) -> None:
        self.game, self.base, self.seed = game, game.dealt.pot, seed

    def aim(self) -> np.ndarray | None:
        """Return what colour to aim at; None for the true original's."""
        return None

    def play_round(self) -> None:
        """Plan, act, write."""
        game = self.game
        source, page = None, self.aim()
        if self.base == game.dealt.pot:
            best, source = best_plan(game, self.seed + len(game.turns), page)
            if self.knows_the_page and len(game.turns) == 1 and not best.match:
                game.say_unreachable()
                return
        else:
            best = plan(game, self.base, seed=self.seed + len(game.turns), page=page)
        if source is not None:
            self.base = game.draw_cup(
                game.truth.bench.volume(game.truth.bench.vessel(source)) * FRESH, source
            )
        what, celsius = entries(best.space, best.amounts, self.base, best.ml)
        game.act(what)
        game.write(self.base, celsius)


class Measured(Omniscient):
    """Knows state and physics as well, but of the page only what was measured; has it measured again each round."""

    name = "omniscient but of the page"
    knows_the_page = False

    def aim(self) -> np.ndarray:
        """Measure the page once more, and return what all measurements come to on its bare skin, L*, a*, b*."""
        self.game.ask("page")
        return page_as_measured(self.game)
