"""Cups and saucers on which something is tried first: of which pot each is, and which still wait for their mark."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Pour

if TYPE_CHECKING:
    from inkhorn.web.fields import Bench

_SAUCER = re.compile(r"saucer-\d+")


def drawn(standing: Sequence[Recorded], sent_with: Callable[[int], tuple[int, ...]]) -> dict[str, str]:
    """Return the pot of each cup that was drawn from it to try something on.

    A cup is what counsel calls one (the pot's name with a number, a saucer), drawn in
    one go with what was tried on it. Where a pot was poured out whole there is none left to go back to.

    Parameters
    ----------
    standing : sequence of Recorded
        The lines that stand, in the order of time.
    sent_with : callable
        Gives the entries that were recorded in one go with one.
    """
    out: dict[str, str] = {}
    for line in standing:
        entry = line.entry
        if not isinstance(entry, Pour):
            continue
        if str(line.raw.get("amount", "")).strip().casefold() == "all":
            out = {cup: pot for cup, pot in out.items() if pot != entry.from_}
        elif _names_a_cup(entry.into, entry.from_) and sent_with(line.number):
            # What is poured into it next, from elsewhere, is what is tried on it.
            out.setdefault(entry.into, out.get(entry.from_, entry.from_))
    return out


def _names_a_cup(name: str, pot: str) -> bool:
    stem = re.escape(re.sub(r"-\d+$", "", pot))
    return bool(is_saucer(name) or re.fullmatch(rf"{stem}(-cup)?-\d+", name))


def pot_of(vessel: str, cups: Mapping[str, str]) -> str:
    """Return the pot that a vessel is a cup of, or the vessel itself."""
    return cups.get(vessel, vessel)


def is_saucer(name: str) -> bool:
    """Tell whether a vessel is a saucer in which a question is put to the ink: it becomes no ink to write with."""
    return _SAUCER.fullmatch(name) is not None


def untried(pot: str, bench: Bench) -> tuple[str, ...]:
    """Return the cups of a pot (not its saucers) with which no mark was made yet, in the order in which they were drawn."""
    return tuple(
        cup for cup, of in bench.cups.items() if of == pot and cup not in bench.marked and not is_saucer(cup)
    )
