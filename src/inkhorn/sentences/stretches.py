"""What the rules on tokens share: the words of a token, the stretch it stands in, what comes next."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from inkhorn.sentences.tokens import Token

#: Reads a sentence's tokens and the sentence in lower case, and gives the tokens as it would have them.
Rule = Callable[[list[Token], str], list[Token]]
ENDS = frozenset({"COMMA", "STOP", "COLON", "AND", "THEN", "BUT", "QUERY", "OR"})
SMALL = frozenset({"FILL", "S", "SUBJECT"})
GOODS = frozenset({"LOT", "MATERIAL", "LIQUID", "CRYSTAL", "MARC"})


def through(rules: Sequence[Rule], found: Sequence[Token], said: str) -> tuple[Token, ...]:
    """Return the tokens of a sentence after every rule in turn."""
    text, out = said.casefold(), list(found)
    for rule in rules:
        out = rule(out, text)
    return tuple(out)


def word_of(token: Token, text: str) -> str:
    """Return a token as it stands in the sentence, in lower case."""
    return re.sub(r"\s+", " ", text[token.start : token.end])


def next_of(found: Sequence[Token], place: int) -> int | None:
    """Return the place of the next token, small words apart."""
    return next((n for n in range(place + 1, len(found)) if found[n].type not in SMALL), None)


def stretch_of(found: Sequence[Token], place: int) -> tuple[int, int]:
    """Return where the stretch begins and ends in which a token stands."""
    start = next((n + 1 for n in range(place - 1, -1, -1) if found[n].type in ENDS), 0)
    end = next((n for n in range(place, len(found)) if found[n].type in ENDS), len(found))
    return start, end
