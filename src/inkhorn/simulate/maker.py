"""The maker of the invented truth: a hand and an eye that are a little off, each in their own way."""

from __future__ import annotations

import math

import attrs

from inkhorn.simulate.amounts import Said
from inkhorn.simulate.draws import Draws


@attrs.frozen(kw_only=True)
class Maker:
    """How carefully one maker works.

    Parameters
    ----------
    clumsiness : float
        Factor on every spread of hand and eye; 0 makes a maker who is never off.
    wrong_entries : float
        Share of the entries that do not say what was done (one in 20 is 0.05).
    spills : float
        Share of the pourings and boilings in which some is spilt or boils over, unnoticed.
    """

    clumsiness: float = 1.0
    wrong_entries: float = 0.0
    spills: float = 0.0

    def amount(self, said: Said, n: Draws, key: str, *, level: bool = False) -> float:
        """Return what was truly taken when the maker says an amount, in the same unit.

        ``level`` marks a pot boiled down or filled up to a level. Masses that were
        weighed are off by the scale; volumes by the jug; by eye, by the person and the day.
        """
        if said.unit in {"s", "degC", "mm", "W"} or said.how == "exact":
            return said.value
        bias, sd = self._habit(said, level)
        ln = (math.log(n(bias)) if bias else 0.0) + n(sd) * n.normal("hand", key)
        if self.wrong_entries and n.rng("slip", key).random() < self.wrong_entries:
            ln += math.copysign(abs(math.log(n("maker.slip", key))), n.normal("which way", key))
        return said.value * math.exp(self.clumsiness * ln)

    def spilt(self, n: Draws, key: str) -> float:
        """Return the share of a liquor that is lost this time: mostly nothing."""
        if not self.spills or n.rng("spill", key).random() >= self.spills:
            return 0.0
        return min(n("pot.spilt", key), 1 / 2)

    @staticmethod
    def _habit(said: Said, level: bool) -> tuple[str, str]:
        by_eye = said.how in {"by eye", "range"}
        if said.unit == "1":
            return ("maker.fraction_bias", "maker.share") if said.value < 1 else ("", "maker.measured")
        if said.unit == "g":
            return ("maker.mass_bias", "maker.about") if by_eye else ("", "lot.scale_weight")
        if level:
            return ("maker.volume_bias" if by_eye else "", "maker.mark")
        return ("maker.volume_bias", "maker.about") if by_eye else ("", "maker.measured")

    def word(self, scale: tuple[str, ...], position: float, n: Draws, key: str) -> str:
        """Say a position (in steps, 0 the middle word) in words, leaning and wavering as this maker does."""
        off = n("maker.leaning", scale[0]) + n("maker.words") * n.normal("word", key)
        index = round(position + self.clumsiness * off + (len(scale) - 1) / 2)
        return scale[min(max(index, 0), len(scale) - 1)]

    def ph(self, true: float, n: Draws, key: str, *, strip: bool) -> float:
        """Return a pH as read: off a strip to the half unit with this maker's bias, or off a meter."""
        if not strip:
            return round(true + n("maker.meter") * n.normal("meter", key), 2)
        seen = true + self.clumsiness * (n("maker.strip_bias") + n("maker.strip") * n.normal("strip", key))
        return round(seen * 2) / 2

    def read(self, true: float, sd_name: str, n: Draws, key: str, *, relative: bool = False) -> float:
        """Return a measured figure with the named error (of its logarithm where ``relative``)."""
        error = n(sd_name) * n.normal(f"read {sd_name}", key)
        if self.wrong_entries and n.rng("misread", key).random() < self.wrong_entries:
            error += math.copysign(abs(math.log(n("maker.slip", key))), n.normal("which way", key))
        return true * math.exp(error) if relative else true + error
