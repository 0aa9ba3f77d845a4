"""What no mark tells: where one thing ends and a plan or a question begins, and a thing that is named twice."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from inkhorn.sentences.placing import as_fill
from inkhorn.sentences.tokens import Token

_ENDS = frozenset({"COMMA", "STOP", "COLON", "AND", "THEN", "BUT", "QUERY", "OR"})
_GOODS = frozenset({"LOT", "MATERIAL"})
_SMALL = frozenset({"FILL", "S", "SUBJECT"})


def stepped_instead(tokens: Sequence[Token]) -> tuple[Token, ...] | None:
    """Return the tokens of what was done in place of something else, or None: "instead of gum I used 5 g of chalk"."""
    first = next((n for n, t in enumerate(tokens) if t.type not in ("FILL", "COMMA")), 0)
    if not tokens or tokens[first].type != "MEND" or tokens[first].value != "instead":
        return None
    subject = next((n for n in range(first, len(tokens)) if tokens[n].type == "SUBJECT"), None)
    if subject is None:
        return None
    rest = tokens[subject:]
    done = any(t.type == "VERB" and t.tense == "past" for t in rest) and any(t.qty is not None for t in rest)
    if not done:
        return None
    goods = [attrs.evolve(t) for t in tokens[first:subject] if t.type in ("LOT", "MATERIAL", "LIQUID")]
    named = any(t.type in ("LOT", "MATERIAL", "LIQUID") for t in rest)
    amount = next((n for n, t in enumerate(rest) if t.qty is not None), len(rest))
    return tuple(rest) if named or not goods else (*rest[: amount + 1], goods[-1], *rest[amount + 1 :])


def straightened(tokens: Sequence[Token]) -> tuple[Token, ...]:
    """Return the tokens with a stop before a plan that only follows what was done, and nothing named twice."""
    tokens = stepped_instead(tokens) or tokens
    return _named_once(_stopped(_contact_clauses(tokens)))


# ---------------------------------------------------------------- where another thing begins


def _stopped(tokens: Sequence[Token]) -> list[Token]:
    """Put a stop between what was done and what is planned or asked: "added 10 g to the pot may need 5 g more"."""
    out: list[Token] = []
    for place, token in enumerate(tokens):
        begin = _begins(out, token, tokens[place + 1 :])
        if begin is not None:
            mark = attrs.evolve(
                token,
                type="STOP",
                value=";",
                start=out[begin - 1].end,
                end=out[begin - 1].end,
                names=(),
                qty=None,
                data=None,
            )
            out.insert(begin, mark)
        out.append(token)
    return out


def _contact_clauses(tokens: Sequence[Token]) -> list[Token]:
    """Put the "which" that is left out before "I weighed" of "added the vitriol I weighed this morning"."""
    out: list[Token] = []
    for place, token in enumerate(tokens):
        before = tokens[place - 1] if place else None
        start = next((n + 1 for n in range(place - 1, -1, -1) if tokens[n].type in _ENDS), 0)
        goods = before is not None and before.type in ("LOT", "MATERIAL", "LIQUID", "VESSEL", "CRYSTAL")
        stepped = any(t.type == "VERB" for t in tokens[start:place])
        row = [t for t in tokens[place + 1 : place + 4] if t.type != "FILL"][:2]
        told = token.type == "SUBJECT" and bool(row) and row[0].type == "VERB" and row[0].tense == "past"
        object_ = len(row) > 1 and (
            row[1].qty is not None or row[1].type in ("LOT", "MATERIAL", "LIQUID", "PRONOUN", "VESSEL")
        )
        if goods and stepped and told and not object_ and before is not None:
            out.append(attrs.evolve(token, type="REL", value="which", start=before.end, end=before.end))
        out.append(token)
    return out


def _begins(before: Sequence[Token], token: Token, rest: Sequence[Token]) -> int | None:
    """Return where a plan or a question begins that a whole step stands before, or None."""
    if token.type not in ("PLAN", "ASKING") or token.value in ("wh", "be"):
        return None
    start = next((n + 1 for n in range(len(before) - 1, -1, -1) if before[n].type in _ENDS), 0)
    begin = len(before)
    while begin > start and before[begin - 1].type in _SMALL:
        begin -= 1
    inside = before[start:begin]
    done = any(t.type == "VERB" and t.tense == "past" for t in inside)
    told = any(t.qty is not None or t.type in ("VESSEL", "MARC") for t in inside)
    if not done or not told or any(t.type in ("NOT", "PLAN", "ASKING", "HEARSAY") for t in inside):
        return None
    clause = []
    for other in rest:
        if other.type in _ENDS:
            break
        clause.append(other)
    goes_on = any(t.type == "VERB" and t.tense == "order" for t in clause) or any(
        t.qty is not None for t in clause
    )
    return begin if goes_on and inside[-1].type not in ("PREP", "VERB") else None


# ---------------------------------------------------------------- what is named twice


def _named_once(tokens: Sequence[Token]) -> tuple[Token, ...]:
    """Pass over a lot that is only named, where it is told with its amount at once after: "leaf on Monday, 700 g of sumac"."""
    out = list(tokens)
    for place, token in enumerate(tokens):
        if token.type not in _GOODS:
            continue
        beside = next((n for n in range(place + 1, len(tokens)) if tokens[n].type not in _SMALL), None)
        if beside is not None and tokens[beside].type in _GOODS and _alike(token, tokens[beside]):
            out[beside] = _both(token, tokens[beside])  # "cones alder"
            out[place] = as_fill(token)
            tokens = out
            continue
        stretches = _stretches(tokens, place)
        if stretches is None:
            continue
        here, there = stretches
        if any(t.qty is not None and t.type != "TIME" for t in here) or any(
            t.type in ("SCALE", "WHAT", "NOT", "LIQUID") for t in here
        ):
            continue
        again = [t for t in there if t.type in _GOODS]
        weighed = [t for t in there if t.qty is not None and t.qty.dimension in ("mass", "volume")]
        verbs = [t for t in there if t.type == "VERB"]
        if len(again) == 1 and len(weighed) == 1 and not verbs and _alike(token, again[0]):
            out[place] = as_fill(token)
    return tuple(out)


def _stretches(tokens: Sequence[Token], place: int) -> tuple[list[Token], list[Token]] | None:
    """Return the stretch a token stands in and the one after it, where a comma or a colon parts them."""
    start = next((n + 1 for n in range(place - 1, -1, -1) if tokens[n].type in _ENDS), 0)
    end = next((n for n in range(place + 1, len(tokens)) if tokens[n].type in _ENDS), len(tokens))
    if end == len(tokens) or tokens[end].type not in ("COMMA", "COLON"):
        return None
    last = next((n for n in range(end + 1, len(tokens)) if tokens[n].type in _ENDS), len(tokens))
    return list(tokens[start:end]), list(tokens[end + 1 : last])


def _alike(one: Token, other: Token) -> bool:
    return bool(set(one.names) & set(other.names))


def _both(one: Token, other: Token) -> Token:
    """Return a token that means what both may mean."""
    names = tuple(name for name in other.names if name in one.names)
    value = names[0] if len(names) == 1 else other.value if other.value in names else ""
    return attrs.evolve(other, names=names, value=value)
