"""Which thing a word means: the only one that it can, or one that is asked for."""

from __future__ import annotations

from inkhorn.sentences.answer import ask
from inkhorn.sentences.frames import Clause
from inkhorn.sentences.tokens import Token


def settle(token: Token, key: str) -> str:
    """Return the only thing that a word can mean, or ask which."""
    if token.value:
        return token.value
    raise ask(key, f"Which one: {' or '.join(token.names)}?", *token.names, mend="Name the one that is meant")


def vessel_of(token: Token | None, clause: Clause, key: str = "vessel") -> str:
    """Return the vessel that a word means, or the one left unsaid."""
    if token is not None and token.type == "VESSEL":
        return settle(token, key)
    if token is not None and token.type == "NEWNAME":
        return token.value
    if token is not None and token.value == "?other":
        return clause.scene.other()
    return clause.scene.vessel()
