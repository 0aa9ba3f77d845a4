"""The keys of each kind of entry: what reads them, whether they are needed, what they say.

One table for reading JSON, for naming the nearest key, and for the reference page.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any

import attrs

from inkhorn.daybook import entries
from inkhorn.daybook.measures import measures, resolve_instrument
from inkhorn.daybook.names import resolve, resolve_liquid, resolve_pen, resolve_support, thing_name
from inkhorn.daybook.readings import read_subject
from inkhorn.daybook.words import resolve_word, scale
from inkhorn.errors import EntryError, QuantityError, TimeError
from inkhorn.quantities import Quantity, read_quantity
from inkhorn.units import fold

Reader = Callable[[Any, str], Any]
_LONGEST = 4000


@attrs.frozen(kw_only=True)
class Key:
    """One key of a kind: how it is read, whether it is needed, and one line that says what it is."""

    name: str
    read: Reader
    needed: bool
    says: str

    @property
    def field(self) -> str:
        """Name of the field of the entry class."""
        return f"{self.name}_" if self.name in ("for", "from", "with") else self.name


@attrs.frozen(kw_only=True)
class Kind:
    """One kind: its class, its keys, and the sets of keys of which exactly one must be given."""

    name: str
    cls: type[entries.Entry]
    keys: tuple[Key, ...]
    either: tuple[tuple[tuple[str, ...], ...], ...] = ()

    @property
    def all_keys(self) -> Mapping[str, Key]:
        """Every key by name, the common ones included."""
        return {key.name: key for key in (*_COMMON, *self.keys)}


# ---------------------------------------------------------------- readers


def _text(value: Any, where: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise EntryError("this is to be text", where=where)
    if len(value) > _LONGEST:
        raise EntryError(f"the text is longer than {_LONGEST} characters", where=where)
    return value.strip()


def _leave(value: Any, where: str) -> str:
    return ("yes" if value else "no") if isinstance(value, bool) else _text(value, where)


def _flag(value: Any, where: str) -> bool:
    if not isinstance(value, bool):
        raise EntryError("this is to be true or false", where=where)
    return value


def _name(value: Any, where: str) -> str:
    return thing_name(_text(value, where), where)


def _number(value: Any, where: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 1:
        raise EntryError("this is to be the number of an entry", where=where)
    return value


def moment(value: Any, where: str) -> datetime:
    """Read an ISO 8601 date and time; one with an offset is brought to local time."""
    mend = "Write it as 2026-09-12T10:15, with seconds or an offset if you like"
    if not isinstance(value, str):
        raise TimeError("this is no date and time", where=where, mend=mend)
    text = value.strip()
    if re.fullmatch(r"\d{4}-?\d\d-?\d\d|\d{4}-?W\d\d(-?\d)?", text):
        raise TimeError(f"{text!r} has no time of day", where=where, mend=f"Write it as {text}T10:15")
    try:
        at = datetime.fromisoformat(text)
    except ValueError as error:
        raise TimeError(f"{text!r} is no date and time ({error})", where=where, mend=mend) from None
    try:
        return at if at.tzinfo is None else at.astimezone().replace(tzinfo=None)
    except (OverflowError, OSError, ValueError):
        raise TimeError(f"{text!r} lies beyond the calendar", where=where, mend=mend) from None


def amount(*expect: str) -> Callable[[Any, str], Quantity]:
    """Return a reader of quantities of these dimensions."""

    def read(value: Any, where: str) -> Quantity:
        return read_quantity(value, expect=expect, measures=measures(), where=where)

    return read


def _word(name: str) -> Reader:
    def read(value: Any, where: str) -> str:
        return resolve_word(_text(value, where), name, where)

    return read


def _material(value: Any, where: str) -> str:
    return resolve(_text(value, where), "materials", "liquids", where=where)


def _liquid(value: Any, where: str) -> str:
    return resolve_liquid(_text(value, where), where)


def _support(value: Any, where: str) -> str:
    return resolve_support(_text(value, where), where)


def _pen(value: Any, where: str) -> str:
    return resolve_pen(_text(value, where), where)


def _instrument(value: Any, where: str) -> str:
    return resolve_instrument(_text(value, where), where)


def _pieces(value: Any, where: str) -> str | Quantity:
    pieces = scale("pieces")
    if isinstance(value, str) and fold(value) in {fold(w) for w in (*pieces.words, *pieces.also)}:
        return resolve_word(value, "pieces", where)
    if isinstance(value, str) and any(c.isdigit() for c in value):
        return amount("length")(value, where)
    return resolve_word(_text(value, where), "pieces", where)


def _prepared_to(value: Any, where: str) -> Quantity:
    return amount("mass", "volume", "length")(value, where)


def _thinned(value: Any, where: str) -> Quantity:
    if not isinstance(value, str):
        raise QuantityError(
            "this is no dilution", where=where, mend="Write for example 1 in 8: one drop in eight"
        )
    thinned = amount("fraction")(value, where)
    if thinned.value > 1:
        raise QuantityError(f"{value!r} is no dilution", where=where, mend="Write for example 1 in 8")
    return thinned


def _subject(value: Any, where: str) -> str:
    return read_subject(value, where)


def _as_given(value: Any, where: str) -> Any:  # noqa: ARG001 - the reading's form decides later
    return value


# ---------------------------------------------------------------- the table

_SOLID = amount("mass", "volume", "fraction")  # of a lot
_LIQUOR = amount("volume", "fraction", "mass", "length")  # of what a vessel holds
_FLUID = amount("volume", "mass", "length")  # of a liquid that goes in


def _need(name: str, read: Reader, says: str) -> Key:
    return Key(name=name, read=read, needed=True, says=says)


def _may(name: str, read: Reader, says: str) -> Key:
    return Key(name=name, read=read, needed=False, says=says)


_COMMON = (
    _need("at", moment, "when it began: ISO 8601, local unless an offset is given"),
    _may("who", _text, "who did or noticed it"),
    _may("note", _text, "a remark beside it"),
    _may("picture", _text, "a picture of it: its name in the workshop, or a file to keep"),
)
_TEMPERATURE = _may("temperature", amount("temperature"), "how warm the liquid was")
_INTO = _need("into", _name, "the vessel")
_VESSEL = _need("vessel", _name, "the vessel")
_FOR = _need("for", amount("time"), "for how long")
_MAY_FOR = _may("for", amount("time"), "for how long")

KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            Kind(name="gather", cls=entries.Gather, keys=(
                _need("lot", _name, "the lot it makes or adds to"),
                _need("material", _material, "a material of the handbook"),
                _need("amount", amount("mass", "volume"), "how much"),
                _may("source", _text, "where it was gathered or bought"),
                _may("part", _text, "which part of the plant, or which grade"),
                _may("age", _text, "how old the wood was, or how long it was kept"),
                _may("leave", _leave, "whose leave was given"),
            )),
            Kind(name="prepare", cls=entries.Prepare, keys=(
                _need("lot", _name, "the lot"),
                _need("how", _word("how_prepared"), "dry, crush, grind or wash"),
                _may("to", _prepared_to, "what it then weighs or measures, or the size of its pieces"),
            )),
            Kind(name="bring", cls=entries.Bring, keys=(
                _VESSEL,
                _need("material", _material, "what the liquor was made of"),
                _need("amount", amount("volume", "mass"), "how much of it there is"),
            )),
            Kind(name="vessel", cls=entries.Vessel, keys=(
                _need("name", _name, "its name"),
                _may("capacity", amount("volume"), "what it holds to the brim"),
                _may("made_of", _text, "iron and aluminium change an ink"),
                _may("depth", amount("length"), "its inner depth, for amounts told in fingers"),
            )),
            Kind(name="support", cls=entries.Support, keys=(
                _need("name", _name, "its name"),
                _need("material", _support, "a support of the handbook"),
                _may("side", _word("side"), "the side written on"),
                _may("preparation", _text, "how its surface was prepared"),
            )),
            Kind(name="pen", cls=entries.Pen, keys=(
                _need("name", _name, "its name"),
                _need("cut", _pen, "a pen of the handbook"),
                _need("width", amount("length"), "width of its edge"),
            )),
            Kind(name="steep", cls=entries.Steep, keys=(
                _may("lot", _name, "the lot that is steeped"),
                _may("marc_of", _name, "the vessel whose marc is steeped again"),
                _may("amount", _SOLID, "how much of it; all of a marc unless said"),
                _need("liquid", _liquid, "a liquid of the handbook"),
                _need("liquid_amount", _FLUID, "how much liquid"),
                _INTO, _FOR, _TEMPERATURE,
                _may("pieces", _pieces, "whole, chips, crushed or powder, or their size"),
            ), either=((("lot", "amount"), ("marc_of",)),)),
            Kind(name="strain", cls=entries.Strain, keys=(
                _VESSEL,
                _need("into", _name, "where the liquor goes; the same vessel where the marc is only set aside"),
            )),
            Kind(name="reduce", cls=entries.Reduce, keys=(
                _VESSEL,
                _may("to", _LIQUOR, "down to a volume, a share or a depth"),
                _may("for", amount("time"), "for how long"),
                _may("heat", amount("power"), "gentle, simmer or boil, or a power"),
            ), either=((("to",), ("for", "heat")),)),
            Kind(name="weather", cls=entries.Weather, keys=(
                _need("lot", _name, "the lot of sulfide"),
                _need("amount", _SOLID, "how much of it"),
                _need("liquid", _liquid, "a liquid of the handbook"),
                _need("liquid_amount", _FLUID, "how much liquid"),
                _INTO, _FOR, _TEMPERATURE,
            )),
            Kind(name="neutralise", cls=entries.Neutralise, keys=(
                _VESSEL,
                _need("lot", _name, "the lot of iron or chalk"),
                _need("amount", _SOLID, "how much of it"),
                _MAY_FOR,
            )),
            Kind(name="crystallise", cls=entries.Crystallise, keys=(
                _VESSEL,
                _need("lot", _name, "the new lot"),
                _may("amount", amount("mass", "volume"), "how much was taken out"),
            )),
            Kind(name="add", cls=entries.Add, keys=(
                _INTO,
                _may("lot", _name, "the lot it is taken from"),
                _may("liquid", _liquid, "or a liquid of the handbook"),
                _may("amount", amount("mass", "volume", "fraction", "length"), "how much"),
                _may("up_to", amount("volume", "length"), "until there is so much in the vessel"),
            ), either=((("lot", "amount"), ("liquid", "amount"), ("liquid", "up_to")),)),
            Kind(name="pour", cls=entries.Pour, keys=(
                _need("from", _name, "the vessel it leaves"),
                _need("into", _name, "the vessel it goes into"),
                _need("amount", _LIQUOR, "all, half, or a volume"),
            )),
            Kind(name="warm", cls=entries.Warm, keys=(
                _VESSEL, _need("to", amount("temperature"), "how warm"), _MAY_FOR,
            )),
            Kind(name="rest", cls=entries.Rest, keys=(
                _VESSEL, _FOR, _may("covered", _flag, "whether under a lid"),
            )),
            Kind(name="skim", cls=entries.Skim, keys=(_VESSEL,)),
            Kind(name="store", cls=entries.Store, keys=(
                _VESSEL, _need("how", _text, "how it was put away"),
            )),
            Kind(name="discard", cls=entries.Discard, keys=(
                _VESSEL, _need("amount", _LIQUOR, "how much"),
            )),
            Kind(name="mark", cls=entries.Mark, keys=(
                _VESSEL,
                _need("trial", _name, "a new name for the trial"),
                _need("support", _name, "what is written on"),
                _need("method", _word("method"), "dip, drop, pen, line or pangram"),
                _may("pen", _name, "what is written with"),
                _may("thinned", _thinned, "1 in 8: one drop of ink in eight"),
                _may("temperature", amount("temperature"), "how warm the ink was"),
                _may("angle", amount("angle"), "slope of the support"),
            )),
            Kind(name="reading", cls=entries.Reading, keys=(
                _need("of", _subject, "vessel:, lot:, trial:, support:, exemplar: or card: and a name"),
                _need("what", _text, "what was noticed"),
                _need("value", _as_given, "an amount, a word, three channels or a picture"),
                _may("sd", _as_given, "one standard deviation"),
                _may("with", _instrument, "the instrument"),
                _may("against", _name, "the exemplar it is held against"),
                _may("water", _as_given, "what the same device gave with water"),
            )),
            Kind(name="remark", cls=entries.Remark, keys=(_need("text", _text, "plain text"),)),
            Kind(name="amend", cls=entries.Amend, keys=(
                _need("entry", _number, "number of the entry that is replaced"),
                _need("replacement", _as_given, "the whole entry that stands in its place"),
            )),
            Kind(name="void", cls=entries.Void, keys=(
                _need("entry", _number, "number of the entry that is struck out"),
                _need("why", _text, "why"),
            )),
        )
    }
)  # fmt: skip
COMMON = _COMMON
