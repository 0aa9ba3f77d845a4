"""When the steps of one sentence were done: a told time holds for what hangs on it, and none comes before its forerunner."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from inkhorn.sentences.reading import Reading
from inkhorn.sentences.times import seconds, stamp

Entry = dict[str, Any]
_HANGS = frozenset({"AND", "COMMA", "THEN", "BUT"})


def in_turn(readings: Sequence[Reading], joints: Sequence[str], now: datetime) -> tuple[Entry, ...]:
    """Return the entries of one clause after the other, each with a time that fits its turn.

    A step that hangs on one with a told time ("this morning I strained it and added
    40 g") begins where that ended. A step told before another is not later than it:
    where no time was told of it, it ended when the other began.

    Parameters
    ----------
    readings : sequence of Reading
        What each clause says.
    joints : sequence of str
        The separator before each.
    now : datetime
        When it is said.
    """
    rows: list[tuple[Entry, bool, int]] = []
    carried: datetime | None = None
    for number, (found, joint) in enumerate(zip(readings, joints, strict=True)):
        if joint not in _HANGS:
            carried = None
        for said in found.entries:
            entry, told = said, found.told
            if not told and carried is not None and _is_step(entry):
                entry, told = _dated(entry, min(carried, now), now), True
            elif not told and joint == "THEN" and rows and _goes_on(rows[-1][0], entry):
                entry = _dated(entry, now - _length(entry), now)
            rows.append((entry, told, number))
            if told and _is_step(entry):
                carried = _at(entry, now) + _length(entry)
    return _backwards(rows, now)


def _backwards(rows: Sequence[tuple[Entry, bool, int]], now: datetime) -> tuple[Entry, ...]:
    """Bring what no time was told of before what follows; entries of one clause go side by side."""
    out: list[Entry] = []
    later: datetime | None = None
    begin: datetime | None = None
    clause = len(rows)
    behind: set[str] = set()
    for said, told, number in reversed(rows):
        entry = said
        if not _is_step(entry):
            out.append(entry)
            continue
        if number != clause:
            later, clause = begin, number
        beside = entry["kind"] in _STANDING and bool(behind) and not _vessels(entry) & behind
        if not told and later is not None and not beside and _at(entry, now) + _length(entry) > later:
            entry = _dated(entry, later - _length(entry), now)
        behind |= _vessels(entry)
        begin = min(_at(entry, now), begin or now)
        out.append(entry)
    return tuple(reversed(out))


#: Steps that need nobody: two vessels may stand at once.
_STANDING = frozenset({"steep", "weather", "rest"})


def _vessels(entry: Entry) -> set[str]:
    """Return the vessels that a step is in."""
    return {str(entry[key]) for key in ("vessel", "into", "from") if key in entry}


def _goes_on(before: Entry, entry: Entry) -> bool:
    """Return whether a step is the next stretch of one that is over: "simmered it hard for ten minutes, then gently for an hour"."""
    over = "at" in before and "for" in before
    return over and before["kind"] == entry["kind"] and "for" in entry and "at" not in entry


def _is_step(entry: Entry) -> bool:
    return entry["kind"] not in ("amend", "void", "remark", "reading", "vessel", "support", "pen")


def _at(entry: Entry, now: datetime) -> datetime:
    return datetime.fromisoformat(entry["at"]) if "at" in entry else now


def _length(entry: Entry) -> timedelta:
    return timedelta(seconds=seconds(str(entry.get("for", ""))) if "for" in entry else 0)


def _dated(entry: Entry, at: datetime, now: datetime) -> Entry:
    rest = {key: value for key, value in entry.items() if key != "at"}
    return rest if at == now else {"at": stamp(at), **rest}
