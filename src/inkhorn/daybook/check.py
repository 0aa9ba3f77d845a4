"""Whether an entry may be recorded: names, times and hard impossibilities.

The check is made on the book as it would stand, so that an entry that arrives
late, an amendment and a striking-out are judged by what they do to all the
entries around them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from inkhorn.daybook import entries as e
from inkhorn.daybook.book import Recorded, effective, root_of, struck_out
from inkhorn.daybook.bounds import impossible
from inkhorn.daybook.inventory import SORTS, Inventory, Thing, take_inventory
from inkhorn.daybook.names import known, nearest, said
from inkhorn.daybook.times import overlaps
from inkhorn.errors import (
    EntryError,
    EntryErrors,
    ImpossibleError,
    InkhornError,
    TimeError,
    UnknownNameError,
)

_Fault = tuple[int, InkhornError]


def check(entry: e.Entry, book: Iterable[Recorded]) -> tuple[str, ...]:
    """Check one entry against the book it is to join.

    Parameters
    ----------
    entry : Entry
        What is to be recorded.
    book : iterable of Recorded
        The whole book as recorded, or only what stands of it; an amendment or
        a striking-out needs the whole.

    Returns
    -------
    tuple of str
        What should be said: things that were only mentioned and are now taken to be there.

    Raises
    ------
    EntryErrors
        The entry names something unknown, is dated inside another step, or cannot have happened.
    """
    lines = tuple(book)
    number = max((line.number for line in lines), default=0) + 1
    faults: list[InkhornError] = list(_target(entry, lines))
    if faults:
        raise EntryErrors(faults)
    line = Recorded(number=number, entry=entry, raw={"replacement": {}}, recorded_at=entry.at)
    before, after = effective(lines), effective((*lines, line))
    had, has = take_inventory(before), take_inventory(after)
    found = list(examine(after, has))
    if found:
        # A book that was already at odds with a stricter rule still takes new entries.
        old = {(n, fault.what) for n, fault in examine(before, had)}
        new = [(n, fault) for n, fault in found if (n, fault.what) not in old]
        mine = {_own_number(entry, number, lines)}
        # What follows from a fault of the entry itself is not told beside it.
        new = [pair for pair in new if pair[0] in mine] or new
        faults = [_placed(n, fault, number, after) for n, fault in new]
    if faults:
        raise EntryErrors(faults)
    return tuple(_notices(had, has))


def _own_number(entry: e.Entry, number: int, lines: Sequence[Recorded]) -> int:
    """Return the number under which an entry stands in the book: of an amendment, that of what it amends."""
    if isinstance(entry, e.Amend):
        return root_of(entry.entry, {line.number: line for line in lines})
    return number


def examine(standing: Sequence[Recorded], inventory: Inventory) -> Iterator[_Fault]:
    """Yield (number of the entry, fault) for everything in a book that cannot be."""
    named = list(_names(standing, inventory))
    yield from named
    bad = {number for number, _ in named}
    sound = [line for line in standing if line.number not in bad]
    yield from overlaps(sound)
    yield from impossible(sound, inventory)


def _placed(number: int, fault: InkhornError, new: int, standing: Sequence[Recorded]) -> InkhornError:
    """Say of which entry a fault speaks, where it is not the new one."""
    if number == new or not any(line.number == number for line in standing):
        return fault
    line = next(line for line in standing if line.number == number)
    where = f"entry {number} ({fault.where or line.kind})"
    return type(fault)(f"{fault.what}, as the book would then stand", where=where, mend=fault.mend)


# ---------------------------------------------------------------- amendments


def _target(entry: e.Entry, lines: Sequence[Recorded]) -> Iterator[InkhornError]:
    if not isinstance(entry, e.Amend | e.Void):
        return
    by_number = {line.number: line for line in lines}
    where = f"{entry.kind} entry"
    target = by_number.get(entry.entry)
    if target is None:
        last = max(by_number, default=0)
        mend = f"The last entry is {last}" if last else "The daybook is empty"
        yield UnknownNameError(f"there is no entry {entry.entry}", where=where, mend=mend)
        return
    live = {line.number for line in effective(lines)}
    struck = struck_out(lines)
    if entry.entry in struck:
        yield EntryError(f"entry {entry.entry} is already struck out", where=where, mend="Record it anew")
    elif isinstance(entry, e.Amend):
        if isinstance(target.entry, e.Void):
            yield EntryError(f"entry {entry.entry} strikes another out", where=where, mend="Void it instead")
        elif root_of(entry.entry, by_number) not in live:
            yield EntryError(f"entry {entry.entry} no longer stands", where=where, mend="Record it anew")


# ---------------------------------------------------------------- names


def _names(standing: Sequence[Recorded], inventory: Inventory) -> Iterator[_Fault]:
    materials: dict[str, str] = {}
    marked: dict[str, Recorded] = {}
    for line in standing:
        for fault in _names_of(line, inventory, materials, marked):
            yield line.number, fault


def _names_of(
    line: Recorded, inventory: Inventory, materials: dict[str, str], marked: dict[str, Recorded]
) -> Iterator[InkhornError]:
    entry = line.entry
    if isinstance(entry, e.Gather):
        first = materials.setdefault(entry.lot, entry.material)
        if first != entry.material:
            yield ImpossibleError(
                f"lot {entry.lot} is already {said(first)}",
                where="gather lot",
                mend=f"Give this {said(entry.material)} a lot of its own",
            )
    lot = getattr(entry, "lot", None)
    if isinstance(lot, str) and not isinstance(entry, e.Gather | e.Crystallise):
        yield from _lot(lot, inventory, entry.kind)
    if isinstance(entry, e.Mark):
        yield from _mark(line, entry, inventory, marked)
    if isinstance(entry, e.Reading):
        yield from _reading(line, entry, inventory, marked)


def _lot(lot: str, inventory: Inventory, kind: str) -> Iterator[InkhornError]:
    """Refuse a lot that nothing declares and whose name is no material."""
    thing = inventory.lots[lot]
    if not thing.implied or thing.material is not None:
        return
    declared = [name for name, other in inventory.lots.items() if not other.implied]
    near = nearest(lot, [*declared, *known("materials"), *known("liquids")])
    mend = f"The nearest is {near}; or gather it first" if near else "Gather it first, and say what it is"
    yield UnknownNameError(f"no lot is called {lot}, and it is no material", where=f"{kind} lot", mend=mend)


def _mark(
    line: Recorded, entry: e.Mark, inventory: Inventory, marked: dict[str, Recorded]
) -> Iterator[InkhornError]:
    first = marked.setdefault(entry.trial, line)
    if first is not line:
        yield EntryError(
            f"there is already a trial {entry.trial} (entry {first.number})",
            where="mark trial",
            mend=f"Call it {_free(entry.trial, inventory)}",
        )


def _free(name: str, inventory: Inventory) -> str:
    """Return a name of the same stem that no trial has: t4 after t3."""
    stem = name.rstrip("0123456789") or "t"
    number = int(name[len(stem) :] or 1) + 1
    while f"{stem}{number}" in inventory.trials:
        number += 1
    return f"{stem}{number}"


def _reading(
    line: Recorded, entry: e.Reading, inventory: Inventory, marked: dict[str, Recorded]
) -> Iterator[InkhornError]:
    sort, name = entry.subject
    if sort == "lot":
        yield from _lot(name, inventory, "reading of")
    if sort == "trial":
        yield from _trial(name, inventory, marked, entry.at, "reading of")
    other = entry.compared
    if other is not None:
        yield from _trial(other[1], inventory, marked, entry.at, "reading value")
    if entry.against is not None and entry.against not in inventory.exemplars:
        near = nearest(entry.against, inventory.exemplars)
        mend = f"The nearest is {near}" if near else "Record a reading of the exemplar first"
        yield UnknownNameError(f"no exemplar is called {entry.against}", where="reading against", mend=mend)
    # An exemplar that came later does not make an earlier word doubtful.
    before = [name for name, thing in inventory.exemplars.items() if thing.created_by < line.number]
    if entry.against is None and entry.what in ("depth", "hue") and len(before) > 1:
        yield EntryError(
            f"{entry.what} is told against an exemplar, and there are {len(before)}",
            where="reading against",
            mend=f"Give against: {' or '.join(before)}",
        )


def _trial(
    name: str, inventory: Inventory, marked: dict[str, Recorded], at: datetime, where: str
) -> Iterator[InkhornError]:
    if name in marked:
        return
    thing = inventory.trials.get(name)
    if thing is not None and not thing.implied:
        yield TimeError(
            f"trial {name} was marked after {at:%Y-%m-%dT%H:%M}",
            where=where,
            mend="Give the reading a later time, or amend the mark",
        )
        return
    trials = [key for key, other in inventory.trials.items() if not other.implied]
    near = nearest(name, trials)
    mend = f"The nearest is {near}" if near else "Mark it first"
    yield UnknownNameError(f"no trial is called {name}", where=where, mend=mend)


# ---------------------------------------------------------------- what is said


def _notices(had: Inventory, has: Inventory) -> Iterator[str]:
    for sort in SORTS:
        for name, thing in has.of(sort).items():
            if thing.implied and name not in had.of(sort):
                yield notice(thing, [other for other in had.of(sort).values() if not other.implied])


def notice(thing: Thing, declared: Sequence[Thing] = ()) -> str:
    """Return what should be said of a thing that was only mentioned, and of a declared one of the same kind."""
    name = said(thing.name)
    if thing.material is not None:
        same = [said(other.name) for other in declared if other.material == thing.material]
        beside = f", apart from {' and '.join(same)}" if same else ""
        as_what = said(thing.material)
        taken = "taken for what its name says" if as_what == name else f"taken as {as_what}"
        return f"{name[:1].upper()}{name[1:]} is new here, {taken}{beside}."
    if thing.sort == "vessel":
        return f"The {name} is new here; how much it holds is not known."
    return f"The {thing.sort} {name} is new here; of which kind it is, is not known."
