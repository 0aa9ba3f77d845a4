"""The book as recorded, and as it stands once amendments and strikings-out are applied."""

from __future__ import annotations

import copy
from collections.abc import Iterable
from datetime import datetime
from typing import Any

import attrs

from inkhorn.daybook.entries import Amend, Entry, Void


@attrs.frozen(kw_only=True)
class Recorded:
    """One line of the daybook.

    Parameters
    ----------
    number : int
        Its place in the order of recording, from 1.
    entry : Entry
        What it says.
    raw : dict
        The JSON as it was given.
    recorded_at : datetime
        When it was recorded.
    amended_by : int, optional
        Number of the amendment whose replacement stands here.
    """

    number: int
    entry: Entry
    raw: dict[str, Any] = attrs.field(hash=False)
    recorded_at: datetime
    amended_by: int | None = None

    @property
    def kind(self) -> str:
        """Kind of the entry."""
        return self.entry.kind

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON as it was given."""
        return copy.deepcopy(self.raw)


def effective(recorded: Iterable[Recorded]) -> tuple[Recorded, ...]:
    """Return what stands: amended entries replaced, struck-out ones left out, sorted by (at, number).

    A `Void` may strike out any earlier entry, an amendment (what was amended
    then stands again) or another `Void` too. An `Amend` of an amendment
    replaces what that one stood for; of several, the last stands.
    """
    lines = {line.number: line for line in sorted(recorded, key=lambda line: line.number)}
    struck = struck_out(lines.values())
    standing = {
        number: line
        for number, line in lines.items()
        if number not in struck and not isinstance(line.entry, Amend | Void)
    }
    for number, line in lines.items():
        if number in struck or not isinstance(line.entry, Amend):
            continue
        root = root_of(line.entry.entry, lines)
        if root in standing:
            standing[root] = attrs.evolve(
                standing[root],
                entry=line.entry.replacement,
                raw=line.raw["replacement"],
                amended_by=number,
            )
    return tuple(sorted(standing.values(), key=lambda line: (line.entry.at, line.number)))


def root_of(number: int, lines: dict[int, Recorded]) -> int:
    """Return the number of the entry that an amendment, or a chain of them, is about."""
    while number in lines and isinstance(entry := lines[number].entry, Amend) and entry.entry < number:
        number = entry.entry
    return number


def struck_out(recorded: Iterable[Recorded]) -> frozenset[int]:
    """Return the numbers of the entries that a standing `Void` strikes out."""
    struck: set[int] = set()
    for line in sorted(recorded, key=lambda line: -line.number):
        if line.number not in struck and isinstance(line.entry, Void) and line.entry.entry < line.number:
            struck.add(line.entry.entry)
    return frozenset(struck)
