"""The corpus of a maker's sentences: how it is read, and how an answer to a sentence is judged.

Format and rules stand in ``tests/sentences/README.md``.
"""

from __future__ import annotations

import functools
import tomllib
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import attrs

from inkhorn.daybook.entries import Amend, Entry, Void
from inkhorn.daybook.measures import measures
from inkhorn.daybook.schema import KINDS
from inkhorn.daybook.wire import decode
from inkhorn.errors import EntryErrors
from inkhorn.quantities import Quantity, read_quantity
from support.book_builder import Bench

ROOT = Path(__file__).parents[1] / "sentences"
PARTS = ("open", "aside", "later", "blind", "last")
#: Told beside a step in the maker's own words; never scored.
TEXT_KEYS = frozenset({"age", "leave", "made_of", "part", "preparation", "source", "text", "why"})
#: Keys that an answer may give or fill in where the expected entry has none.
FILLED_IN = frozenset({"with_", "against", "pieces", "covered", "heat"})
UNDERSTOOD, ASKED, REFUSED, LOST, WRONG = (
    "understood",
    "asked rightly",
    "refused rightly",
    "not understood",
    "misunderstood silently",
)
_NEAR = 0.01  # two amounts are the same if their centres lie so near, as a share
_AT_ONCE = "2 min"  # where a clock time was told, or none


@attrs.frozen(kw_only=True)
class Sentence:
    """One sentence of the corpus and what is right to make of it."""

    part: str
    file: str
    say: str
    bench: str
    now: datetime
    style: tuple[str, ...]
    entries: tuple[Mapping[str, Any], ...] = ()
    or_entries: tuple[Mapping[str, Any], ...] = ()
    within: tuple[timedelta, ...] = ()
    asks: tuple[str, ...] = ()
    refused: str = ""

    @property
    def readings(self) -> tuple[tuple[Mapping[str, Any], ...], ...]:
        """The lists of entries that are right, each entry with its time."""
        return tuple(
            tuple(dated(raw, self.now) for raw in given) for given in (self.entries, self.or_entries) if given
        )

    def slack(self, place: int) -> timedelta:
        """How far ``at`` of the entry in this place may be off."""
        if not self.within:
            return _length(_AT_ONCE)
        return self.within[min(place, len(self.within) - 1)]


def dated(raw: Mapping[str, Any], now: datetime) -> dict[str, Any]:
    """Return an entry with ``at``: as it stands, or now."""
    return {"at": now.isoformat(timespec="minutes"), **raw}


@functools.cache
def sentences(part: str) -> tuple[Sentence, ...]:
    """Return every sentence of a part, in order of file and line."""
    return tuple(
        _sentence(part, path.stem, raw)
        for path in sorted((ROOT / part).glob("*.toml"))
        for raw in tomllib.loads(path.read_text("utf-8"))["sentence"]
    )


def _sentence(part: str, file: str, raw: dict[str, Any]) -> Sentence:
    given = dict(raw)
    given["now"] = datetime.fromisoformat(given["now"])
    for key in ("within", "asks"):
        value = given.get(key, ())
        given[key] = (value,) if isinstance(value, str) else tuple(value)
    given["within"] = tuple(_length(text) for text in given["within"])
    for key in ("style", "entries", "or_entries"):
        given[key] = tuple(given.get(key, ()))
    return Sentence(part=part, file=file, **given)


def _length(text: str) -> timedelta:
    return timedelta(seconds=read_quantity(text, expect=("time",), measures=measures()).value)


# ---------------------------------------------------------------- benches


@functools.cache
def benches() -> Mapping[str, Mapping[str, Any]]:
    """Return the table of benches as it is written."""
    return tomllib.loads((ROOT / "benches.toml").read_text("utf-8"))


def entries_of(bench: str) -> tuple[Mapping[str, Any], ...]:
    """Return what stands in the daybook of a bench, number 1 first."""
    node = benches()[bench]
    before = entries_of(node["from"]) if "from" in node else ()
    return (*before, *node["entries"])


def set_up(bench: str) -> Bench:
    """Return a daybook in memory as it stands before the sentence is said."""
    out = Bench()
    for raw in entries_of(bench):
        record(out, raw)
    return out


def record(bench: Bench, raw: Mapping[str, Any]) -> int:
    """Decode, check and append one entry as it is written."""
    return bench.record(raw["at"], raw["kind"], **{k: v for k, v in raw.items() if k not in ("at", "kind")})


# ---------------------------------------------------------------- judging


def judge(
    sentence: Sentence, *, entries: Iterable[Mapping[str, Any]] = (), asks: str | Iterable[str] = ()
) -> str:
    """Return what an answer to a sentence is worth.

    Parameters
    ----------
    sentence : Sentence
        What was said.
    entries : iterable of dict
        The entries that would be recorded; ``at`` may be left out for now.
    asks : str or iterable of str
        Where something is asked back instead: the key or keys asked for.

    Returns
    -------
    str
        One of `UNDERSTOOD`, `ASKED`, `REFUSED`, `LOST`, `WRONG`. With neither
        entries nor a question the sentence was refused.
    """
    given = tuple(entries)
    if given:
        right = any(_same_list(sentence, wanted, given) for wanted in sentence.readings)
        return UNDERSTOOD if right else WRONG
    keys = {asks} if isinstance(asks, str) else set(asks)
    if keys & set(sentence.asks):
        return ASKED
    return REFUSED if sentence.refused else LOST


def tally(part: str, reader: Callable[[Sentence], Mapping[str, Any]]) -> Counter[str]:
    """Return how many sentences of a part each verdict falls on.

    ``reader`` gives what `judge` takes by keyword: ``{"entries": [...]}``, ``{"asks": "amount"}`` or ``{}``.
    """
    return Counter(judge(sentence, **reader(sentence)) for sentence in sentences(part))


def _same_list(
    sentence: Sentence, wanted: tuple[Mapping[str, Any], ...], given: tuple[Mapping[str, Any], ...]
) -> bool:
    if len(wanted) != len(given):
        return False
    try:
        left = [decode(dated(raw, sentence.now)) for raw in given]
    except EntryErrors:
        return False
    for place, raw in enumerate(wanted):
        one = decode(raw)
        found = next((e for e in left if same(one, e, sentence.slack(place), sentence.bench)), None)
        if found is None:
            return False
        left.remove(found)
    return True


def same(wanted: Entry, given: Entry, slack: timedelta, bench: str = "") -> bool:
    """Return whether an entry says what is wanted, in all that is scored."""
    if wanted.kind != given.kind or abs(wanted.at - given.at) > slack:
        return False
    if isinstance(wanted, Amend) and isinstance(given, Amend):
        inner = same(wanted.replacement, given.replacement, slack, bench)
        return wanted.entry == given.entry and inner
    if isinstance(wanted, Void) and isinstance(given, Void):
        return wanted.entry == given.entry
    return all(_same_key(key.field, wanted, given, bench) for key in KINDS[wanted.kind].keys)


def _same_key(field: str, wanted: Entry, given: Entry, bench: str) -> bool:
    if field in TEXT_KEYS or (field == "how" and wanted.kind == "store") or field in ("with_", "sd"):
        return True
    one, other = getattr(wanted, field), getattr(given, field)
    if one is None and field in FILLED_IN:
        return True
    if field == "against" and other is None:
        return len(set_up(bench).inventory.exemplars) == 1
    if isinstance(one, Quantity) and isinstance(other, Quantity):
        return same_amount(one, other)
    return bool(one == other)


def same_amount(one: Quantity, other: Quantity) -> bool:
    """Return whether two amounts have the same centre, unit and way of being come by."""
    near = abs(one.value - other.value) <= _NEAR * max(abs(one.value), abs(other.value))
    return near and one.unit == other.unit and one.dimension == other.dimension and one.how == other.how
