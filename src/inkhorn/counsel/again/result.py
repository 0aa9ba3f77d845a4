"""A recipe as plain typed objects; ``to_dict()`` is the documented JSON."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

import attrs

from inkhorn.estimate.figures import Figure
from inkhorn.handbook.cautions import caution

#: What is said before the first step.
OPENING = "From other leaf, salt and gum, whose strength nobody knows: so each step ends by something that you can read."


def told_once(
    cautions: Iterable[Sequence[str]],
) -> list[tuple[tuple[str, ...], tuple[tuple[str, int], ...]]]:
    """Return for each step the cautions that no step before it had, and the others in short, each with its first step.

    What stands in full under every step is read under none. The closing one stands at the end alone.

    Parameters
    ----------
    cautions : iterable of sequence of str
        The cautions of each step.

    Examples
    --------
    >>> told_once([["It scalds: stir."], ["It scalds: stir.", "It poisons."]])
    [(('It scalds: stir.',), ()), (('It poisons.',), (('It scalds', 1),))]
    """
    closing, first = caution("closing"), dict[str, int]()
    out = []
    for number, texts in enumerate(cautions, start=1):
        told = [text for text in texts if text != closing]
        before = tuple((_in_short(text), first[text]) for text in told if text in first)
        out.append((tuple(text for text in told if text not in first), before))
        first |= {text: number for text in told if text not in first}
    return out


def _in_short(text: str) -> str:
    """Return what a caution says first: "Boiling liquor scalds, froths over and scorches when thick"."""
    return re.split(r"[:;.](?=\s\S)|,", text, maxsplit=1)[0].rstrip(".")


@attrs.frozen(kw_only=True)
class Until:
    """A checkpoint: what is read, what it should show, and within what.

    Parameters
    ----------
    like : str
        What it is held beside: ``kept`` (a sample of the ink there is), the
        name of a trial, or empty where the figure alone counts.
    """

    reading: str
    value: float
    tolerance: float
    unit: str
    like: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        out = {
            "reading": self.reading,
            "value": float(f"{self.value:.5g}"),
            "tolerance": float(f"{self.tolerance:.2g}"),
            "unit": self.unit,
        }
        return out | ({"like": self.like} if self.like else {})


@attrs.frozen(kw_only=True)
class Per:
    """A dose in proportion: so many ``unit`` for each ``each`` of what is read."""

    reading: str
    grams: float
    each: str
    unit: str = "grams"

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {"reading": self.reading, self.unit: float(f"{self.grams:.3g}"), "each": self.each}


@attrs.frozen(kw_only=True)
class Step:
    """One step: the entry that records it, without ``at``, and how it is said.

    Amounts in the entry are what to expect; where there is an ``until`` or a ``per``, that decides.
    """

    entry: dict[str, Any]
    sentence: str
    cautions: tuple[str, ...] = ()
    until: Until | None = None
    per: Per | None = None

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        out: dict[str, Any] = {
            "entry": dict(self.entry),
            "sentence": self.sentence,
            "cautions": list(self.cautions),
        }
        if self.until is not None:
            out["until"] = self.until.to_dict()
        if self.per is not None:
            out["per"] = self.per.to_dict()
        return out


@attrs.frozen(kw_only=True)
class Chance:
    """How the ink comes out over new lots: the chance of a match and what it is made of."""

    match: float
    distance: Figure
    flow_ok: float
    permanence_ok: float
    volume: Figure

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "match": round(self.match, 4),
            "distance": self.distance.to_dict(),
            "flow_ok": round(self.flow_ok, 4),
            "permanence_ok": round(self.permanence_ok, 4),
            "volume": self.volume.to_dict(),
        }


@attrs.frozen(kw_only=True)
class Recipe:
    """How to make an ink again from lots of unknown strength.

    Parameters
    ----------
    ml : float
        What is wanted.
    steps : tuple of Step
        In order.
    chance, by_weight : Chance
        Over new lots: following the checkpoints, and following the same amounts
        by weight and measure alone.
    first_flow, first_permanence : float
        The chances that the first ink itself keeps the limits.
    weights : str
        The recipe by weights, in one sentence.
    fold : float
        How far the net recipe with the very same lots comes from the first ink, CIEDE2000.
    keep : str
        What to keep of the first ink before it is gone; may be empty.
    checkpoints : dict
        For each reading of strength tried, the best chance of a match.
    """

    vessel: str
    trial: str | None
    ml: float
    steps: tuple[Step, ...]
    chance: Chance
    by_weight: Chance
    first_flow: float
    first_permanence: float
    weights: str
    why: str
    keep: str
    fold: float
    folded: tuple[str, ...]
    cannot: tuple[str, ...]
    same_source: tuple[str, ...]
    checkpoints: dict[str, float]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "vessel": self.vessel,
            "trial": self.trial,
            "ml": self.ml,
            "steps": [s.to_dict() for s in self.steps],
            "chance": self.chance.to_dict(),
            "by_weight": {**self.by_weight.to_dict(), "sentence": self.weights},
            "first": {
                "flow_ok": round(self.first_flow, 4),
                "permanence_ok": round(self.first_permanence, 4),
            },
            "why": self.why,
            "keep": self.keep,
            "fold": round(self.fold, 3),
            "folded": list(self.folded),
            "cannot": list(self.cannot),
            "same_source": list(self.same_source),
            "checkpoints": {k: round(v, 4) for k, v in self.checkpoints.items()},
        }

    def text(self) -> str:
        """Return the recipe as numbered steps in plain words, each with its cautions, and what to expect of it."""
        out = [OPENING, *([self.keep] if self.keep else []), ""]
        closing = caution("closing")
        told = told_once([step.cautions for step in self.steps])
        for number, (step, (new, before)) in enumerate(zip(self.steps, told, strict=True), start=1):
            out.append(f"{number}. {step.sentence}")
            out.extend(f"   Caution: {text}" for text in new)
            out.extend(f"   Caution: {short} (see step {first})." for short, first in before)
        out += [closing] if any(step.cautions for step in self.steps) else []
        out += ["", self.why]
        if self.folded:
            out.append("Folded away: " + "; ".join(self.folded) + ".")
        out.extend(f"Cannot be made again: {text}." for text in self.cannot)
        return "\n".join(out)
