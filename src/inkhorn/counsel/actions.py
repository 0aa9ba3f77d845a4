"""What can be done to a pot with what is on the bench.

You cannot take iron out; water goes in as water and out as steam. Each action
knows how much of it there can be, how to be an entry of the daybook, and what
it is called in a sentence.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

import attrs
import numpy as np

from inkhorn.daybook.entries import Add, Entry, Pour, Reduce, Warm
from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.load import value
from inkhorn.quantities import Quantity
from inkhorn.replay import composition, dissolve
from inkhorn.replay.fold import Plan
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS

#: Entry numbers that no daybook uses: counsel's hypothetical steps are numbered below zero.
FIRST_NUMBER = -1
_ADDABLE = {
    "iron salt": "most.iron",
    "gum": "most.gum",
    "pure tannin": "most.tannin",
    "gallic acid": "most.tannin",
}
GRAM, ML, SHARE = "g", "ml", "1"


@attrs.frozen(kw_only=True)
class Action:
    """One thing that can be done, with the most of it that may be.

    Parameters
    ----------
    kind : str
        add-lot, add-liquid, pour, reduce or warm.
    what : str
        Lot, liquid or vessel concerned; empty for reduce and warm.
    material : str
        Handbook key, for cautions and words.
    most : float
        Upper end of its amount, in ``unit``: g, ml, the share boiled off, or
        degrees above the present.
    cost : float
        What the whole of ``most`` costs, in units of CIEDE2000.
    once : float
        What doing it at all costs beside, however little of it.
    """

    kind: str
    vessel: str
    what: str
    material: str
    most: float
    unit: str
    cost: float = 0.0
    once: float = 0.0

    @property
    def for_good(self) -> bool:
        """Say whether it cannot be taken back: what is stirred or poured in stays in."""
        return self.kind in ("add-lot", "pour")

    def step(self, at: datetime) -> Entry:
        """Return the entry whose amount counsel will vary; its own quantity is a placeholder."""
        if self.kind == "add-lot":
            return Add(at=at, into=self.vessel, lot=self.what, amount=_hole("g", "mass"))
        if self.kind == "add-liquid":
            return Add(at=at, into=self.vessel, liquid=self.what, amount=_hole("ml", "volume"))
        if self.kind == "pour":
            return Pour(at=at, from_=self.what, into=self.vessel, amount=_hole("ml", "volume"))
        if self.kind == "reduce":
            return Reduce(at=at, vessel=self.vessel, to=_hole("ml", "volume"))
        return Warm(at=at, vessel=self.vessel, to=_hole("degC", "temperature"))

    @property
    def key(self) -> str:
        """Return the key of the entry that carries the amount."""
        return "to" if self.kind in ("reduce", "warm") else "amount"

    def entry(self, amount: float, volume: float) -> dict[str, Any]:
        """Return the complete entry without ``at``, its amount in the maker's units."""
        if self.kind == "add-lot":
            return {"kind": "add", "into": self.vessel, "lot": self.what, "amount": written(amount, GRAM)}
        if self.kind == "add-liquid":
            return {"kind": "add", "into": self.vessel, "liquid": self.what, "amount": written(amount, ML)}
        if self.kind == "pour":
            return {"kind": "pour", "from": self.what, "into": self.vessel, "amount": written(amount, ML)}
        if self.kind == "reduce":
            return {
                "kind": "reduce",
                "vessel": self.vessel,
                "to": written(sensible(volume * (1 - amount)), ML),
            }
        return {"kind": "warm", "vessel": self.vessel, "to": f"{amount:g} degC"}


def _hole(unit: str, dimension: str) -> Quantity:
    return Quantity(text="", value=1.0, unit=unit, sd=0.0, dimension=dimension, how="exact")


def sensible(number: float, *, down: bool = False) -> float:
    """Return a number to two significant digits, as a maker would measure it out; ``down`` never rounds up."""
    if number <= 0:
        return 0.0
    step = 10.0 ** (np.floor(np.log10(number)) - 1)
    steps = np.floor(number / step) if down else np.round(number / step)
    return float(steps * step)


def written(amount: float, unit: str) -> str:
    """Return an amount as an entry has it, two digits at least: "6 g" would be read as weighed to the gram only."""
    places = max(0, 1 - int(np.floor(np.log10(amount)))) if amount > 0 else 0
    return f"{amount:.{places}f} {unit}"


def menu(post: Posterior, vessel: str) -> tuple[Action, ...]:
    """Return all that can be done to a vessel with what is on the bench, in the usual order of doing it.

    What is poured in is boiled down with the rest; salts and gum go in after
    boiling, which would turn and scorch them.
    """
    state = post.played.world.vessels[vessel]
    ml = float(np.median(composition.volume(state.liquor, state.temperature)))
    room = _room(post.problem.plan, vessel, ml)
    water = most_used_water(post.problem.plan)
    thinning = value("counsel.most.water") * ml
    now = float(np.median(state.temperature)) - ZERO_CELSIUS
    out = [
        *_pours(post, vessel, ml),
        _action(vessel, "reduce", value("counsel.most.reduce"), SHARE, cost=value("counsel.weight.loss")),
        *_lots(post, vessel, ml),
        _action(vessel, "add-liquid", min(thinning, room), ML, what=water),
        _action(vessel, "warm", value("counsel.most.warm") - now, "degC", once=value("counsel.weight.warm")),
    ]
    return tuple(a for a in out if a.most > 0 and (a.kind != "warm" or a.most > 1))


def _action(
    vessel: str,
    kind: str,
    most: float,
    unit: str,
    *,
    what: str = "",
    material: str = "",
    cost: float = 0.0,
    once: float = 0.0,
) -> Action:
    return Action(
        kind=kind, vessel=vessel, what=what, material=material, most=most, unit=unit, cost=cost, once=once
    )


def _pours(post: Posterior, vessel: str, ml: float) -> list[Action]:
    out = []
    for name, other in post.played.world.vessels.items():
        held = float(np.median(composition.volume(other.liquor, other.temperature)))
        if name != vessel and held > 0 and not other.withheld and other.marc is None:
            out.append(_action(vessel, "pour", min(held, 2 * ml), ML, what=name))
    return out


def _room(plan: Plan, vessel: str, ml: float) -> float:
    """Return how much more a vessel can hold, ml; without end where nobody said."""
    thing = plan.shelf.vessels.get(vessel)
    if thing is None or thing.capacity is None:
        return float("inf")
    return max(thing.capacity.value - ml, 0.0)


def _lots(post: Posterior, vessel: str, ml: float) -> list[Action]:
    out = []
    for name, lot in post.played.world.lots.items():
        if lot.withheld or not dissolve.is_material(lot.material):
            continue
        kind = dissolve.role(lot.material)
        if kind not in _ADDABLE:
            continue
        most = value(f"counsel.{_ADDABLE[kind]}") * ml * dissolve.LITRES_PER_ML
        if lot.mass is not None:
            # Only what is surely there: the lower tenth of what the estimate says is left.
            most = min(most, float(np.percentile(lot.mass, 10)))
        out.append(_action(vessel, "add-lot", most, GRAM, what=name, material=lot.material))
    return out


def most_used_water(plan: Plan) -> str:
    """Return the water this daybook uses: the last one steeped in or added, else water."""
    waters = [
        str(getattr(e.entry, "liquid", None))
        for e in plan.entries
        if "water" in str(getattr(e.entry, "liquid", None))
    ]
    return waters[-1] if waters else "water"
