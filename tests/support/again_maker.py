"""A make-believe maker who follows a recipe with other lots: reads each checkpoint as a maker would, then goes on.

The workshop is `inkhorn.simulate`, whose physics is not the model's own. The
maker boils towards a reading in two goes, stirs a dose in by sixths, lays drops
and looks again the next day.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

import attrs
import numpy as np

from inkhorn.colour.difference import ciede2000
from inkhorn.simulate.truth import Truth

_SIXTHS = 6


@attrs.define(kw_only=True)
class Follower:
    """Follows one recipe on a copy of a truth.

    Parameters
    ----------
    truth : Truth
        A workshop that still has the first ink.
    first : str
        Its vessel.
    support : str
        The skin that drops are laid on.
    year : str
        Added to the names of new lots: another year is another strength.
    """

    truth: Truth
    first: str
    support: str
    year: str
    drops: int = 0
    dish: float = 0.09
    """What a kitchen dish errs beside the laboratory's figure, natural logarithm."""

    def __attrs_post_init__(self) -> None:
        self.truth = self.truth.copy()

    def follow(self, recipe: Mapping[str, Any]) -> str:
        """Do all steps; return the vessel that the new ink is in."""
        for step in recipe["steps"]:
            self._step(step)
        return str(self._pot(recipe["steps"]))

    def by_weight(self, recipe: Mapping[str, Any], net: Any, volume: float, scale: float) -> str:
        """Do the same without any checkpoint: the first ink's amounts by scale and jug."""
        pot = self._pot(recipe["steps"])
        for step in recipe["steps"]:
            kind = step["entry"]["kind"]
            if kind in ("gather", "steep", "strain", "rest", "pour"):
                self._do(step["entry"])
            elif (
                kind in ("reduce", "add")
                and step.get("until", {}).get("like") is None
                and "lot" not in step["entry"]
            ):
                self._to_volume(pot, volume * scale)
                for dose in net.doses:
                    if dose.role != "tannin":
                        self._do(
                            {
                                "kind": "add",
                                "into": pot,
                                "lot": f"{dose.lot}-2",
                                "amount": f"{dose.grams * scale:.4g} g",
                            }
                        )
        return str(pot)

    def distance(self, pot: str) -> float:
        """Return the true CIEDE2000 between dry strokes of the new ink and of the first."""
        labs = [self.truth.stroke(f"vessel:{v}", support=self.support).lab for v in (pot, self.first)]
        return float(ciede2000(*labs))

    # ------------------------------------------------------------ steps

    def _pot(self, steps: Any) -> str:
        return next(s["entry"]["into"] for s in steps if s["entry"]["kind"] == "strain")

    def _do(self, entry: Mapping[str, Any]) -> None:
        entry = dict(entry)
        if "lot" in entry:
            entry["lot"] = f"{entry['lot']}-{self.year}"
        if entry["kind"] == "gather":
            # Enough is bought, whatever the checkpoints ask for.
            entry["amount"] = f"{4 * float(entry['amount'].split()[0]):g} g"
        self.truth.apply(entry)

    def _step(self, step: Mapping[str, Any]) -> None:
        entry, until, per = step["entry"], step.get("until"), step.get("per")
        if per is not None:
            self._in_proportion(entry, per)
        elif until is None:
            self._do(entry)
        elif entry["kind"] == "add" and "lot" in entry:
            self._little_by_little(entry, until)
        elif until["reading"] == "volume":
            self._to_volume(entry.get("vessel") or entry["into"], until["value"])
        else:
            self._towards(entry.get("vessel") or entry["into"], until)

    def _to_volume(self, pot: str, ml: float) -> None:
        if ml < self._ml(pot):
            self.truth.apply({"kind": "reduce", "vessel": pot, "to": f"{ml:.4g} ml"})
        else:
            self.truth.apply({"kind": "add", "into": pot, "liquid": "spring water", "up_to": f"{ml:.4g} ml"})

    def _in_proportion(self, entry: Mapping[str, Any], per: Mapping[str, Any]) -> None:
        ml = self._ml(entry["into"])
        grams = per["grams"] * ml / 100
        if per["reading"] == "dry_residue":
            grams = per["grams"] * self._residue(entry["into"]) * ml / 1000
        self._do({**entry, "amount": f"{grams:.4g} g"})

    def _little_by_little(self, entry: Mapping[str, Any], until: Mapping[str, Any]) -> None:
        expected = float(entry["amount"].split()[0])
        goal = self._goal(until)
        for _ in range(3 * _SIXTHS):
            if self._read(entry["into"], until["reading"]) >= goal:
                return
            self._do({**entry, "amount": f"{expected / _SIXTHS:.3g} g"})

    def _towards(self, pot: str, until: Mapping[str, Any]) -> None:
        """Boil down, or thin, towards a reading: to within a seventh by the first look, then by a second."""
        goal = self._goal(until)
        for short in (1.15, 1.0):
            share = self._strength(self._read(pot, until["reading"]), until["reading"]) / max(
                self._strength(goal, until["reading"]), 1e-6
            )
            self._to_volume(pot, self._ml(pot) * float(np.clip(share * short, 0.05, 3)))

    @staticmethod
    def _strength(read: float, reading: str) -> float:
        """Return what a reading says of strength, in proportion."""
        if reading == "specific_gravity":
            return max(read - 1, 1e-4)
        return max(np.log(max(read, 1.0001)), 1e-3) if reading == "discharge" else read

    # ------------------------------------------------------------ readings

    def _goal(self, until: Mapping[str, Any]) -> float:
        if until.get("like") == "kept" or until["reading"] == "discharge":
            return self._read(self.first, until["reading"]) if until["reading"] == "strip" else until["value"]
        return float(until["value"])

    def _read(self, pot: str, reading: str) -> float:
        if reading == "strip":
            return self._drops(pot)
        if reading == "discharge":
            if "rinse" not in self.truth.bench.vessels:
                self.truth.apply({"kind": "add", "into": "rinse", "liquid": "rainwater", "amount": "200 ml"})
            return self._notice(f"vessel:{pot}", reading) / self._notice("vessel:rinse", reading)
        return self._residue(pot) if reading == "dry_residue" else self._notice(f"vessel:{pot}", reading)

    parts: int = 8

    def _drops(self, pot: str) -> float:
        names = []
        for _ in range(3):
            self.drops += 1
            names.append(f"drop-{self.year}-{self.drops}")
            self.truth.apply({"kind": "mark", "vessel": pot, "trial": names[-1], "support": self.support, "method": "drop",
                              **({"thinned": f"1 in {self.parts}"} if self.parts > 1 else {})})  # fmt: skip
        at = (self.truth.now + timedelta(hours=24)).isoformat(timespec="minutes")
        seen = [
            self.truth.notice({"at": at, "of": f"trial:{n}", "what": "optical_density"})["value"]
            for n in names
        ]
        return float(np.median([np.mean(list(s.values())) for s in seen]))

    def _residue(self, pot: str) -> float:
        off = self.truth.bench.n.normal("dish", f"{self.year} {self.truth.bench.count}")
        return self._notice(f"vessel:{pot}", "dry_residue") * float(np.exp(self.dish * off))

    def _ml(self, pot: str) -> float:
        return self._notice(f"vessel:{pot}", "volume")

    def _notice(self, of: str, what: str) -> float:
        return float(str(self.truth.notice({"of": of, "what": what})["value"]).split()[0])


def keeps(truth: Truth, pot: str, low: float, high: float, limit: float) -> bool:
    """Say whether an ink truly flows within its pen's band and has no more iron than the limit over its sites."""
    true = truth.true(pot)
    return bool(low <= true["viscosity"] <= high and true["iron_to_capacity"] <= limit)
