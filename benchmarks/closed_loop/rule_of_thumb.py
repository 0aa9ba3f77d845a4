"""Common practice: one thing at a time, by eye, a little more each time (all amounts: common practice)."""

from __future__ import annotations

from typing import Any

from benchmarks.closed_loop.game import Game
from benchmarks.closed_loop.seen import densities, out_of_band, thickness

_PALE, _HUE = 0.05, 0.06
_FIFTH = 0.2
#: A little gum for a litre: arabic, or a tree gum, which thickens several times as much.
_GUM = {"gum-arabic": 6.0, "plum-gum": 1.5, "cherry-gum": 1.2}
#: Vitriol for a gram of tannin beyond which nobody goes: the standard ink's proportion (NBS Circular C413).
MOST_VITRIOL = 15.0 / 15.5
_IRON_IN_VITRIOL = 0.2


class RuleOfThumb:
    """Thickness first, then depth, then hue; too pale is met by boiling and by iron in turn."""

    name = "rule of thumb"

    def __init__(self, game: Game, seed: int = 0) -> None:
        del seed
        self.game, self.turn = game, 0
        nominal = game.dealt.nominal
        bench = game.truth.bench
        self.litres = bench.volume(bench.vessels[game.dealt.pot]) / 1000.0
        self.tannin = nominal.tannin["pot"] * self.litres
        self.iron = nominal.iron["pot"] * self.litres

    def play_round(self) -> None:
        """Look, do one thing, write."""
        game = self.game
        thick = thickness(game.ask("body")) or 2.5
        game.act(self._one_thing(thick))
        game.write(game.dealt.pot)

    def _one_thing(self, thick: float) -> list[dict[str, Any]]:
        pot = self.game.dealt.pot
        mine, page = densities(self.game)
        off = out_of_band(self.game, thick)
        pale = float(page.mean() - mine.mean())
        brown = float((mine[2] - mine[0]) - (page[2] - page[0]))
        if off > 0:
            return self._water(_FIFTH)
        if off < 0 and self.game.dealt.gum in self.game.truth.bench.lots:
            grams = _GUM[self.game.dealt.gum] * self.litres
            return [{"kind": "add", "into": pot, "lot": self.game.dealt.gum, "amount": f"{grams:.2g} g"}]
        self.turn += 1
        if pale > _PALE:
            iron = self._iron() if self.turn % 2 == 0 else []
            return iron or self._boil()
        if pale < -_PALE:
            return self._water(_FIFTH)
        if brown > _HUE:
            return self._iron() or self._pour("stock")
        if brown < -_HUE:
            return self._pour("brown") or self._boil()
        return self._boil() if pale > 0 else self._water(_FIFTH / 4)

    def _boil(self) -> list[dict[str, Any]]:
        self.litres *= 1.0 - _FIFTH
        return [{"kind": "reduce", "vessel": self.game.dealt.pot, "to": f"{1000.0 * self.litres:.3g} ml"}]

    def _water(self, share: float) -> list[dict[str, Any]]:
        ml = 1000.0 * self.litres * share
        self.litres *= 1.0 + share
        return [{"kind": "add", "into": self.game.dealt.pot, "liquid": "rainwater", "amount": f"{ml:.2g} ml"}]

    def _iron(self) -> list[dict[str, Any]]:
        """Put in a fifth more of the iron that is in it, up to the standard proportion."""
        grams = _FIFTH * max(self.iron, 0.02 * self.tannin)
        if self.iron + grams > MOST_VITRIOL * _IRON_IN_VITRIOL * self.tannin:
            return []
        self.iron += grams
        pot = self.game.dealt.pot
        if "iron" in self.game.dealt.nominal.iron:
            ml = 1000.0 * grams / self.game.dealt.nominal.iron["iron"]
            self.litres += ml / 1000.0
            return [{"kind": "pour", "from": "iron", "into": pot, "amount": f"{ml:.2g} ml"}]
        return [{"kind": "add", "into": pot, "lot": "vitriol", "amount": f"{grams / _IRON_IN_VITRIOL:.2g} g"}]

    def _pour(self, vessel: str) -> list[dict[str, Any]]:
        bench = self.game.truth.bench
        ml = 1000.0 * self.litres / 10.0
        if vessel not in bench.vessels or bench.volume(bench.vessels[vessel]) < ml:
            return []
        self.litres *= 1.1
        return [{"kind": "pour", "from": vessel, "into": self.game.dealt.pot, "amount": f"{ml:.2g} ml"}]
