"""A token with what stands around it, which the rules of meaning look at."""

from __future__ import annotations

import attrs

from inkhorn.sentences.tokens import Token


@attrs.frozen
class Place:
    """A token with what stands before it, and after it (small words apart)."""

    token: Token
    before: tuple[Token, ...]
    rest: tuple[Token, ...]

    @property
    def last(self) -> Token | None:
        """Return the token before it."""
        return self.before[-1] if self.before else None

    @property
    def next(self) -> Token | None:
        """Return the token after it, small words apart."""
        return next((t for t in self.rest if t.type not in ("FILL", "S")), None)

    def is_verb(self, *classes: str) -> bool:
        """Return whether it is a verb of one of some classes."""
        return self.token.type == "VERB" and self.token.value in classes

    def is_share(self) -> bool:
        """Return whether the token is what another step has left."""
        return self.token.qty is not None and self.token.qty.unit == "rest"

    def comes(self, *types: str) -> bool:
        """Return whether what follows is of one of some terminals."""
        return self.next is not None and self.next.type in types


def as_fill(token: Token) -> Token:
    """Return a token as a small word, which is passed over."""
    return attrs.evolve(token, type="FILL")
