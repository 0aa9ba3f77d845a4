"""The most that can be left of a lot, the most and the least that can be in a vessel.

The most takes every input at so many standard deviations above its centre
(handbook row ``measures.bound.deviations``) and every taking as far below;
the least that surely is in a vessel lasts until anything could have boiled,
dried or been taken away.
"""

from __future__ import annotations

import functools
import math
from datetime import datetime

import attrs

from inkhorn.daybook import entries as e
from inkhorn.daybook.inventory import Inventory, Thing, lot_named, volume_of_depth
from inkhorn.daybook.names import nearest
from inkhorn.daybook.times import after, length
from inkhorn.errors import ImpossibleError
from inkhorn.handbook.load import value
from inkhorn.quantities import Quantity


@attrs.frozen
class Limits:
    """The coarse bounds of the handbook (``measures.bound``)."""

    deviations: float
    density_low: float
    density_high: float
    solid_volume: float
    stays: float


@functools.cache
def limits() -> Limits:
    """Return the bounds of the installed handbook."""
    names = ("deviations", "density_low", "density_high", "solid_volume", "stays")
    return Limits(*(value(f"measures.bound.{name}") for name in names))


@attrs.define
class Pot:
    """What a vessel may hold: most and least in ml, until when the least is sure, whose marc is in it."""

    most: float = 0
    least: float = 0
    sure_until: datetime = datetime.min  # noqa: DTZ901 - the daybook keeps local times
    filled: bool = False
    marc: bool = False


@attrs.define
class Heap:
    """What may be left of a lot: most, by dimension; infinite where it was never measured."""

    most: dict[str, float] = attrs.Factory(dict)

    def left(self, dimension: str) -> float:
        """Return the most that may be left, told in a dimension."""
        return self.most.get(dimension, math.inf)


class Ledger:
    """The running bounds of every lot and vessel.

    Parameters
    ----------
    inventory : Inventory
        What the whole book declares: capacities, depths, materials.
    """

    def __init__(self, inventory: Inventory) -> None:
        self.inventory = inventory
        self.limits = limits()
        self.pots: dict[str, Pot] = {}
        self.heaps: dict[str, Heap] = {}

    # ------------------------------------------------------------ bounds of one amount

    def high(self, amount: Quantity) -> float:
        """Return the most that an amount can be."""
        return amount.beyond(self.limits.deviations)

    def low(self, amount: Quantity) -> float:
        """Return the least that an amount can be."""
        return max(0, amount.beyond(-self.limits.deviations))

    def volume(self, amount: Quantity, vessel: str, where: str) -> tuple[float, float]:
        """Return the least and most ml that an amount of liquid can be; (0, inf) for a share."""
        if amount.dimension == "length":
            amount = volume_of_depth(amount, self.thing(vessel), where)
        if amount.dimension == "volume":
            return self.low(amount), self.high(amount)
        if amount.dimension == "mass":
            return self.low(amount) / self.limits.density_high, self.high(amount) / self.limits.density_low
        return 0, math.inf

    def thing(self, vessel: str) -> Thing:
        """Return what is declared of a vessel."""
        return self.inventory.vessels[vessel]

    # ------------------------------------------------------------ lots

    def heap(self, lot: str) -> Heap:
        """Return what may be left of a lot."""
        return self.heaps.setdefault(lot, Heap())

    def gather(self, lot: str, amount: Quantity | None) -> None:
        """Add a harvest. A lot that was used before it was gathered stays without a bound."""
        heap = self.heaps.get(lot)
        if amount is None:
            self.heaps[lot] = Heap()
        elif heap is None:
            self.heaps[lot] = Heap({amount.dimension: self.high(amount)})
        elif amount.dimension in heap.most:
            heap.most[amount.dimension] += self.high(amount)
        else:
            heap.most = {}  # some by mass, some by volume: no bound without its bulk density

    def take(self, lot: str, amount: Quantity, where: str) -> float:
        """Take from a lot; refuse more than was ever there; return the most ml it can add to a liquor."""
        heap = self.heap(lot)
        if amount.dimension == "fraction":
            if amount.of is not None and lot_named(amount.of, self.inventory) not in (None, lot):
                raise ImpossibleError(
                    f"{amount.text!r} is of another lot than {lot}", where=where, mend=f"Say it of {lot}"
                )
            taken = min(1, self.high(amount)) * min(self._bulk(d, most) for d, most in _all(heap))
            kept = 1 - min(1, self.low(amount))
            heap.most = {dimension: most * kept for dimension, most in heap.most.items()}
            return taken
        least, left = self.low(amount), heap.left(amount.dimension)
        if least > left:
            raise ImpossibleError(
                f"{amount.text!r} is more than can be left of {lot}: at most {said_of(left, amount.unit)}",
                where=where,
                mend=f"Gather more of {lot} first, or amend what was gathered or used",
            )
        if amount.dimension in heap.most:
            heap.most[amount.dimension] = left - least
        return self._bulk(amount.dimension, self.high(amount))

    def _bulk(self, dimension: str, most: float) -> float:
        """Return the most ml that so much of a solid can add to a liquor."""
        return most * self.limits.solid_volume if dimension == "mass" else most

    # ------------------------------------------------------------ vessels

    def pot(self, vessel: str) -> Pot:
        """Return what may be in a vessel."""
        return self.pots.setdefault(vessel, Pot())

    def full_pot(self, vessel: str, where: str) -> Pot:
        """Return a pot that something was put into; refuse one that never held anything."""
        pot = self.pot(vessel)
        if not pot.filled:
            near = nearest(vessel, [name for name, other in self.pots.items() if other.filled])
            mend = f"The nearest vessel with something in it is {near}" if near else "Put something in first"
            raise ImpossibleError(f"nothing was ever put into {vessel}", where=where, mend=mend)
        return pot

    def put(self, vessel: str, low: float, high: float, *, at: datetime, where: str, said: str) -> None:
        """Add to a vessel; refuse more than its stated capacity."""
        pot = self.pot(vessel)
        least = low + (pot.least if at <= pot.sure_until else 0)
        self.fits(vessel, least, where, said)
        pot.most += high
        pot.least, pot.sure_until, pot.filled = least, after(at, self.limits.stays * 3600), True

    def fits(self, vessel: str, least: float, where: str, said: str) -> None:
        """Refuse more than the stated capacity of a vessel."""
        capacity = self.thing(vessel).capacity
        if capacity is not None and least > self.high(capacity):
            raise ImpossibleError(
                f"{said!r} brings {vessel} to at least {said_of(least, 'ml')}, and it holds {capacity.text}",
                where=where,
                mend="Use a larger vessel, or amend its capacity or what was put in",
            )

    def draw(self, vessel: str, amount: Quantity, where: str) -> tuple[float, float]:
        """Take from a vessel; return the least and most ml that left it."""
        pot = self.full_pot(vessel, where)
        if amount.dimension == "fraction":
            if amount.of is not None and amount.of != vessel and amount.of in self.inventory.vessels:
                raise ImpossibleError(
                    f"{amount.text!r} is of another vessel than {vessel}",
                    where=where,
                    mend=f"Say it of {vessel}",
                )
            low, high = min(1, self.low(amount)), min(1, self.high(amount))
            taken = pot.least * low, share_of(pot.most, high)
            pot.most, pot.least = share_of(pot.most, 1 - low), pot.least * (1 - high)
            return taken
        least, most = self.volume(amount, vessel, where)
        if least > pot.most:
            raise ImpossibleError(
                f"{amount.text!r} is more than {vessel} can hold now: at most {said_of(pot.most, 'ml')} is left of "
                "all that was put in",
                where=where,
                mend="Amend what was put in, or what was taken",
            )
        taken = least, min(most, pot.most)
        pot.most, pot.least = pot.most - least, max(0, pot.least - most)
        return taken

    def settle(self, vessel: str, entry: e.Entry) -> None:
        """After a step that may dry or boil, nothing is sure to be left; a step of no length leaves it."""
        if length(entry) > 0:
            self.pot(vessel).least = 0


def said_of(figure: float, unit: str) -> str:
    """Return a bound in plain words: kilograms and litres from a thousand up."""
    if unit in ("g", "ml") and figure >= 1000:
        return f"{figure / 1000:.3g} {'kg' if unit == 'g' else 'L'}"
    return f"{figure:.3g} {unit}"


def _all(heap: Heap) -> list[tuple[str, float]]:
    return list(heap.most.items()) or [("volume", math.inf)]


def share_of(figure: float, share: float) -> float:
    """Return a share of a figure that may be infinite; nothing of it is nothing."""
    return figure * share if share > 0 else 0
