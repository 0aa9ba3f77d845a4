"""What can be done to a liquor with what is on the bench, as continuous amounts: the same for all who search them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import attrs
import numpy as np

from inkhorn.simulate.amounts import Said
from inkhorn.simulate.truth import Truth

#: Most of a thing for each litre of liquor (g), and of another liquor over the liquor itself.
MOST = {"vitriol": 60.0, "gum-arabic": 80.0, "plum-gum": 25.0, "cherry-gum": 20.0}
MOST_LIQUOR = 2.0
#: Boiled down to a fifth, watered to two and a half times.
THICKEST, THINNEST = math.log(5.0), -math.log(2.5)
#: Below this share of its most an amount is left out, below this change of strength nothing is boiled or watered.
TRIFLE, STILL = 0.002, 0.01


@attrs.frozen(kw_only=True)
class Knob:
    """One thing that can be done: "lot", "pour", "strength" (ln, boiled down above 0) or "warm" (degC)."""

    kind: str
    what: str
    low: float
    high: float


def knobs(truth: Truth, base: str, ml: float, *, warm: bool = False) -> tuple[Knob, ...]:
    """Return all that can be done to ``ml`` of a liquor; a maker sees how full jars and crocks are."""
    bench, litres, out = truth.bench, ml / 1000.0, []
    for name, vessel in bench.vessels.items():
        held = bench.volume(vessel)
        if name != base and held > 1.0 and vessel.marc is None and not name.startswith("cup"):
            out.append(Knob(kind="pour", what=name, low=0.0, high=min(held, MOST_LIQUOR * ml)))
    for name, most in MOST.items():
        if name in bench.lots and bench.lots[name].mass > 0:
            out.append(Knob(kind="lot", what=name, low=0.0, high=min(most * litres, bench.lots[name].mass)))
    out.append(Knob(kind="strength", what="", low=THINNEST, high=THICKEST))
    if warm:
        out.append(Knob(kind="warm", what="", low=bench.n("air.room"), high=45.0))
    return tuple(out)


def entries(
    space: Sequence[Knob], amounts: np.ndarray, base: str, ml: float, *, exact: bool = False
) -> tuple[list[dict[str, Any]], float | None]:
    """Return amounts as entries for a liquor of ``ml``, and the warmth to write at.

    Liquors and iron go in first, then it is boiled down or watered, then gum goes in. ``exact`` amounts are
    numbers for a truth, not words for a daybook.
    """

    def say(amount: float, unit: str) -> Any:
        return Said(value=amount, unit=unit, how="exact") if exact else f"{amount:.4g} {unit}"

    out: list[dict[str, Any]] = []
    late: list[dict[str, Any]] = []
    celsius, strength, running = None, 0.0, ml
    for knob, amount in zip(space, (float(a) for a in amounts), strict=True):
        if knob.kind == "strength":
            strength = amount
        elif knob.kind == "warm":
            celsius = round(amount, 1) if amount > knob.low + 1.0 else None
        elif amount > TRIFLE * knob.high:
            if knob.kind == "pour":
                running += amount
                out.append({"kind": "pour", "from": knob.what, "into": base, "amount": say(amount, "ml")})
            else:
                entry = {"kind": "add", "into": base, "lot": knob.what, "amount": say(amount, "g")}
                (late if knob.what.endswith("gum") or knob.what == "gum-arabic" else out).append(entry)
    if strength > STILL:
        out.append({"kind": "reduce", "vessel": base, "to": say(running * math.exp(-strength), "ml")})
    elif strength < -STILL:
        more = running * (math.exp(-strength) - 1.0)
        out.append({"kind": "add", "into": base, "liquid": "rainwater", "amount": say(more, "ml")})
    return out + late, celsius
