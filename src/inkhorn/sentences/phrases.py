"""The phrases of a clause: what the grammar makes of typed tokens, every reading kept until one is chosen."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from importlib.resources import files
from typing import Any

import attrs
import lark
from lark.lexer import Lexer

from inkhorn.sentences.tokens import Qty, Token

_PREPS = {"of": "OF", "in": "IN", "from": "FROM", "off": "FROM"}
_PREP_TYPES = frozenset({"PREP", "OF", "IN", "FROM", "ARROW"})
#: What may stand behind a preposition.
_NOMINAL = frozenset(
    {"VESSEL", "LIQUOR", "SHARE", "TEMP", "PIECES", "LOT", "LIQUID", "MATERIAL", "CRYSTAL", "MARC", "PRONOUN", "SUPPORT",
     "SKIN", "PEN", "CUT", "TRIAL", "EXEMPLAR", "NEWNAME", "MASS", "VOLUME", "TIME", "LENGTH", "PERCENT", "STRANGE",
     "NUMBER", "CONC", "VISCOSITY", "HEAT", "DILUTION", "BARK", "BRIX", "ANGLE", "WORD", "MANNER"}
)  # fmt: skip
#: Amounts that are never of a lot or a liquid: "soaked the sumac overnight".
_NEVER = frozenset({"TIME", "HEAT", "ANGLE"})
_GOODS = frozenset({"LOT", "LIQUID", "MATERIAL", "CRYSTAL", "MARC"})
_FITS = {
    "LOT": ("MASS", "SHARE", "STRANGE", "VOLUME"), "MATERIAL": ("MASS", "STRANGE", "VOLUME"),
    "LIQUID": ("VOLUME", "STRANGE"), "CRYSTAL": ("MASS",), "MARC": ("SHARE", "MASS"),
}  # fmt: skip


@attrs.frozen(kw_only=True)
class Phrase:
    """An amount, a thing, or an amount of a thing, behind a preposition or none; or one word by itself.

    Parameters
    ----------
    sort : str
        "phrase", "spare" (nothing known behind a preposition), "unknown" (an amount of nothing known) or "single".
    prep : str
        The preposition ("" for none).
    amount : Token, optional
        The amount.
    thing : Token, optional
        The thing; of a single word that word.
    mods : tuple of Token
        Warmth and pieces that stand before a thing.
    start, end : int
        Where it stands in the sentence.
    """

    sort: str
    prep: str = ""
    amount: Token | None = None
    thing: Token | None = None
    mods: tuple[Token, ...] = ()
    words: tuple[Token, ...] = ()
    start: int = 0
    end: int = 0

    @property
    def qty(self) -> Qty | None:
        """The amount as a quantity."""
        return self.amount.qty if self.amount else None

    @property
    def type(self) -> str:
        """Terminal of the thing, or of the amount where there is no thing."""
        if self.thing is not None:
            return self.thing.type
        return self.amount.type if self.amount else ""

    @property
    def bare(self) -> bool:
        """Whether it is an amount and nothing more."""
        return self.sort == "phrase" and self.thing is None and self.amount is not None


class _Typed(Lexer):
    """The tokens are typed before the grammar sees them."""

    def __init__(self, _conf: Any) -> None:
        pass

    def lex(self, data: Any) -> Iterator[lark.Token]:  # type: ignore[override]
        """Yield the tokens as they are."""
        yield from data


@functools.cache
def grammar() -> lark.Lark:
    """Return the parser of a clause."""
    text = files("inkhorn.sentences").joinpath("grammar.lark").read_text("utf-8")
    return lark.Lark(text, parser="earley", lexer=_Typed, ambiguity="explicit")


def phrases(tokens: Sequence[Token]) -> tuple[Phrase, ...]:
    """Return the phrases of a stretch of tokens without separators: of all readings the best."""
    typed = [_typed(token, tokens[n + 1 :]) for n, token in enumerate(tokens)]
    if not typed:
        return ()
    return tuple(
        _phrase(kind, [tokens[place] for place in places]) for kind, places in _reading(tuple(typed))
    )


def _typed(token: Token, rest: Sequence[Token]) -> str:
    if token.type == "ARROW":
        return "ARROW" if _leads(rest) else "STRAY"
    if token.type != "PREP":
        return token.type
    return _PREPS.get(token.value, "PREP") if _leads(rest) else "STRAY"


def _leads(rest: Sequence[Token]) -> bool:
    """Return whether what follows a preposition can be a phrase."""
    for place, token in enumerate(rest):
        if token.type == "PREP":
            continue
        if token.type == "PIECES":  # it only goes before goods: "of crushed galls"
            return next((t.type in _GOODS for t in rest[place:] if t.type not in ("PIECES", "TEMP")), False)
        return token.type in _NOMINAL
    return False


@functools.lru_cache(maxsize=4096)
def _reading(types: tuple[str, ...]) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Return the best reading of a row of terminals: for each item its rule and the places it covers."""
    given = [lark.Token(kind, str(place)) for place, kind in enumerate(types)]
    try:
        tree = grammar().parse(given)
    except lark.exceptions.UnexpectedInput:
        return tuple(("single", (place,)) for place in range(len(types)))
    best = min(_readings(tree), key=lambda items: _cost(items, types))
    return tuple(best)


_Item = tuple[str, tuple[int, ...]]


def _readings(tree: lark.Tree[lark.Token]) -> Iterator[list[_Item]]:
    """Yield every reading of a tree of clauses."""
    if tree.data == "_ambig":
        for child in tree.children:
            yield from _readings(child)  # type: ignore[arg-type]
        return
    partial: list[list[_Item]] = [[]]
    for child in tree.children:
        partial = [[*before, item] for before in partial for item in _items(child)]  # type: ignore[arg-type]
    yield from partial


def _items(tree: lark.Tree[lark.Token]) -> Iterator[_Item]:
    if tree.data in ("_ambig", "item"):
        for child in tree.children:
            yield from _items(child)  # type: ignore[arg-type]
        return
    for kind in _kinds(tree):
        yield kind, tuple(sorted(int(t) for t in tree.scan_values(lambda _: True)))


def _kinds(tree: lark.Tree[lark.Token]) -> Iterator[str]:
    if tree.data != "phrase":
        yield str(tree.data)
        return
    inner = [c for c in tree.children if isinstance(c, lark.Tree)]
    for child in inner:
        yield from (str(c.data) for c in child.children) if child.data == "_ambig" else (str(child.data),)  # type: ignore[union-attr]


def _cost(items: Sequence[_Item], types: tuple[str, ...]) -> tuple[int, int, int]:
    """Return how far a reading is to be put back: few phrases, amounts that fit their things, amount before thing."""
    fit = after = 0
    for kind, places in items:
        mine = [types[p] for p in places]
        if kind in ("measured", "after"):
            goods = next((t for t in mine if t in _FITS), "")
            fit += sum(t in _FITS.get(goods, ()) for t in mine)
            after += kind == "after"
            fit -= 2 * any(t in _NEVER for t in mine)
    unknown = sum(kind == "unknown" for kind, _ in items)
    return len(items) - fit - unknown, after, len(items)


_AMOUNTS = frozenset(
    {"MASS", "VOLUME", "TIME", "LENGTH", "SHARE", "PERCENT", "STRANGE", "NUMBER", "CONC", "VISCOSITY", "HEAT", "TEMP",
     "DILUTION", "BARK", "BRIX", "ANGLE"}
)  # fmt: skip


def _phrase(kind: str, tokens: Sequence[Token]) -> Phrase:
    """Return the phrase of a rule and the tokens it covers."""
    span = {"start": tokens[0].start, "end": tokens[-1].end, "words": tuple(tokens)}
    if kind == "single":
        return Phrase(sort="single", thing=tokens[0], **span)  # type: ignore[arg-type]
    body = list(tokens)
    prep = ""
    while body and (body[0].type in ("PREP", "ARROW")):
        prep = "into" if body[0].type == "ARROW" else body[0].value
        body.pop(0)
    if kind == "spare":
        return Phrase(sort="spare", prep=prep, thing=body[-1], **span)  # type: ignore[arg-type]
    body = [t for t in body if t.type not in ("PREP", "COMMA")]
    if kind == "unknown":
        return Phrase(sort="unknown", prep=prep, amount=body[0], thing=body[1], **span)  # type: ignore[arg-type]
    if kind == "bare":
        return Phrase(sort="phrase", prep=prep, amount=body[0], **span)  # type: ignore[arg-type]
    mods = tuple(t for t in body if t.type in ("TEMP", "PIECES"))
    rest = [t for t in body if t not in mods]
    amount = next((t for t in rest if t.type in _AMOUNTS), None)
    if amount is None and kind in ("measured", "after"):
        amount = next((t for t in mods if t.type in _AMOUNTS), None)
        mods = tuple(t for t in mods if t is not amount)
    thing = next((t for t in rest if t.type not in _AMOUNTS), None)
    return Phrase(sort="phrase", prep=prep, amount=amount, thing=thing, mods=mods, **span)  # type: ignore[arg-type]
