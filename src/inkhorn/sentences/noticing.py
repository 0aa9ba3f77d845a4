"""A clause while it is read as something noticed: what of it found a place, and the entries it gives so far."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import attrs

from inkhorn.sentences.frames import DEFERRED, Clause
from inkhorn.sentences.phrases import Phrase
from inkhorn.sentences.settling import settle
from inkhorn.sentences.times import timed
from inkhorn.sentences.tokens import Token

Entry = dict[str, Any]
_ABOVE = frozenset({"more_than", "above", "over"})
_BELOW = frozenset({"less_than", "under"})
LIMITS = (*sorted(_ABOVE), *sorted(_BELOW))
_KEEP_TOOL = {
    "ph": {"strip", "ph meter"}, "brix": {"refractometer"}, "viscosity": {"viscometer", "laboratory"}, "discharge": {"syringe", "3 mm cup", "4 mm cup", "5 mm cup", "6 mm cup"},
    "total_iron": {"laboratory", "test strip"}, "total_phenols": {"laboratory"}, "temperature": {"thermometer"}, "specific_gravity": {"hydrometer", "laboratory"},
}  # fmt: skip


@attrs.define(kw_only=True)
class Noticing:
    """A clause while it is read: what of it found a place.

    Parameters
    ----------
    clause : Clause
        The clause.
    used : set of int
        Where the phrases begin that found a place.
    out : list of dict
        The readings so far.
    """

    clause: Clause
    used: set[int] = attrs.field(factory=set)
    out: list[Entry] = attrs.field(factory=list)

    def take(self, phrase: Phrase) -> Phrase:
        """Mark a phrase as read, and return it."""
        self.used.add(phrase.start)
        return phrase

    def free(self, *types: str) -> Iterator[Phrase]:
        """Yield the phrases of some terminals that are not read yet."""
        for phrase in self.clause.phrases:
            if phrase.start not in self.used and phrase.type in types:
                yield phrase

    def amounts(self, *types: str) -> Iterator[Phrase]:
        """Yield the phrases with an amount of some terminals that are not read yet."""
        for phrase in self.clause.phrases:
            if phrase.start not in self.used and phrase.amount is not None and phrase.amount.type in types:
                yield phrase

    def what(self) -> Token | None:
        """Return the word for what is read."""
        return self.clause.single("WHAT")

    def subject(self, *sorts: str, key: str = "of") -> str | None:
        """Return the thing that is read, of the first of some sorts that the clause names."""
        for sort in sorts:
            for phrase in self.free(sort.upper()):
                if (
                    phrase.amount is not None
                    and sort == "lot"
                    and phrase.amount.type not in ("MASS", "VOLUME", "PERCENT", "CONC", "SHARE")
                ):
                    continue
                if phrase.amount is None:
                    self.take(phrase)
                name = settle(phrase.thing, key) if phrase.thing else ""
                for again in tuple(self.free(sort.upper())):
                    if again.amount is None and again.thing and again.thing.value == name:
                        self.take(again)
                return f"{sort}:{name}"
        return None

    def vessel(self) -> str:
        """Return the vessel read, named or unsaid."""
        named = self.subject("vessel")
        for phrase in self.free(*DEFERRED):
            self.take(phrase)
            if phrase.thing and phrase.thing.value == "?other" and named is None:
                return f"vessel:{self.clause.scene.other()}"
        return named or f"vessel:{self.clause.scene.vessel()}"

    def add(self, of: str, what: str, value: Any, **more: Any) -> None:
        """Add a reading, with its time and its instrument."""
        tool = self.tool(what)
        entry: Entry = {"kind": "reading", "of": of, "what": what, "value": value}
        entry |= {k: v for k, v in (("with", tool), *more.items()) if v is not None}
        self.out.append(timed(entry, self.clause))

    def tool(self, what: str) -> str | None:
        """Return the instrument that is named, where the reading keeps it."""
        for phrase in self.clause.phrases:
            if (
                phrase.sort == "single"
                and phrase.type == "INSTRUMENT"
                and phrase.thing
                and phrase.thing.value in _KEEP_TOOL.get(what, ())
            ):
                return phrase.thing.value
        return None


def limited(phrase: Phrase, *, bare: bool = False, unit: str = "") -> str:
    """Return the figure of a phrase as a reading has it, with what limits it."""
    qty = phrase.qty
    assert qty is not None  # noqa: S101 - the caller chose an amount
    text = qty.bare(unit) if bare or unit else qty.text
    if phrase.prep in _ABOVE:
        return f"more than {text}"
    if phrase.prep in _BELOW:
        return f"< {text}"
    return text
