"""Hard impossibilities: more than was ever put in, more than a vessel holds.

Each kind of entry moves the bounds of a `Ledger`. Only what even those bounds
do not allow is refused; what is merely unlikely is left to the estimate.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence

from inkhorn.daybook import entries as e
from inkhorn.daybook.book import Recorded
from inkhorn.daybook.inventory import Inventory
from inkhorn.daybook.ledger import Ledger, said_of, share_of
from inkhorn.daybook.names import nearest
from inkhorn.daybook.times import after
from inkhorn.errors import EntryError, ImpossibleError, InkhornError, UnknownNameError
from inkhorn.quantities import Quantity


def impossible(effective: Sequence[Recorded], inventory: Inventory) -> Iterator[tuple[int, InkhornError]]:
    """Go through the entries in order of time; yield (number, fault) for each that cannot be."""
    ledger = Ledger(inventory)
    for line in effective:
        try:
            move(line.entry, ledger)
        except EntryError as fault:
            yield line.number, fault


@functools.singledispatch
def move(entry: e.Entry, ledger: Ledger) -> None:
    """Carry one entry through the ledger; raise an `EntryError` where it cannot be."""


@move.register
def _(entry: e.Gather, ledger: Ledger) -> None:
    ledger.gather(entry.lot, entry.amount)


@move.register
def _(entry: e.Prepare, ledger: Ledger) -> None:
    heap = ledger.heap(entry.lot)
    if entry.to is None or entry.to.dimension == "length":
        if entry.how in ("crush", "grind"):
            heap.most = {d: most for d, most in heap.most.items() if d != "volume"}  # it packs differently
        return
    heap.most = {entry.to.dimension: ledger.high(entry.to)}


@move.register
def _(entry: e.Bring, ledger: Ledger) -> None:
    low, high = ledger.volume(entry.amount, entry.vessel, "bring amount")
    ledger.put(entry.vessel, low, high, at=entry.at, where="bring amount", said=entry.amount.text)


def _soak(entry: e.Steep | e.Weather, ledger: Ledger) -> None:
    low, high = ledger.volume(entry.liquid_amount, entry.into, f"{entry.kind} liquid_amount")
    ledger.put(
        entry.into, low, high, at=entry.at, where=f"{entry.kind} liquid_amount", said=entry.liquid_amount.text
    )
    if entry.amount is not None and entry.lot is not None:
        ledger.pot(entry.into).most += ledger.take(entry.lot, entry.amount, f"{entry.kind} amount")
    ledger.pot(entry.into).marc = True
    ledger.settle(entry.into, entry)


@move.register
def _(entry: e.Steep, ledger: Ledger) -> None:
    if entry.marc_of is not None:
        pot = ledger.pot(entry.marc_of)
        if not pot.marc:
            holding = [name for name, other in ledger.pots.items() if other.marc]
            mend = f"There is marc in {', '.join(holding)}" if holding else "Steep a lot first"
            raise ImpossibleError(f"{entry.marc_of} holds no marc", where="steep marc_of", mend=mend)
        pot.marc = entry.amount is not None and entry.amount.how != "exact"
        if entry.marc_of != entry.into:
            ledger.pot(entry.into).most += pot.most  # the marc brings the liquor that it held back
    _soak(entry, ledger)


@move.register
def _(entry: e.Weather, ledger: Ledger) -> None:
    _soak(entry, ledger)


@move.register
def _(entry: e.Strain, ledger: Ledger) -> None:
    source = ledger.full_pot(entry.vessel, "strain vessel")
    if entry.into == entry.vessel:
        source.least = 0
        return
    # What the marc holds back stays, so nothing is sure to have gone over.
    ledger.put(entry.into, 0, source.most, at=entry.at, where="strain into", said="the liquor")
    source.least = 0


@move.register
def _(entry: e.Reduce, ledger: Ledger) -> None:
    pot = ledger.full_pot(entry.vessel, "reduce vessel")
    if entry.to is None:
        ledger.settle(entry.vessel, entry)
        return
    if entry.to.dimension == "fraction":
        pot.most, pot.least = share_of(pot.most, min(1, ledger.high(entry.to))), 0
        return
    least, most = ledger.volume(entry.to, entry.vessel, "reduce to")
    if least > pot.most:
        raise ImpossibleError(
            f"{entry.vessel} cannot be boiled down to {entry.to.text!r}: at most {said_of(pot.most, 'ml')} was in it",
            where="reduce to",
            mend="Give a smaller volume, or amend what was put in",
        )
    pot.most, pot.least = min(most, pot.most), least
    pot.sure_until = after(entry.at, ledger.limits.stays * 3600)


@move.register
def _(entry: e.Neutralise, ledger: Ledger) -> None:
    ledger.full_pot(entry.vessel, "neutralise vessel")
    ledger.pot(entry.vessel).most += ledger.take(entry.lot, entry.amount, "neutralise amount")
    ledger.settle(entry.vessel, entry)


@move.register
def _(entry: e.Crystallise, ledger: Ledger) -> None:
    ledger.full_pot(entry.vessel, "crystallise vessel").least = 0
    ledger.gather(entry.lot, entry.amount)


@move.register
def _(entry: e.Add, ledger: Ledger) -> None:
    if entry.up_to is not None:
        low, high = ledger.volume(entry.up_to, entry.into, "add up_to")
        ledger.fits(entry.into, low, "add up_to", entry.up_to.text)
        pot = ledger.pot(entry.into)
        pot.most, pot.least, pot.filled = max(pot.most, high), low, True
        pot.sure_until = after(entry.at, ledger.limits.stays * 3600)
        return
    amount = entry.amount
    if amount is None:
        return
    if entry.liquid is not None:
        if amount.dimension == "fraction":
            raise ImpossibleError(
                f"{amount.text!r} of what cannot be told", where="add amount", mend="Give a volume"
            )
        low, high = ledger.volume(amount, entry.into, "add amount")
        ledger.put(entry.into, low, high, at=entry.at, where="add amount", said=amount.text)
    elif entry.lot is not None:
        if amount.dimension == "length":
            raise ImpossibleError(
                f"{amount.text!r} is a depth, and a lot has none",
                where="add amount",
                mend="Give a mass or volume",
            )
        most = ledger.take(entry.lot, amount, "add amount")
        ledger.put(entry.into, 0, most, at=entry.at, where="add amount", said=amount.text)


@move.register
def _(entry: e.Pour, ledger: Ledger) -> None:
    if entry.from_ == entry.into:
        raise ImpossibleError(f"{entry.into} cannot be poured into itself", where="pour into")
    low, high = ledger.draw(entry.from_, entry.amount, "pour amount")
    ledger.put(entry.into, low, high, at=entry.at, where="pour amount", said=entry.amount.text)


@move.register
def _(entry: e.Discard, ledger: Ledger) -> None:
    ledger.draw(entry.vessel, entry.amount, "discard amount")


@move.register(e.Warm)
@move.register(e.Rest)
@move.register(e.Skim)
@move.register(e.Store)
def _(entry: e.Warm | e.Rest | e.Skim | e.Store, ledger: Ledger) -> None:
    pot = ledger.full_pot(entry.vessel, f"{entry.kind} vessel")
    pot.least = 0  # warm, open and standing: it dries


@move.register
def _(entry: e.Mark, ledger: Ledger) -> None:
    ledger.full_pot(entry.vessel, "mark vessel")


@move.register
def _(entry: e.Reading, ledger: Ledger) -> None:
    sort, name = entry.subject
    if sort != "vessel":
        return
    if not ledger.pot(name).filled and ledger.thing(name).implied:
        near = nearest(name, [other for other, pot in ledger.pots.items() if pot.filled])
        mend = f"The nearest vessel is {near}" if near else "Declare it, or put something in first"
        raise UnknownNameError(f"no vessel is called {name}", where="reading of", mend=mend)
    if entry.what == "volume" and isinstance(entry.value, Quantity):
        low, _ = ledger.volume(entry.value, name, "reading value")
        ledger.fits(name, low, "reading value", entry.value.text)
