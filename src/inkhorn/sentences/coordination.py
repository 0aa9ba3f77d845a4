"""Things joined by "and" that share all else of their clause: "washed the cones and the galls", "5 g of gum and 3 g of chalk"."""

from __future__ import annotations

import attrs

from inkhorn.sentences.frames import Clause
from inkhorn.sentences.phrases import Phrase

_FAMILIES = (
    frozenset({"LOT", "MATERIAL"}),
    frozenset({"LIQUID"}),
    frozenset({"VESSEL", "LIQUOR", "PRONOUN"}),
    frozenset({"TRIAL"}),
    frozenset({"SUPPORT"}),
)
#: Amounts that each of several vessels may share.
_SHARED = frozenset({"TEMP", "TIME", "HEAT", "SHARE"})


def conjuncts(clause: Clause) -> tuple[Clause, ...]:
    """Return the clause once for each of the things that it joins, or nothing where it joins none.

    Two things are joined where they stand side by side, parted by nothing but "and"
    or a comma, are of one sort, and both have an amount or neither has. Vessels with
    an amount of something in common are only where "each" is said: else it may be the
    amount of each or of both.
    """
    dissolved = _dissolved(clause)
    if dissolved:
        return dissolved
    for family in _FAMILIES:
        row = _row(clause, family)
        if len(row) < 2:
            continue
        amounts = {p.amount is not None for p in row}
        if len(amounts) > 1:
            continue
        each = [
            p for p in clause.phrases if p.thing is not None and p.thing.value == "?both" and p.amount is None
        ]
        told_each = any("each" in clause.said[p.start : p.end].casefold() for p in each)
        if (
            "VESSEL" in family
            and not told_each
            and any(p.amount is not None and p.amount.type not in _SHARED for p in clause.phrases)
        ):
            continue
        if len({(p.thing.value, p.thing.names) for p in row if p.thing}) < len(row):
            continue
        return tuple(
            attrs.evolve(
                clause,
                phrases=tuple(
                    attrs.evolve(p, prep=p.prep or row[0].prep) if p is one else p
                    for p in clause.phrases
                    if p is one or (p not in row and not ("VESSEL" in family and told_each and p in each))
                ),
                joints=(),
            )
            for one in row
        )
    return ()


def _dissolved(clause: Clause) -> tuple[Clause, ...]:
    """Return the two additions of "40 g of vitriol dissolved in 100 ml of water"."""
    goods = [p for p in clause.phrases if p.type in ("LOT", "MATERIAL") and p.amount is not None]
    water = [
        p for p in clause.phrases if p.type == "LIQUID" and p.amount is not None and p.prep in ("in", "with")
    ]
    if len(goods) != 1 or len(water) != 1 or not clause.has("verb:add") or clause.has("TIME", "verb:steep"):
        return ()
    rest = tuple(p for p in clause.phrases if p not in (goods[0], water[0]))
    return tuple(
        attrs.evolve(clause, phrases=(*rest, attrs.evolve(one, prep="")), joints=())
        for one in (goods[0], water[0])
    )


def _row(clause: Clause, family: frozenset[str]) -> list[Phrase]:
    """Return the first run of phrases of a family with nothing but joints between them."""
    row: list[Phrase] = []
    for phrase in clause.phrases:
        if phrase.sort == "single" and phrase.type in ("COMMA", "AND"):
            continue
        fits = phrase.sort == "phrase" and phrase.type in family
        if fits and (not row or (phrase.prep in ("", row[0].prep) and _joined(clause, row[-1], phrase))):
            row.append(phrase)
        elif len(row) > 1:
            break
        else:
            row = [phrase] if fits else []
    return row if len(row) > 1 else []


def _joined(clause: Clause, one: Phrase, other: Phrase) -> bool:
    """Return whether a joint of the clause stands between two phrases."""
    return any(one.end <= at <= other.start for at in clause.joints)
