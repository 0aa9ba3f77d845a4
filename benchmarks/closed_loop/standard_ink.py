"""A fixed published recipe, once: the United States standard ink, scaled to the handbook's strength of the material.

15.5 g of tannic and gallic acid, 15.0 g of green vitriol and 10 g of gum arabic to a litre (C. E. Waters, Inks,
Circular of the National Bureau of Standards C413, 1936; the gum as in its earlier form).
"""

from __future__ import annotations

from typing import Any

from benchmarks.closed_loop.game import Game

TANNIN, VITRIOL, GUM = 15.5, 15.0, 10.0
_IRON_IN_VITRIOL = 0.2
#: A tree gum thickens several times as much as gum arabic (common practice).
_FOR_ARABIC = {"gum-arabic": 1.0, "plum-gum": 0.25, "cherry-gum": 0.2}
_CUP = 0.25


class StandardInk:
    """From a cup of plain liquor where there is one, else from the pot with what it has."""

    name = "standard ink"

    def __init__(self, game: Game, seed: int = 0) -> None:
        del seed
        self.game = game

    def play_round(self) -> None:
        """One attempt."""
        game, nominal = self.game, self.game.dealt.nominal
        bench, source = game.truth.bench, "stock" if "stock" in game.truth.bench.vessels else game.dealt.pot
        ml = bench.volume(bench.vessels[source]) * _CUP
        cup = game.draw_cup(ml, source)
        tannin = nominal.tannin[source] * ml / 1000.0
        litres = tannin / TANNIN
        iron = VITRIOL * litres * _IRON_IN_VITRIOL - nominal.iron.get(source, 0.0) * ml / 1000.0
        gum = GUM * litres * _FOR_ARABIC[game.dealt.gum] - nominal.gum.get(source, 0.0) * ml / 1000.0
        actions: list[dict[str, Any]] = []
        if iron > 0 and "iron" in nominal.iron:
            poured = 1000.0 * iron / nominal.iron["iron"]
            actions.append({"kind": "pour", "from": "iron", "into": cup, "amount": f"{poured:.3g} ml"})
        elif iron > 0:
            grams = iron / _IRON_IN_VITRIOL
            actions.append({"kind": "add", "into": cup, "lot": "vitriol", "amount": f"{grams:.3g} g"})
        if 1000.0 * litres < 0.98 * ml:
            actions.append({"kind": "reduce", "vessel": cup, "to": f"{1000.0 * litres:.3g} ml"})
        elif 1000.0 * litres > 1.02 * ml:
            more = 1000.0 * litres - ml
            actions.append({"kind": "add", "into": cup, "liquid": "rainwater", "amount": f"{more:.3g} ml"})
        if gum > 0:
            actions.append({"kind": "add", "into": cup, "lot": game.dealt.gum, "amount": f"{gum:.3g} g"})
        game.act(actions)
        game.write(cup)
        game.gave_up = "one attempt"
