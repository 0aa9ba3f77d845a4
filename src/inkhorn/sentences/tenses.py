"""Whether something is done or still to do, where a word may say either: "I'd put", "I let it stand", "it took an hour to"."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import attrs

from inkhorn.sentences.placing import Place, as_fill
from inkhorn.sentences.tokens import Token

#: Verbs that are the same in the past have three letters, and no other of their class has: let, put, set, cut.
_SAME = len("let")
_BETWEEN = frozenset({"FILL", "S", "PRONOUN", "VESSEL", "LIQUOR", "MARC", "LOT"})
_ENDS = frozenset({"COMMA", "STOP", "AND", "THEN", "BUT", "OR", "QUERY", "COLON"})


def _either(token: Token) -> bool:
    """Return whether a verb is the same as an order and in the past."""
    return (
        token.type == "VERB"
        and token.value in ("put", "cut")
        and token.tense == "order"
        and token.end - token.start == _SAME
    )


def _is_past(before: Sequence[Token], rest: Sequence[Token]) -> bool:
    """Return whether what stands around a verb that may be either says that it is over."""
    inside = []
    for token in reversed(before):
        if token.type in _ENDS:
            break
        inside.append(token)
    if any(t.type in ("PLAN", "ASKING", "NOT", "HEARSAY") for t in inside):
        return False
    if any(t.type == "NOT" and t.value == "did" for t in before):
        return True  # "did not boil it, only let it stand"
    subject = bool(inside) and next((t for t in inside if t.type != "FILL"), inside[0]).type == "SUBJECT"
    ended = any(t.type == "VERB" and t.tense == "past" for t in rest)
    return subject or ended


def _had(p: Place) -> Token | None:
    """Read the "'d" of "we'd gathered", "I'd put … by eleven" as "had": a past follows it, or a time gone by."""
    short = p.token.type == "PLAN" and p.token.value == "will" and p.token.end - p.token.start <= len("'d")
    if not short:
        return None
    after = next((t for t in p.rest if t.type not in ("FILL", "S")), None)
    been = bool(p.rest) and p.rest[0].type == "FILL" and p.rest[0].end - p.rest[0].start == len("been")
    over = any(t.type == "MOMENT" and t.data.at is not None and not t.data.ahead for t in p.rest)
    past = after is not None and after.type == "VERB" and (after.tense == "past" or (_either(after) and over))
    return as_fill(p.token) if past or (been and after is not None) else None


def _i_let(p: Place) -> Token | None:
    """Read "I let", "I put" as past."""
    return attrs.evolve(p.token, tense="past") if _either(p.token) and _is_past(p.before, p.rest) else None


def _let_do(p: Place) -> Token | None:
    """Read the "simmer" of "I let it simmer" as past, as "let" is."""
    if p.token.type != "VERB" or p.token.tense != "order" or _either(p.token):
        return None
    giver = next((n for n in range(len(p.before) - 1, -1, -1) if p.before[n].type not in _BETWEEN), None)
    if giver is None or not _either(p.before[giver]):
        return None
    past = _is_past(p.before[:giver], p.rest)
    return attrs.evolve(p.token, tense="past") if past else None


def _it_took(p: Place) -> Token | None:
    """Pass over the "to get" of "it took an hour to get the pot down to a litre": it was done, and is no purpose."""
    to = p.token.type == "PURPOSE" or (p.token.type == "PREP" and p.token.value == "to")
    told = [t for t in p.before if t.type not in ("FILL", "S", "PRONOUN")]
    took = len(told) > 1 and told[0].type == "VERB" and told[0].value == "give" and told[0].tense == "past"
    lasted = took and told[1].type == "TIME" and all(t.type in ("TIME", "AND", "NUMBER") for t in told[1:])
    return as_fill(p.token) if to and lasted else None


TENSES: tuple[Callable[[Place], Token | None], ...] = (_had, _i_let, _let_do, _it_took)
