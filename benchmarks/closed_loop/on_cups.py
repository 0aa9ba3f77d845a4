"""What the players who search have in common: small fresh cups from the untouched pot, and what a trial is worth.

They see what a maker who keeps a list would see: amounts, the stroke's reading against the page, and thickness.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from benchmarks.closed_loop.game import Game
from benchmarks.closed_loop.rule_of_thumb import MOST_VITRIOL
from benchmarks.closed_loop.seen import difference, out_of_band, thickness
from benchmarks.closed_loop.space import Knob, entries, knobs

#: Cups are cut so small that the pot lasts for as many trials as a game has.
_CUPS = 1.05
#: What an e-fold outside the pen's band, and iron over the standard's proportion, cost in CIEDE2000.
_WALL = 20.0
_IRON_IN_VITRIOL = 0.2
#: Boiling and watering that a search box allows, ln; amounts of iron and gum over a sensible most.
_IRON_SHARE = 0.5


class OnCups:
    """What the two optimisers have in common: the box, a trial, and its loss."""

    def __init__(self, game: Game, seed: int = 0) -> None:
        self.game, self.seed = game, seed
        bench = game.truth.bench
        self.cup_ml = bench.volume(bench.vessels[game.dealt.pot]) / (game.standard.cap * _CUPS)
        self.space = tuple(self._bounded(k) for k in knobs(game.truth, game.dealt.pot, self.cup_ml))
        # Left open for two months of trials it would dry up.
        game.act([{"kind": "store", "vessel": game.dealt.pot, "how": "stoppered jar"}])
        # The first trial was the pot as it is.
        self.first_loss = self._loss(thickness(game.ask("viscosity")), np.zeros(len(self.space)))

    def _bounded(self, knob: Knob) -> Knob:
        """Bound iron by what a maker would try: half as much again as the standard ink's proportion."""
        if knob.what not in ("vitriol", "iron"):
            return knob
        nominal, litres = self.game.dealt.nominal, self.cup_ml / 1000.0
        most = (1 + _IRON_SHARE) * MOST_VITRIOL * nominal.tannin["pot"] * litres
        if knob.what == "iron":
            most *= _IRON_IN_VITRIOL * 1000.0 / nominal.iron["iron"]
        return Knob(kind=knob.kind, what=knob.what, low=0.0, high=min(knob.high, most))

    def trial(self, amounts: np.ndarray) -> float:
        """Draw a cup, do it, write, look; return the loss."""
        game = self.game
        bench = game.truth.bench
        if bench.volume(bench.vessels[game.dealt.pot]) < self.cup_ml / 2:
            game.gave_up = "the pot is empty"
            return np.nan
        cup = game.draw_cup(self.cup_ml, game.dealt.pot)
        what, _ = entries(self.space, amounts, cup, self.cup_ml)
        game.act(what)
        game.write(cup)
        return self._loss(thickness(game.ask("viscosity", cup)), amounts)

    def _loss(self, thick: float | None, amounts: np.ndarray) -> float:
        nominal, litres = self.game.dealt.nominal, self.cup_ml / 1000.0
        iron, tannin = nominal.iron["pot"] * litres, nominal.tannin["pot"] * litres
        for knob, amount in zip(self.space, amounts, strict=True):
            if knob.what == "vitriol":
                iron += amount * _IRON_IN_VITRIOL
            elif knob.kind == "pour":
                iron += nominal.iron.get(knob.what, 0.0) * amount / 1000.0
                tannin += nominal.tannin.get(knob.what, 0.0) * amount / 1000.0
        over = max(iron / max(_IRON_IN_VITRIOL * MOST_VITRIOL * tannin, 1e-9) - 1.0, 0.0)
        flow = abs(out_of_band(self.game, thick)) if thick else 0.0
        return difference(self.game) + _WALL * (flow + min(over, 1.0))

    def named(self, x: Mapping[str, float]) -> np.ndarray:
        """Return amounts in the order of the space."""
        return np.array([x[key_of(k)] for k in self.space])

    def still(self) -> dict[str, float]:
        """Return the amounts of the pot as it is."""
        return {key_of(k): 0.0 for k in self.space}


def key_of(knob: Knob) -> str:
    """Return a name for an amount."""
    return f"{knob.kind} {knob.what}".strip()


class Chance(OnCups):
    """Amounts at random: what no method at all would do."""

    name = "chance"

    def play_round(self) -> None:
        """Try anything."""
        rng = np.random.default_rng([self.seed, len(self.game.turns)])
        self.trial(np.array([rng.uniform(k.low, k.high) for k in self.space]))
