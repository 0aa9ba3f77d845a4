"""By how much something changed, which no entry holds: "the level dropped by 200 ml", "pH up 0.2", "a third down"."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from inkhorn.sentences.answer import Question
from inkhorn.sentences.tokens import Token, lowered

Entry = Mapping[str, Any]
#: Keys that hold what is there afterwards, by kind of entry.
_LEVELS = {"reduce": "to", "reading": "value", "warm": "to", "add": "up_to", "prepare": "to"}
_MORE = re.compile(r"^\s*(?:more|less|fewer|extra|too much|too little|too many|over|short)\b(?!\s+like\b)")
#: Readings that are themselves a difference: "the edges wander by 0.1 mm".
_SPREAD = frozenset({"raggedness", "than", "depth", "hue"})
_BEFORE = re.compile(
    r"\b(?:by|down|up|lost|dropped|fell|fallen|sunk|sank|shrank|shrunk|rose|risen|gained|climbed|grew|grown)"
    r"(?: (?:about|around|only|just|nearly|almost|some|another|roughly|maybe|perhaps|a good))*\s*$"
)
_GONE = re.compile(
    r"^\s*(?:of it\s+)?(?:had|has|have|is|was)\s+(?:gone|boiled off|boiled away|evaporated|been lost|lost|steamed off)\b"
)
_AFTER = re.compile(
    r"^\s*(?:down|lower|less|higher|up|short|gone|lost|boiled off|evaporated)\b(?!\s+(?:to|at|in|into|than)\b)"
)
_CHANGED = re.compile(
    r"\b(?:lower|higher|warmer|colder|hotter|cooler|heavier|lighter|fuller|emptier)\b(?!\s+than\b)"
)


def by_so_much(said: str, typed: Sequence[Token], entries: Sequence[Entry]) -> Question | None:
    """Return a question where a figure that tells a change was taken for what is there now.

    Parameters
    ----------
    said : str
        The sentence.
    typed : sequence of Token
        Its typed tokens.
    entries : sequence of dict
        What was made of it.
    """
    text = lowered(said)
    for entry in entries:
        if entry["kind"] == "amend":
            asked = _by_how_much(said, text, typed)
            if asked is not None:
                return asked
        key = _LEVELS.get(str(entry["kind"]))
        value = entry.get(key) if key else None
        if not isinstance(value, str) or entry.get("what") in _SPREAD:
            continue
        for token in typed:
            if token.qty is None or token.qty.text != value or not token.qty.figure:
                continue
            if _changes(text, token, str(entry["kind"])):
                return Question(
                    text=f"Is {said[token.start : token.end]} by how much it changed, or what there is now?",
                    field=str(key),
                    mend="Say what there is now",
                )
    return None


def _by_how_much(said: str, text: str, typed: Sequence[Token]) -> Question | None:
    """Return a question where a correction tells by how much the entry is off: "make it 2 g more", "an hour earlier"."""
    for place, token in enumerate(typed):
        told = said[token.start : token.end]
        after = typed[place + 1] if place + 1 < len(typed) else None
        beside = after is not None and after.type in ("WORD", "MANNER") and after.start - token.end == 1
        if token.type == "NUMBER" and beside and after is not None:
            text_of = said[token.start : after.end]
            return Question(
                text=f"“{text_of}” is no measure that inkhorn knows: how much was it?",
                field="amount",
                mend="Give it with its unit",
            )
        if token.qty is not None and _MORE.match(text[token.end :]):
            return Question(
                text=f"By {told}: what should it say then?", field="amount", mend="Say the whole figure"
            )
        if token.type == "MOMENT" and re.search(
            r"\b(?:earlier|later|sooner|before that)\b", text[token.start : token.end + 8]
        ):
            return Question(
                text=f"“{told}”: at what time was it then?", field="at", mend="Say the time of day"
            )
    return None


def _changes(text: str, token: Token, kind: str) -> bool:
    """Return whether what stands beside a figure makes it the size of a change."""
    before, after = text[: token.start], text[token.end :]
    led = _BEFORE.search(before)
    if led and kind == "reduce" and re.search(r"\b(?:by|lost)\b", led[0]):
        return False  # "boiled down by a third": what is left was reckoned from it
    if _GONE.match(after):
        return token.qty is None or token.qty.figure != "half"  # of half as much is left
    apart = re.match(r"[^,.;]{0,12}", after)
    return bool(led or _AFTER.match(after) or (kind != "reduce" and apart and _CHANGED.search(apart[0])))


def all_but(said: str, typed: Sequence[Token]) -> Question | None:
    """Return a question where all but so much went, which no entry holds: "all but 100 ml of the pot went into the jar"."""
    for place, token in enumerate(typed[:-1]):
        told = re.sub(r"\s+", " ", said[token.start : token.end].casefold())
        after = next((t for t in typed[place + 1 :] if t.type != "FILL"), None)
        if (
            told == "all but"
            and after is not None
            and after.qty is not None
            and after.qty.dimension in ("volume", "mass")
        ):
            return Question(
                text="How much went, then?", field="amount", mend="Say how much went, not what was left"
            )
    return None
