"""A sentence in segments, the stretches between its separators, and what manner of speech each is."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import attrs

from inkhorn.sentences.tokens import Token

SEPARATORS = frozenset({"COMMA", "STOP", "COLON", "AND", "THEN", "BUT", "QUERY", "OR"})
#: Tokens that say that a clause is no entry, and why.
WHY = {
    "NOT": "it says what was not done",
    "PLAN": "it is a plan: say it when it is done",
    "ASKING": "it is a question",
    "HEARSAY": "it is of others, not of this bench",
}


@attrs.frozen(kw_only=True)
class Segment:
    """A stretch of tokens between two separators.

    Parameters
    ----------
    tokens : tuple of Token
        What is to be read.
    joint : str
        The separator before it.
    stance : str
        Why it is no entry ("" where it may be one).
    contrast : bool
        Whether it only says what is not meant ("not the jar").
    aside : tuple of Token
        A reason or purpose told beside ("so the gum would go in").
    dropped : tuple of Token
        Small words.
    """

    tokens: tuple[Token, ...]
    joint: str = ""
    stance: str = ""
    contrast: bool = False
    aside: tuple[Token, ...] = ()
    dropped: tuple[Token, ...] = ()
    start: int = 0
    end: int = 0

    @property
    def plan(self) -> bool:
        """Whether it is still to be done."""
        return self.stance == WHY["PLAN"]


def segments(tokens: Sequence[Token]) -> tuple[Segment, ...]:
    """Return the segments of a sentence, each with its stance."""
    rough: list[tuple[str, list[Token]]] = [("", [])]
    for place, token in enumerate(tokens):
        if token.type == "PURPOSE" and rough[-1][1] and _goes_on(tokens[place + 1 :]):
            rough.append(("AND", []))  # "so I put in 3 g"
        elif token.type in SEPARATORS:
            rough.append((token.type, []))
        elif token.type == "REL" and any(t.type not in ("FILL", "SUBJECT") for t in rough[-1][1]):
            rough.append(("REL", []))
        elif token.type == "REL" and rough[-1][0] == "COMMA" and len(rough) > 1 and not rough[-1][1]:
            rough[-1] = ("REL", [])
        elif token.type != "REL":
            rough[-1][1].append(token)
    asked = {n - 1 for n, (joint, _) in enumerate(rough) if joint == "QUERY"}
    out: list[Segment] = []
    scope = ""
    for n, (joint, inside) in enumerate(rough):
        if joint in ("STOP", "QUERY", "BUT"):
            scope = ""
        if not inside:
            continue
        said = _segment(joint, inside, first=not out)
        turned = _turned(inside) and joint in ("", "STOP", "BUT", "AND")
        if n in asked or (turned and len(inside) > 1):  # "is t4 darker than t3"
            said = attrs.evolve(said, stance=WHY["ASKING"])
        if not said.stance and scope and _carries(inside, joint, scope):
            said = attrs.evolve(said, stance=scope)
        ordered = (
            len(inside) > 1
            and inside[0].type == "PREP"
            and inside[0].value == "to"
            and inside[1].type == "VERB"
        )
        if ordered and inside[1].tense == "order" and joint in ("", "STOP"):  # "to add: 40 g of vitriol"
            said = attrs.evolve(said, stance=WHY["PLAN"])
        if said.stance and not said.contrast:
            scope = said.stance
        elif any(t.type == "SUBJECT" for t in inside):
            scope = "" if not _lasting(scope, out) or _mine(inside) else scope
        out.append(said)
    return tuple(out)


def in_turn(tokens: Sequence[Token]) -> tuple[Token, ...]:
    """Put first what was done first: "skimmed the pot after adding 10 g" as "added 10 g, then skimmed the pot"."""
    for place, (word, verb) in enumerate(itertools.pairwise(tokens)):
        if word.type != "WORD" or verb.type != "VERB" or verb.tense != "doing":
            continue
        start = next((n + 1 for n in range(place - 1, -1, -1) if tokens[n].type in _STOPS), 0)
        end = next((n for n in range(place + 1, len(tokens)) if tokens[n].type in _STOPS), len(tokens))
        first, second = tokens[start:place], (attrs.evolve(verb, tense="past"), *tokens[place + 2 : end])
        length = word.end - word.start
        if not any(t.type == "VERB" and t.tense == "past" for t in first) or length not in (
            len("after"),
            len("before"),
        ):
            continue
        then = attrs.evolve(word, type="THEN", value="then")
        turned = (*second, then, *first) if length == len("after") else (*first, then, *second)
        return (*tokens[:start], *turned, *tokens[end:])
    return tuple(tokens)


_STOPS = frozenset({"STOP", "QUERY", "BUT", "THEN", "COLON"})
#: What a verb that stands first asks about.
_ASKED_OF = frozenset(
    {"SUBJECT", "PRONOUN", "VESSEL", "LIQUOR", "TRIAL", "LOT", "MATERIAL", "LIQUID", "SUPPORT", "PEN", "EXEMPLAR", "MARC", "WHAT", "CRYSTAL",
     "MASS", "VOLUME", "SHARE", "INSTRUMENT", "SCALE", "NUMBER"}
)  # fmt: skip


def _goes_on(rest: Sequence[Token]) -> bool:
    """Return whether "so" leads to what was done for it: "so I put in 3 g of chalk"."""
    if not rest or rest[0].type != "SUBJECT":
        return False
    clause = list(itertools.takewhile(lambda t: t.type not in SEPARATORS, rest))
    done = any(t.type == "VERB" and t.tense == "past" for t in clause)
    told = any(t.qty is not None for t in clause) or (
        done and any(t.type in ("VESSEL", "MARC") for t in clause)
    )
    return any(t.type == "VERB" for t in clause) and told


def _says_when(rest: Sequence[Token]) -> bool:
    """Return whether "until" leads to a figure, a time or a vessel's state that an entry can hold."""
    return any(t.qty is not None or t.type in ("MOMENT", "NUMBER", "NOT") for t in rest) or not rest


def _turned(inside: Sequence[Token]) -> bool:
    """Return whether a segment begins with "is", "did", ... and something that may do or be."""
    if inside[0].type != "FILL" or inside[0].value not in ("aux", "had"):
        return False
    after = next((t for t in inside[1:] if t.type != "FILL"), None)
    if inside[0].value == "had":
        past = any(t.type == "VERB" and t.tense == "past" for t in inside[1:])
        return past and after is not None and after.type == "SUBJECT"
    return after is not None and after.type in _ASKED_OF


def _carries(inside: Sequence[Token], joint: str, scope: str) -> bool:
    """Return whether what was said before ("I will", "if", "he said") still holds of a segment."""
    if scope == WHY["HEARSAY"] and joint in ("COMMA", "AND") and _mine(inside):
        return False  # "the recipe wants 40 g, I gave it 30"
    if scope in (WHY["HEARSAY"], WHY["ASKING"]) or joint == "COLON":
        return True
    verb = next((t for t in inside if t.type == "VERB"), None)
    subject = any(t.type == "SUBJECT" for t in inside)
    if scope == WHY["NOT"]:
        return joint == "OR"
    return not subject and (verb is None or verb.tense != "past")


def _mine(inside: Sequence[Token]) -> bool:
    """Return whether a stretch tells at its head what the maker did: "I gave it 30"."""
    told = [t for t in inside if t.type != "FILL"]
    own = len(told) > 1 and told[0].type == "SUBJECT" and told[1].type == "VERB" and told[1].tense == "past"
    return own and any(t.qty is not None for t in told)


def _lasting(scope: str, before: Sequence[Segment]) -> bool:
    return scope in (WHY["HEARSAY"], WHY["ASKING"]) and bool(before)


def _beside_what_was_done(kept: Sequence[Token], rest: Sequence[Token]) -> bool:
    """Return whether "without" and what follows only says how something told before it was done."""
    without = rest[0].end - rest[0].start == len("without")
    amount = any(t.qty is not None for t in kept)
    return without and amount and len(rest) > 1 and not any(t.qty is not None for t in rest)


def _segment(joint: str, inside: Sequence[Token], *, first: bool) -> Segment:
    kept: list[Token] = []
    dropped: list[Token] = []
    aside: list[Token] = []
    stance = ""
    contrast = False
    for place, token in enumerate(inside):
        if token.type == "PURPOSE":
            if kept or not first or token.value != "so":
                aside = list(inside[place + 1 :])
                break
            dropped.append(token)
        elif (
            token.type == "ASKING"
            and token.value in ("wh", "be")
            and place
            and any(t.type not in ("FILL", "S") for t in inside[:place])
        ):
            dropped.append(token)  # "when I went up" in the midst asks nothing
        elif token.type == "PREP" and token.value == "until" and kept and not _says_when(inside[place + 1 :]):
            aside = list(inside[place + 1 :])  # "until it had dissolved"
            break
        elif token.type == "NOT" and kept and kept[-1].type == "PREP" and kept[-1].value == "until":
            dropped.append(token)  # "until nothing was bigger than 3 mm"
        elif token.type == "NOT" and token.value == "never" and _beside_what_was_done(kept, inside[place:]):
            aside = list(inside[place + 1 :])  # "warmed it to 40 degrees without boiling it"
            break
        elif token.type in WHY:
            rest = [t for t in inside[place + 1 :] if t.type not in ("FILL", "S", "SUBJECT")]
            if (
                token.type == "NOT"
                and token.value == "not"
                and not any(t.type in ("VERB", "SCALE") for t in rest)
            ):
                contrast = True
                if kept:  # "branch not trunk"
                    aside = list(inside[place + 1 :])
                    break
                continue
            stance = stance or WHY[token.type]
        elif token.type in ("FILL", "S", "SUBJECT"):
            dropped.append(token)
        else:
            kept.append(token)
    return Segment(
        tokens=tuple(kept), joint=joint, stance=stance, contrast=contrast and not kept[:0] and not aside and bool(kept),
        aside=tuple(aside), dropped=tuple(dropped), start=inside[0].start, end=inside[-1].end,
    )  # fmt: skip
