"""A clause while a thing is made of it: what of it found a place, and what it leaves."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import attrs

from inkhorn.sentences.frames import DEFERRED, Clause
from inkhorn.sentences.phrases import Phrase
from inkhorn.sentences.tokens import Token

Entry = dict[str, Any]
_SIDE = frozenset(
    {
        "VERB",
        "PARTICLE",
        "STRAY",
        "COMMA",
        "MANNER",
        "MOMENT",
        "AHEAD",
        "STRIP",
        "CAPACITY",
        "PREP",
        "CALL",
        "DECLARE",
    }
)


@attrs.define(kw_only=True)
class Making:
    """A clause while a thing is made of it."""

    clause: Clause
    used: set[int] = attrs.field(factory=set)

    def take(self, *types: str) -> tuple[Phrase, ...]:
        """Take every phrase of some terminals."""
        found = tuple(p for p in self.clause.phrases if p.type in types and p.start not in self.used)
        self.used |= {p.start for p in found}
        return found

    def amount(self, *types: str) -> Phrase | None:
        """Take the only amount of some terminals, alone or with a thing that is not read for itself."""
        found = [
            p
            for p in self.clause.phrases
            if p.amount is not None and p.amount.type in types and p.start not in self.used
        ]
        if len(found) != 1:
            return None
        self.used.add(found[0].start)
        return found[0]

    def left(self) -> tuple[list[Phrase], list[Phrase]]:
        """Return what found no place though it tells something, and what tells nothing."""
        left: list[Phrase] = []
        unread: list[Phrase] = []
        for phrase in self.clause.phrases:
            if phrase.start in self.used or (phrase.sort == "single" and phrase.type in _SIDE):
                continue
            if phrase.type in DEFERRED and phrase.amount is None:
                continue
            (unread if phrase.sort == "spare" or phrase.type in ("WORD", "MANNER") else left).append(phrase)
        return left, unread


def name_of(made: Making) -> str | None:
    """Return the only new name of a clause, and mark it as read."""
    names = [p for p in made.clause.phrases if p.type == "NEWNAME"]
    if len(names) != 1 or names[0].amount is not None:
        return None
    made.used.add(names[0].start)
    return names[0].thing.value if names[0].thing else None


def only_of(phrases: Sequence[Phrase]) -> Token | None:
    """Return the thing of phrases that all name the same."""
    things = {(p.thing.value, p.thing.names) for p in phrases if p.thing}
    return phrases[0].thing if len(things) == 1 else None


def declares(clause: Clause, sort: str) -> bool:
    """Return whether a clause declares a thing of a sort."""
    return any(p.type == "DECLARE" and p.thing and p.thing.value == sort for p in clause.phrases)
