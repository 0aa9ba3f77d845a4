"""Somebody who corrects himself in the midst of a sentence: "put 250 g, no, make that 300 g, of sumac in the tub".

What is said last stands in the place of what it takes back, and the sentence is read as if it had been
said so at once. Where it cannot be told what is taken back, the words are kept as a doubt, which wants a yes.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import attrs

from inkhorn.sentences.tokens import Token, lowered

_GAP = r"[\s,;:.()–—-]"
#: Words by which something just said is taken back.
_BACK = r"wrong|not right|no|nope|nay|sorry|oops|whoops|wait|hang on|hold on|scratch that|strike that|correction|or rather|i mean|i meant|or i mean|make that|make it|i tell a lie|more like|pardon|beg pardon"
#: Words that may stand beside them.
_BESIDE = r"well|or|actually|it was|it is|it's|that was|that is|that's|was|were|but|then|just|to say|it should be|it ought to be|should be|i should say|better|better say|say|that"
_MARK = re.compile(
    rf"(?:{_GAP}*[,;:.()–—-]{_GAP}*|\s+(?=(?:or|i mean|i meant|no wait|no sorry|sorry|oops|make that|no)\b))"
    rf"((?:(?:{_BESIDE})\b{_GAP}+)*(?:{_BACK})\b(?:{_GAP}+(?:{_BESIDE}|{_BACK})\b)*)(?={_GAP}|$)",
)
_FAMILIES = (
    frozenset({"LOT", "MATERIAL", "LIQUID"}),
    frozenset({"VESSEL", "NEWNAME"}),
    frozenset({"TRIAL"}),
    frozenset({"SUPPORT", "SKIN"}),
    frozenset({"PEN", "CUT"}),
    frozenset({"MOMENT"}),
    frozenset({"SCALE"}),
    frozenset({"METHOD"}),
    frozenset({"EXEMPLAR"}),
)
_ENDS = frozenset({"COMMA", "STOP", "COLON", "QUERY", "AND", "THEN", "BUT"})
_SMALL = frozenset({"FILL", "PREP", "S", "SUBJECT", "PRONOUN"})
#: Names that mean something else behind another preposition.
_PLACED = frozenset({"LOT", "VESSEL", "TRIAL", "SUPPORT", "PEN"})
#: Prepositions that say the same of a name.
_ALIKE = (frozenset({"into", "in", "to", "onto", ""}), frozenset({"from", "off", "of"}))


@attrs.frozen(kw_only=True)
class Retaken:
    """The tokens as they are meant, and what was said beside them.

    Parameters
    ----------
    tokens : tuple of Token
        What is to be read.
    doubts : tuple of str
        Words that take something back, where it is not clear what.
    """

    tokens: tuple[Token, ...]
    doubts: tuple[str, ...] = ()


def retaken(said: str, typed: Sequence[Token]) -> Retaken:
    """Return a sentence with everything in it that takes something back carried out.

    Parameters
    ----------
    said : str
        The sentence.
    typed : sequence of Token
        Its typed tokens.
    """
    text = lowered(said)
    tokens, doubts = list(typed), []
    for mark in _MARK.finditer(text):
        start, end = mark.start(1), mark.end(1)
        before = [t for t in tokens if t.end <= start]
        if not any(_tells(t) for t in before):
            continue  # "no, that was 6 g": of an earlier entry
        behind = [t for t in tokens if t.start >= end]
        if text[start:end] == "no" and re.match(r"\.? ?\d+(?![\d.]* ?[a-z%°])", text[end:]):
            continue  # "no. 3": a number, and no figure
        inside = [t for t in tokens if start <= t.start < end]
        bare = text[start:end] in ("no", "wait", "or no", "but no", "then no")
        apart = bool(behind) and behind[0].type in ("COMMA", "STOP", "COLON")
        said_last, rest = _said_last(behind)
        changed = None if bare and not apart and _of_a_thing(said_last) else _changed(before, said_last)
        if changed is not None:
            tokens = [*_without_end(changed[0]), *changed[1], *rest]
        elif apart or not bare or any(t.type == "MEND" for t in inside):
            doubts.append(said[start : said_last[-1].end if said_last else end])
    return Retaken(tokens=tuple(tokens), doubts=tuple(doubts))


def _tells(token: Token) -> bool:
    return token.qty is not None or any(token.type in family for family in _FAMILIES)


def _of_a_thing(said_last: Sequence[Token]) -> bool:
    """Return whether "no" stands before a mere thing: "no gum", "no 2"."""
    first = next((t for t in said_last if t.type != "FILL"), None)
    return first is None or first.type == "NUMBER" or (first.qty is None and first.type != "PREP")


def _said_last(behind: Sequence[Token]) -> tuple[list[Token], list[Token]]:
    """Return what is put in the place of something, up to the next mark, and what goes on behind it."""
    place = 0
    while place < len(behind) and behind[place].type in ("COMMA", "STOP", "COLON"):
        place += 1
    begin = place
    while place < len(behind) and behind[place].type not in _ENDS:
        place += 1
    inner = list(behind[begin:place])
    last = max((n for n, t in enumerate(inner) if _tells(t)), default=-1)
    if place < len(behind) and behind[place].type == "COMMA":
        place += 1
    # What tells nothing behind it goes on with the sentence: "no, vitriol it was".
    tail = [t for t in inner[last + 1 :] if t.type not in ("FILL", "PRONOUN", "S")]
    return inner[: last + 1], [*tail, *behind[place:]]


def _changed(before: Sequence[Token], said_last: Sequence[Token]) -> tuple[list[Token], list[Token]] | None:
    """Return what was said before with what was said last in its place, and what goes on; None where it is not clear.

    What is put in the place of something comes first ("sorry, 5 g of gum to the jar"): the rest of it goes on.
    """
    out = list(before)
    begun = 0
    for place, token in enumerate(said_last):
        if not _tells(token):
            if token.type not in _SMALL:
                break
            continue
        where = _place_of(out, token, _prep(said_last[:place]))
        if where is None:
            break
        old = out[where]
        out[where] = attrs.evolve(_with_unit(token, old), start=old.start, end=old.end)
        begun = place + 1
    if not begun:
        return None
    return out, list(said_last[begun:])


def _place_of(before: Sequence[Token], token: Token, prep: str) -> int | None:
    """Return the place of the last thing of the same sort behind a preposition that says the same."""
    for place in range(len(before) - 1, -1, -1):
        old = before[place]
        if token.qty is not None:
            if old.qty is not None and _may_stand(token, old):
                return place
        elif any(token.type in family and old.type in family for family in _FAMILIES) and (
            token.type not in _PLACED or _same_sense(_prep(before[:place]), prep)
        ):
            return place
    return None


def _may_stand(new: Token, old: Token) -> bool:
    """Return whether one amount may be said for another: a figure without a unit takes that of the other."""
    kinds = {new.qty.dimension if new.qty else "", old.qty.dimension if old.qty else ""}
    return len(kinds) == 1 or "number" in kinds or kinds == {"volume", "fraction"}


def _with_unit(new: Token, old: Token) -> Token:
    if new.qty is None or old.qty is None or new.qty.dimension != "number" or not old.qty.unit:
        return new
    unit = old.qty.unit
    qty = attrs.evolve(new.qty, text=new.qty.bare(unit), dimension=old.qty.dimension, unit=unit)
    return attrs.evolve(new, type=old.type, value=qty.text, qty=qty)


def _prep(tokens: Sequence[Token]) -> str:
    """Return the preposition that leads to what follows some tokens."""
    led = [t for t in tokens if t.type not in ("FILL", "S")]
    return led[-1].value if led and led[-1].type == "PREP" else ""


def _same_sense(one: str, other: str) -> bool:
    return not other or one == other or any(one in alike and other in alike for alike in _ALIKE)


def _without_end(tokens: list[Token]) -> list[Token]:
    """Drop the comma before what took something back."""
    while tokens and tokens[-1].type in ("COMMA", "STOP", "COLON"):
        tokens.pop()
    return tokens
