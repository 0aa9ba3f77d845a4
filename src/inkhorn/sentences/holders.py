"""Vessels beside other words: "into cup 3", "a third of the plum-gum jar", "into a jar called sample-1"."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from inkhorn.sentences.placing import Place, as_fill
from inkhorn.sentences.tokens import Token

#: What holds ink and is counted where there are several: "into cup 3".
_COUNTED_OF = frozenset({"VESSEL", "INSTRUMENT"})
_MOST_VESSELS = 30
_HOLDERS = ("jar", "bag", "sack", "tin", "box", "bottle", "packet")


def numbered_vessel(p: Place) -> Token | None:
    """Read "cup 3" behind "into" as the name of a vessel that is not there yet."""
    if p.token.type in _COUNTED_OF and p.rest and _counts(p.token, p.rest[0], p.before):
        word = "cup" if p.token.type == "INSTRUMENT" else _as_said(p.token)
        figure = p.rest[0].qty.figure if p.rest[0].qty else ""
        return attrs.evolve(p.token, type="NEWNAME", value=f"{word}-{figure}", names=(), tense="")
    if p.token.type == "NUMBER" and p.last is not None and p.last.type in _COUNTED_OF:
        return as_fill(attrs.evolve(p.token, qty=None)) if _counts(p.last, p.token, p.before[:-1]) else None
    return None


def _as_said(vessel: Token) -> str:
    """Return the word of a vessel's name that was said: "jar" of "ink-jar", "cup" of "cup-2"."""
    name = (vessel.names or (vessel.value,))[0]
    long = vessel.end - vessel.start
    return next((word for word in name.split("-") if len(word) == long and not word.isdecimal()), name)


def _counts(vessel: Token, number: Token, before: Sequence[Token]) -> bool:
    """Return whether a number belongs to a vessel's name: it follows at once, behind "into" or "to"."""
    led = before[-1] if before else None
    figure = number.qty.figure if number.qty is not None else ""
    cup = vessel.type == "VESSEL" or vessel.value == "cup"
    near = (
        number.type == "NUMBER"
        and figure.isdecimal()
        and 0 < int(figure) < _MOST_VESSELS
        and number.start - vessel.end <= 1
    )
    return (
        cup
        and near
        and led is not None
        and led.type in ("PREP", "ARROW")
        and led.value in ("into", "to", "->")
    )


def into_a_cup(p: Place) -> Token | None:
    """Read the cup of "into the cup" as a vessel that is not known: no instrument holds ink."""
    led = next((t for t in reversed(p.before) if t.type != "FILL"), None)
    inside = led is not None and led.type == "PREP" and led.value in ("into", "to", "from", "off")
    cup = p.token.type == "INSTRUMENT" and p.token.value == "cup"
    return attrs.evolve(p.token, type="WORD") if cup and inside else None


def jar_of_a_lot(p: Place) -> Token | None:
    """Pass over the jar in "a third of the plum-gum jar": it is the lot that is meant."""
    if p.token.type != "VESSEL" or p.last is None or p.last.type not in ("LOT", "MATERIAL"):
        return None
    if p.token.end - p.token.start <= len("packet") and p.token.start - p.last.end <= 1 and _holder(p.token):
        return as_fill(p.token)
    near = [t for t in p.before[-6:-1] if t.type != "FILL"]
    share = len(near) >= 2 and near[-1].value == "of" and near[-2].type == "SHARE"
    return as_fill(p.token) if share else None


def _holder(token: Token) -> bool:
    """Return whether a word may only be what a lot is kept in."""
    return any(name.rpartition("-")[2] in _HOLDERS for name in token.names)


def named_vessel(p: Place) -> Token | None:
    """Pass over the jar in "into a jar called sample-1" and "into a new jar, sample-1": the name is what is meant."""
    rest = [t for t in p.rest if t.type not in ("FILL", "S")]
    before = [t for t in p.before if t.type != "FILL"]
    led = (
        bool(before)
        and before[-1].type in ("PREP", "ARROW")
        and before[-1].value in ("into", "to", "in", "->")
    )
    if p.token.type == "VESSEL" and led and len(rest) > 1:
        called = rest[0].type == "CALL" and rest[1].type == "NEWNAME"
        apart = (rest[0].type == "NEWNAME" and any(t.value == "new" for t in p.before[-2:])) or (
            rest[0].type == "COMMA"
            and rest[1].type == "NEWNAME"
            and any(t.value == "new" for t in p.before[-2:])
        )
        return as_fill(p.token) if called or apart else None
    if (
        p.token.type in ("CALL", "COMMA")
        and rest
        and rest[0].type == "NEWNAME"
        and before
        and before[-1].type == "VESSEL"
    ):
        within = Place(
            before[-1],
            tuple(p.before[: p.before.index(before[-1])]),
            (*p.before[p.before.index(before[-1]) + 1 :], p.token, *p.rest),
        )
        return as_fill(p.token) if named_vessel(within) else None
    return None
