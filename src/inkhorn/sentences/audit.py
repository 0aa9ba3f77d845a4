"""The last look: every amount, name, time and step of a sentence must be in the entries made of it, or be told as left out.

The frames hold to that clause by clause; this goes over the whole once more and
knows nothing of how the entries came about.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from inkhorn.daybook.measures import measures
from inkhorn.errors import QuantityError
from inkhorn.quantities import Quantity, read_quantity
from inkhorn.sentences.tokens import Token

Entry = Mapping[str, Any]
_NAMES = frozenset(
    {"VESSEL", "LOT", "LIQUID", "MATERIAL", "SUPPORT", "SKIN", "PEN", "CUT", "TRIAL", "EXEMPLAR", "NEWNAME"}
)
#: What a verb may have become; verbs that say little ("put", "got") are not here.
_KINDS: Mapping[str, frozenset[str]] = {
    verb: frozenset(kinds.split())
    for verbs, kinds in (
        ("steep", "steep weather rest reading add bring"), ("weather", "weather"), ("strain", "strain reading"), ("sieve", "strain prepare"),
        ("boil boil_off simmer", "reduce warm steep reading"), ("lose", "reduce reading discard prepare"), ("warm", "warm reduce steep reading mark add"),
        ("cool", "warm rest reading"), ("skim", "skim"), ("store", "store rest"), ("discard", "discard"), ("neutralise", "neutralise add"),
        ("crystallise", "crystallise"), ("mark", "mark reading"), ("dip", "mark reading"), ("dry", "prepare gather reading steep"),
        ("crush", "prepare steep gather add"), ("grind", "prepare steep gather add"), ("wash", "prepare gather steep"),
        ("gather scrape", "gather crystallise bring vessel support pen reading prepare"),
        ("pour", "pour discard steep weather strain add crystallise bring reading mark"), ("add", "add steep neutralise weather mark pour amend"),
        ("mix", "add pour steep"), ("fill", "add steep reading pour vessel"), ("photograph", "reading"),
    )
    for verb in verbs.split()
}  # fmt: skip
#: Verbs that in the past tense tell a step: no reading beside them stands for it.
_DONE = frozenset({"pour", "strain", "boil", "boil_off", "simmer", "warm", "steep"})
_DIMENSIONS = (
    "mass",
    "volume",
    "time",
    "length",
    "temperature",
    "viscosity",
    "mass_conc",
    "amount_conc",
    "fraction",
    "power",
    "angle",
)


def unaccounted(
    said: str,
    tokens: Sequence[Token],
    entries: Sequence[Entry],
    *,
    known: Iterable[str],
    now: datetime,
    old: Sequence[Entry] = (),
) -> tuple[str, ...]:
    """Return the words of a sentence that tell something and are in none of its entries.

    Parameters
    ----------
    said : str
        The sentence.
    tokens : sequence of Token
        Its typed tokens.
    entries : sequence of dict
        What was made of it.
    known : iterable of str
        Words that are told as left out or refused already.
    now : datetime
        When it is said.
    old : sequence of dict
        Entries that are corrected: a correction may name what they say.
    """
    spans = [
        (found.start(), found.end()) for word in known if word for found in re.finditer(re.escape(word), said)
    ]
    whole = [*entries, *(e["replacement"] for e in entries if "replacement" in e), *old]
    held = tuple(_values(whole))
    texts = " ".join(str(value).casefold() for value in held)
    out = []
    for place, token in enumerate(tokens):
        if any(start <= token.start and token.end <= end for start, end in spans):
            continue
        if not _held(token, whole, held, texts, said, now, tokens[:place]):
            out.append(said[token.start : token.end])
    return tuple(dict.fromkeys(out))


def _values(entries: Iterable[Entry]) -> Iterator[Any]:
    for entry in entries:
        for key, value in entry.items():
            if key == "replacement":
                continue
            if isinstance(value, Mapping):
                yield from value.values()
            else:
                yield value


def _held(
    token: Token,
    entries: Sequence[Entry],
    held: Sequence[Any],
    texts: str,
    said: str,
    now: datetime,
    before: Sequence[Token],
) -> bool:
    kinds = {str(entry["kind"]) for entry in entries}
    if token.type in _NAMES:
        return _named(token, entries, texts, said)
    if token.type == "VERB":
        if token.value not in _KINDS:
            return True
        done = token.tense == "past" and token.value in _DONE
        return bool((kinds - {"reading"} if done else kinds) & _KINDS[token.value])
    if token.type == "CRYSTAL":
        return bool(kinds & {"crystallise", "gather", "remark"})
    if token.type == "MOMENT":
        return _timed(token, entries, now)
    if token.type in ("CHANNELS", "TRIPLE"):
        figures = token.data.values() if isinstance(token.data, Mapping) else token.data
        return all(any(value == figure for value in held) for figure in figures)
    if token.type == "COVER":
        return any("covered" in entry for entry in entries) or bool(
            kinds & {"store", "rest", "steep", "weather", "warm"}
        )
    if token.type == "SCALE":
        return bool(kinds & {"reading", "skim", "support", "amend", "reduce"})
    if token.type == "METHOD":
        return bool(kinds & {"mark", "reading", "amend"})
    if token.type == "FILE":
        return token.value.casefold() in texts
    if token.type == "WORD":
        return (
            any(c.isdigit() for c in token.value) is False
            and said[token.start : token.end].casefold() in texts
        )
    if token.qty is not None:
        return _measured(token, entries, held, texts, before)
    return True


def _named(token: Token, entries: Sequence[Entry], texts: str, said: str) -> bool:
    names = {*token.names, token.value} - {""}
    plain = texts.replace(" ", "-")
    if any(name.casefold() in plain for name in names) or said[token.start : token.end].casefold() in texts:
        return True
    kinds = {str(entry["kind"]) for entry in entries}
    if token.type == "LIQUID":  # boiled off, or beside which drops were counted
        return bool(kinds & {"reduce", "strain"}) or any("water" in entry for entry in entries)
    if token.type in ("LOT", "MATERIAL"):  # the leaf that was strained off, the gum of a liquor
        return bool(kinds & {"strain", "discard"}) or any(
            "marc_of" in e or e.get("what") in ("gum", "total_phenols") for e in entries
        )
    if token.type == "EXEMPLAR":
        return any(entry.get("what") in ("depth", "hue") for entry in entries)
    if token.type in ("SUPPORT", "SKIN", "PEN", "CUT"):
        return any(
            entry.get("what") in ("flow", "line_width", "support_lab", "lab") for entry in entries
        ) or (
            token.type in ("SKIN", "SUPPORT")
            and any(entry["kind"] == "mark" and not token.value for entry in entries)
        )
    return False


def _timed(token: Token, entries: Sequence[Entry], now: datetime) -> bool:
    """Return whether a told time is in an entry: when it began, or that it was told as now."""
    told = token.data.at
    if told is None or abs(told - now) <= timedelta(minutes=1):
        return True
    if token.data.role == "until":
        return any("for" in entry for entry in entries)
    return any(
        "at" in entry and datetime.fromisoformat(str(entry["at"])) < now - timedelta(seconds=30)
        for entry in entries
    )


def _measured(
    token: Token, entries: Sequence[Entry], held: Sequence[Any], texts: str, before: Sequence[Token]
) -> bool:
    qty = token.qty
    assert qty is not None  # noqa: S101 - the caller looked
    if qty.text == "all" or qty.dimension == "unknown":
        return True
    figures = [qty.text.casefold(), *([qty.figure.casefold()] if qty.figure else [])]
    if any(re.search(rf"(?<![\d.]){re.escape(figure)}(?![\d.]*\d)", texts) for figure in figures):
        return True
    kinds = {str(entry["kind"]) for entry in entries}
    if qty.unit.startswith("drop") and any(
        entry.get("what") in ("drop_mass", "ten_drops") for entry in entries
    ):
        return qty.figure in ("1", "10")
    if qty.dimension in ("fraction", "percent") and any(entry.get("what") == "volume" for entry in entries):
        return True  # "half full" of what it holds
    if qty.dimension in ("fraction", "percent") and "reduce" in kinds:
        return True  # "boiled off a third" leaves two thirds
    if qty.dimension == "number" and any(str(entry.get("entry")) == qty.figure for entry in entries):
        return True
    if qty.dimension == "time" and any(t.type == "VERB" for t in before) and kinds & {"prepare"}:
        return any("at" in entry for entry in entries)
    mine = _read(qty.text)
    return mine is not None and any(_same(mine, _read(str(value))) for value in held)


def _read(text: str) -> Quantity | None:
    for dimension in _DIMENSIONS:
        try:
            return read_quantity(text, expect=(dimension,), measures=measures())
        except QuantityError:
            continue
    return None


def _same(one: Quantity, other: Quantity | None) -> bool:
    return (
        other is not None and one.unit == other.unit and abs(one.value - other.value) <= 1e-6 * abs(one.value)
    )
