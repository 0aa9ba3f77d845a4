"""What there is: vessels, lots, supports, pens, trials and exemplars, as the daybook names them."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any

import attrs

from inkhorn.daybook import entries as e
from inkhorn.daybook.book import Recorded
from inkhorn.daybook.measures import measures
from inkhorn.daybook.names import find, guess, said
from inkhorn.errors import ImpossibleError
from inkhorn.quantities import UNITS, Quantity, read_quantity
from inkhorn.units import fold

SORTS = ("vessel", "lot", "support", "pen", "trial", "exemplar")


@attrs.frozen(kw_only=True)
class Thing:
    """One thing of the bench, with what is known of it.

    Parameters
    ----------
    name, sort : str
        Its name, and "vessel", "lot", "support", "pen", "trial" or "exemplar".
    created_by : int
        Number of the first entry that names it.
    at : datetime
        When it was first named.
    implied : bool
        Whether it is only mentioned, nowhere declared.
    material : str, optional
        Handbook key: of a lot its material, of a support its kind, of a pen its cut.
    amount : Quantity, optional
        What was gathered of a lot by its first `gather`.
    capacity, depth, made_of : optional
        Of a vessel.
    width : Quantity, optional
        Of a pen.
    side, preparation, source, part, age, leave : str, optional
        As declared.
    vessel, support, pen, method : str, optional
        Of a trial: whose ink, on what, with what, how.
    """

    name: str
    sort: str
    created_by: int
    at: datetime
    implied: bool = True
    material: str | None = None
    amount: Quantity | None = None
    capacity: Quantity | None = None
    depth: Quantity | None = None
    made_of: str | None = None
    width: Quantity | None = None
    side: str | None = None
    preparation: str | None = None
    source: str | None = None
    part: str | None = None
    age: str | None = None
    leave: str | None = None
    vessel: str | None = None
    support: str | None = None
    pen: str | None = None
    method: str | None = None


Shelf = Mapping[str, Thing]


@attrs.frozen(kw_only=True)
class Inventory:
    """Every thing by name, one mapping a sort, in the order in which they were first named."""

    vessels: Shelf
    lots: Shelf
    supports: Shelf
    pens: Shelf
    trials: Shelf
    exemplars: Shelf

    def of(self, sort: str) -> Shelf:
        """Return the mapping of a sort: ``of("vessel")`` is ``vessels``."""
        shelf: Shelf = getattr(self, f"{sort}s")
        return shelf


def take_inventory(effective: Iterable[Recorded]) -> Inventory:
    """Gather what the standing entries of a daybook name and declare."""
    shelves: dict[str, dict[str, Thing]] = {sort: {} for sort in SORTS}
    for line in effective:
        for sort, name, facts in mentions(line.entry):
            _put(shelves[sort], line, sort, name, facts)
    return Inventory(**{f"{sort}s": MappingProxyType(shelf) for sort, shelf in shelves.items()})


def _put(shelf: dict[str, Thing], line: Recorded, sort: str, name: str, facts: Mapping[str, Any]) -> None:
    thing = shelf.get(name)
    if thing is None:
        thing = Thing(name=name, sort=sort, created_by=line.number, at=line.entry.at, **_guessed(sort, name))
    known = {key: value for key, value in facts.items() if value is not None}
    known["created_by"] = min(thing.created_by, line.number)
    if "amount" in known and thing.amount is not None:
        del known["amount"]  # a second harvest; the first stays what the lot was declared with
    shelf[name] = attrs.evolve(thing, **known)


def _guessed(sort: str, name: str) -> dict[str, Any]:
    """Return what a bare name says: a lot "sumac-leaf", a support "goat-1", a pen "reed-3mm"."""
    if sort == "lot":
        return {"material": guess(name, "materials", "liquids")}
    if sort == "support":
        return {"material": guess(name, "supports")}
    if sort == "pen":
        return {"material": guess(name, "pens"), "width": _width(name)}
    return {}


def _width(name: str) -> Quantity | None:
    """Return the width that a pen's name ends in: 3 mm of "reed-3mm"."""
    found = re.search(r"(\d+(?:\.\d+)?)-?mm$", name)
    if found is None:
        return None
    return read_quantity(f"{found[1]} mm", expect=("length",), measures=measures())


# ---------------------------------------------------------------- what an entry names

_Mention = tuple[str, str, dict[str, Any]]


@functools.singledispatch
def mentions(entry: e.Entry) -> tuple[_Mention, ...]:
    """Return what an entry names: (sort, name, facts); facts with ``implied=False`` declare it."""
    out: list[_Mention] = []
    for key, sort in _NAMING.items():
        name = getattr(entry, key, None)
        if isinstance(name, str):
            out.append((sort, name, {}))
    return tuple(out)


_NAMING = {"vessel": "vessel", "into": "vessel", "from_": "vessel", "marc_of": "vessel", "lot": "lot"}


@mentions.register
def _(entry: e.Gather) -> tuple[_Mention, ...]:
    facts = {k: getattr(entry, k) for k in ("material", "amount", "source", "part", "age", "leave")}
    return (("lot", entry.lot, {"implied": False, **facts}),)


@mentions.register
def _(entry: e.Crystallise) -> tuple[_Mention, ...]:
    return (
        ("vessel", entry.vessel, {}),
        ("lot", entry.lot, {"implied": False, "amount": entry.amount}),
    )


@mentions.register
def _(entry: e.Vessel) -> tuple[_Mention, ...]:
    facts = {"capacity": entry.capacity, "made_of": entry.made_of, "depth": entry.depth}
    return (("vessel", entry.name, {"implied": False, **facts}),)


@mentions.register
def _(entry: e.Support) -> tuple[_Mention, ...]:
    facts = {"material": entry.material, "side": entry.side, "preparation": entry.preparation}
    return (("support", entry.name, {"implied": False, **facts}),)


@mentions.register
def _(entry: e.Pen) -> tuple[_Mention, ...]:
    return (("pen", entry.name, {"implied": False, "material": entry.cut, "width": entry.width}),)


@mentions.register
def _(entry: e.Mark) -> tuple[_Mention, ...]:
    facts = {k: getattr(entry, k) for k in ("vessel", "support", "pen", "method")}
    pen: tuple[_Mention, ...] = (("pen", entry.pen, {}),) if entry.pen else ()
    return (
        ("vessel", entry.vessel, {}),
        ("support", entry.support, {}),
        *pen,
        ("trial", entry.trial, {"implied": False, **facts}),
    )


@mentions.register
def _(entry: e.Reading) -> tuple[_Mention, ...]:
    sort, name = entry.subject
    if sort == "card":  # a thing to measure by, not one of the bench
        return ()
    declared = {"implied": False} if sort == "exemplar" else {}
    return ((sort, name, declared),)


# ---------------------------------------------------------------- looking things up


def lot_named(text: str, inventory: Inventory) -> str | None:
    """Return the lot that "the plum gum", "sumac" or "plum-gum" means: by its name, or as the only one of its material."""
    by_fold = {fold(name): name for name in inventory.lots}
    if fold(text) in by_fold:
        return by_fold[fold(text)]
    key = find(text, "materials", "liquids")
    same = [name for name, thing in inventory.lots.items() if key is not None and thing.material == key]
    return same[0] if len(same) == 1 else None


def held_against(line: Recorded, inventory: Inventory) -> str | None:
    """Return the exemplar that a reading of a trial is told against.

    As said; else the only one that was recorded before it (the check lets no
    other be left out); else the first that came after.
    """
    if not isinstance(line.entry, e.Reading):
        return None
    if line.entry.against is not None:
        return line.entry.against
    by_number = sorted(inventory.exemplars.values(), key=lambda thing: thing.created_by)
    before = [thing.name for thing in by_number if thing.created_by < line.number]
    return next(iter(before or [thing.name for thing in by_number]), None)


def volume_of_depth(depth: Quantity, vessel: Thing, where: str = "") -> Quantity:
    """Return the volume (ml) of a depth in a vessel of known capacity and inner depth, taken as straight-sided.

    The relative spreads of depth, capacity and inner depth add in squares.

    Raises
    ------
    ImpossibleError
        The vessel's capacity or inner depth is not known.
    """
    if vessel.capacity is None or vessel.depth is None:
        raise ImpossibleError(
            f"how much {depth.text!r} is cannot be told: {said(vessel.name)} has no known capacity and inner depth",
            where=where,
            mend=f"Declare vessel {vessel.name} with its capacity and depth, or give a volume",
        )
    parts = (depth, vessel.capacity, vessel.depth)
    value = depth.value * vessel.capacity.value / vessel.depth.value
    relative = sum((part.sd / part.value) ** 2 for part in parts) ** 0.5
    return Quantity(
        text=depth.text,
        value=value,
        unit=UNITS["volume"],
        sd=value * relative,
        dimension="volume",
        how=depth.how,
    )
