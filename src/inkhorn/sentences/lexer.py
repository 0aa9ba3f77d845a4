"""A sentence as typed tokens: amounts, moments, names, verbs and words of the bench; the longest reading wins."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

import attrs

from inkhorn.sentences import amounts, clock
from inkhorn.sentences.asides import beside, clock_behind
from inkhorn.sentences.context import in_place
from inkhorn.sentences.lexicon import Phrases, Word, names, vocabulary
from inkhorn.sentences.measuring import unit_at
from inkhorn.sentences.numbers import SMALL
from inkhorn.sentences.scene import Scene
from inkhorn.sentences.sharing import shared
from inkhorn.sentences.spelling import mended
from inkhorn.sentences.stories import retold
from inkhorn.sentences.straight import straight
from inkhorn.sentences.tellings import told_of
from inkhorn.sentences.tokens import Raw, Token, lowered, raws
from inkhorn.sentences.turns import turned
from inkhorn.units import fold

_MARKS = {
    ",": "COMMA", ";": "STOP", ".": "STOP", "...": "STOP", "…": "STOP", "!": "STOP", "?": "QUERY", ":": "COLON",
    "(": "COMMA", ")": "COMMA", "/": "COMMA", "&": "AND", "+": "AND", "->": "ARROW", "=>": "ARROW", "→": "ARROW", ">": "ARROW", "*": "COMMA",
    '"': "", "=": "", "-": "COMMA", "±": "WORD", "+/-": "WORD", "<": "PREP", "°": "WORD", "~": "WORD", "%": "WORD",
}  # fmt: skip
_JOINS = {"and": "AND", "then": "THEN", "but": "BUT", "or": "OR"}
_NAME = re.compile(r"[a-z]+(?:-[a-z]+)*-?\d{1,4}[a-z]?(?![\w.,]*\d)(?![\w-])")
#: Words that no thing is called by.
_NO_NAMES = frozenset(
    {
        "the",
        "a",
        "an",
        "it",
        "and",
        "trial",
        "is",
        "lot",
        "on",
        "with",
        "from",
        "in",
        "into",
        "of",
        "at",
        "by",
        "for",
        "to",
        "was",
        "using",
    }
)
_RGB = (("r", "red"), ("g", "green"), ("b", "blue"))
_LAB = (("l",), ("a",), ("b",))


def tokens(said: str, scene: Scene) -> tuple[Token, ...]:
    """Return the typed tokens of a sentence."""
    words, text = straight(raws(said), said), lowered(said)
    known = names(scene.things)
    right = mended(words, known)
    if right:
        words = tuple(
            attrs.evolve(w, text=right.get(w.start, w.text)) if w.sort == "word" else w for w in words
        )
    found = list(_Reader(words, text, said, scene, known).read())
    if right:
        found = [attrs.evolve(t, guess=_guess(t, right, said) or t.guess) for t in found]
    whole = beside(told_of(retold(turned(shared(in_place(_paired(found)), said), said), said), said), said)
    return clock_behind(whole, said, scene.now)


_PAIRED = frozenset({"VOLUME", "MASS", "TEMP", "LENGTH", "TIME"})


def _paired(found: list[Token]) -> list[Token]:
    """Return the tokens with the unit of the first figure given to a bare second: "from 4 litres to 1.5"."""
    out = list(found)
    for place, token in enumerate(found):
        before = [t for t in found[max(0, place - 4) : place] if t.type != "FILL"]
        if token.type != "NUMBER" or token.qty is None:
            continue
        later = next((n for n in range(place + 1, len(found)) if found[n].qty is not None), None)
        if before and before[-1].value in ("to", "at") and later is not None and found[later].type == "TEMP":
            led = [t for t in found[:later] if t.type != "FILL"]
            unit = found[later].qty.unit if found[later].qty else ""  # type: ignore[union-attr]
            if led and led[-1].type == "PREP" and led[-1].value == before[-1].value and unit:
                qty = attrs.evolve(token.qty, text=token.qty.bare(unit), dimension="temperature", unit=unit)
                out[place] = attrs.evolve(token, type="TEMP", value=qty.text, qty=qty)
                continue
        after = [t for t in found[place + 1 : place + 4] if t.type != "FILL"][:2]
        if (
            before
            and before[-1].value == "from"
            and len(after) == 2
            and after[0].type == "PREP"
            and after[1].type in _PAIRED
        ):
            other = after[1].qty
            if after[0].value in ("to", "down_to") and other is not None and other.unit:
                qty = attrs.evolve(
                    token.qty, text=token.qty.bare(other.unit), dimension=other.dimension, unit=other.unit
                )
                out[place] = attrs.evolve(token, type=after[1].type, value=qty.text, qty=qty)
                continue
        if len(before) < 3:
            continue
        lead, first, joint = before[-3:]
        spans = lead.value == "from" and joint.type == "PREP" and joint.value in ("to", "down_to", "up_to")
        if spans and first.type in _PAIRED and first.qty is not None and first.qty.unit:
            qty = attrs.evolve(
                token.qty,
                text=token.qty.bare(first.qty.unit),
                dimension=first.qty.dimension,
                unit=first.qty.unit,
            )
            out[place] = attrs.evolve(token, type=first.type, value=qty.text, qty=qty)
    return out


def _guess(token: Token, right: Mapping[int, str], said: str) -> str:
    """Return how a misspelt word inside a token was read, or ""."""
    for start, word in right.items():
        if token.start <= start < token.end:
            wrong = re.match(r"\w+", said[start:])
            return f"{wrong[0] if wrong else ''} as {word}"
    return ""


@attrs.frozen
class _Reader:
    words: tuple[Raw, ...]
    text: str
    said: str
    scene: Scene
    names: Phrases

    def read(self) -> Iterator[Token]:
        at, after_call = 0, False
        while at < len(self.words):
            token, end = self.one(at, after_call=after_call)
            if token is not None and token.type:
                yield token
                after_call = token.type == "CALL" or (after_call and token.type in ("COLON", "FILL"))
            at = end

    def one(self, at: int, *, after_call: bool) -> tuple[Token | None, int]:
        """Return the token at a place and the place after it."""
        word = self.words[at]
        if word.sort == "file":
            return self.token("FILE", self.said[word.start : word.end], at, at + 1), at + 1
        if word.text == ">" and at + 1 < len(self.words) and self.words[at + 1].sort == "number":
            return self.token("PREP", "more_than", at, at + 1), at + 1
        for read in (self.channels, self.triple):
            found = read(at)
            if found:
                return found
        found = self.longest(at)
        if after_call and (found is None or found[0].type not in ("TRIAL", "NUMBER", "MOMENT")):
            called = self.new_name(at, found)
            if called:
                return called
        coined = self.coined(at)
        if coined:
            return coined
        if found is None or found[0].type in ("FILL", "WORD", "VERB", "PREP"):
            plain = self.plain_name(at)
            if plain and (found is None or plain[1] > found[1]):
                return plain
        elif found[0].names and not any(c.isdigit() for c in found[0].value):
            plain = self.plain_name(at)
            if plain and plain[1] > found[1] and "-" in plain[0].value:
                return plain
        if found:
            return found
        arrow = bool(re.fullmatch(r"[-=~]+>+|>>+|→|↦|⇒|➔|➜", word.text))
        if arrow or word.text in _MARKS:
            kind = "ARROW" if arrow else _MARKS[word.text]
            minus = word.text == "-" and not word.glued and at + 1 < len(self.words)
            if minus and self.words[at + 1].glued and self.words[at + 1].sort == "number":
                kind = "WORD"  # "-40 g": less than nothing is not passed over
            return (
                self.token(kind, "less_than" if word.text == "<" else word.text, at, at + 1) if kind else None
            ), at + 1
        if word.text in _JOINS:
            return self.token(_JOINS[word.text], word.text, at, at + 1), at + 1
        if word.text in ("'s", "s'"):
            return self.token("S", "s", at, at + 1), at + 1
        return self.token("WORD", word.text, at, at + 1), at + 1

    def token(self, kind: str, value: str, at: int, end: int, **more: object) -> Token:
        last = self.words[end - 1]
        return Token(type=kind, value=value, start=self.words[at].start, end=last.end, **more)  # type: ignore[arg-type]

    def longest(self, at: int) -> tuple[Token, int] | None:
        """Return the longest reading at a place; of two as long the more particular."""
        best: tuple[int, int, Token] | None = None
        for rank, found in enumerate((self.name(at), self.moment(at), self.amount(at), self.word(at))):
            if found is None:
                continue
            token, end = found
            digits = rank == 0 and any(c.isdigit() for c in token.value)
            score = (end, 9 if digits else 4 - rank)
            if best is None or score > best[:2]:
                best = (*score, token)
        return (best[2], best[0]) if best else None

    def phrase(
        self, at: int, phrases: Mapping[tuple[str, ...], Word], most: int = 7
    ) -> tuple[Word, int] | None:
        for size in range(min(most, len(self.words) - at), 0, -1):
            part = self.words[at : at + size]
            key = tuple(fold(w.text) or w.text for w in part)
            if key in phrases:
                return phrases[key], at + size
        return None

    def name(self, at: int) -> tuple[Token, int] | None:
        found = self.phrase(at, self.names)
        if found is None:
            return None
        word, end = found
        return self.token(word.type, word.value, at, end, names=word.names, tense=word.tense), end

    def word(self, at: int) -> tuple[Token, int] | None:
        found = self.phrase(at, vocabulary())
        if found is None:
            return None
        word, end = found
        kind = word.type
        first = fold(self.words[at].text)
        if kind == "MARC" and end - at > 1 and (first,) in self.names and self.scene.last("strain") is None:
            return None  # "leaf in the tub", where nothing was strained yet
        if (
            kind == "MANNER"
            and self.words[at].text == "with"
            and end < len(self.words)
            and self.words[end].text == "of"
        ):
            return None  # "with a spoon of chalk" is an amount
        if kind == "PREP" and end - at == 2 and self.words[at + 1].text == "to":
            after = self.phrase(at + 1, vocabulary())
            if after is not None and after[0].type in ("PURPOSE", "AHEAD"):  # "put it in to thicken it"
                return self.token("PREP", self.words[at].text, at, at + 1), at + 1
        if kind == "VESSEL":
            kind = {"?liquor": "LIQUOR"}.get(word.value, "PRONOUN")
        return self.token(kind, word.value, at, end, tense=word.tense), end

    def moment(self, at: int) -> tuple[Token, int] | None:
        told = clock.moment(self.words, at, self.scene.now)
        if told is None:
            return None
        return self.token("MOMENT", told.moment.role, at, told.end, data=told.moment), told.end

    def amount(self, at: int) -> tuple[Token, int] | None:
        found = amounts.amount(self.words, at)
        if found is None:
            return None
        after = self.words[found.end].text if found.end < len(self.words) else ""
        if (
            found.type == "STRANGE"
            and at
            and self.words[at - 1].text in ("in", "into", "from", "inside")
            and after != "of"
        ):
            return None  # "in a bottle" is where it is, not how much
        return self.token(
            found.type, found.qty.text, at, found.end, qty=found.qty, guess=found.guess
        ), found.end

    # ------------------------------------------------------------ names and channels

    def plain_name(self, at: int) -> tuple[Token, int] | None:
        """Return a name with a figure in it that nothing here has yet: "t9", "green-1"."""
        if at and self.words[at].glued and self.text[self.words[at].start - 1] != "(":
            return None
        found = _NAME.match(self.text, self.words[at].start)
        if found is None:
            return None
        end = at
        while end < len(self.words) and self.words[end].end <= found.end():
            end += 1
        return self.token("NEWNAME", found[0], at, end), end

    def coined(self, at: int) -> tuple[Token, int] | None:
        """Return a name put together with hyphens of which only a part is known: "sample-jar"."""
        run = re.match(r"[^\W\d_]+(?:-[^\W\d_]+)+(?![\w-])", self.text[self.words[at].start :])
        if run is None or (at and self.words[at].glued):
            return None
        stop, end = self.words[at].start + run.end(), at
        while end < len(self.words) and self.words[end].end <= stop:
            end += 1
        whole = tuple(fold(w.text) or w.text for w in self.words[at:end])
        if whole in self.names or whole in vocabulary():
            return None
        things = ("VESSEL", "LOT", "MATERIAL", "SUPPORT", "PEN", "CUT", "SKIN")
        parts = [self.names[key].type for key in ((word,) for word in whole) if key in self.names]
        if not any(part in things for part in parts) or (
            all((w,) in self.names for w in whole) and len(set(parts)) == 1
        ):
            return None
        found = self.longest(at)
        if found is not None and found[1] >= end:
            return None
        return self.token("NEWNAME", run[0], at, end), end

    def new_name(self, at: int, known: tuple[Token, int] | None) -> tuple[Token, int] | None:
        """Return the name that something is given."""
        word = self.words[at]
        if word.text in _MARKS or word.text in _NO_NAMES:
            return None
        if known and known[0].qty is not None:
            return None
        run = re.match(r"[\w.'+-]*[\w']", self.text[word.start :])
        if run is None:
            return None
        stop, end = word.start + run.end(), at
        while end < len(self.words) and self.words[end].end <= stop:
            end += 1
        if not re.search(r"[\d-]", run[0]) and end < len(self.words) and self.words[end].sort == "word":
            after = self.words[end + 1].text if end + 1 < len(self.words) else ","
            if after in _MARKS and self.words[end].text not in ("and", "please", "now", "in", "on"):
                end += 1
        end = max(end, at + 1)
        text = self.text[word.start : self.words[end - 1].end]
        counted = self.words[end].text if end < len(self.words) else ""
        if text.isalpha() and counted in SMALL and unit_at(self.words, end + 1) is None:
            return self.token(
                "NEWNAME", f"{text}-{SMALL[counted]}", at, end + 1
            ), end + 1  # "call it calf two"
        return self.token("NEWNAME", re.sub(r"[\s_]+", "-", text), at, end), end

    def channels(self, at: int) -> tuple[Token, int] | None:
        """Return three channels with their letters: "R 0.82 G 0.88 B 0.86"."""
        for letters, keys in ((_RGB, "RGB"), (_LAB, "Lab")):
            value: dict[str, float] = {}
            step = at
            for key, said in zip(keys, letters, strict=True):
                while value and step < len(self.words) and self.words[step].text in (",", "and", "/", ";"):
                    step += 1
                if step >= len(self.words) or self.words[step].text not in said:
                    break
                step += 1
                while step < len(self.words) and self.words[step].text in (":", "=", "is", "*"):
                    step += 1
                number = self.signed(step)
                if number is None:
                    break
                value[key], step = number
            if len(value) == 3:
                return self.token("CHANNELS", keys, at, step, data=value), step
        return None

    def triple(self, at: int) -> tuple[Token, int] | None:
        """Return three bare figures in a row: "31 / 1 / -2"."""
        if at and self.words[at].glued and self.words[at - 1].sort == "word":
            return None
        figures: list[float] = []
        step = at
        for _ in range(3):
            while figures and step < len(self.words) and self.words[step].text in (",", "and", "/", ";"):
                step += 1
            number = self.signed(step)
            if number is None:
                return None
            figures.append(number[0])
            step = number[1]
        found = amounts.amount(self.words, step - 1)
        if found and found.qty.dimension != "number":
            return None
        letters = [w.text for w in self.words[step : step + 8]]
        if letters[:6] in (["in", "r", ",", "g", "and", "b"], ["for", "r", ",", "g", "and", "b"]):
            step += 6
        return self.token("TRIPLE", "", at, step, data=figures), step

    def signed(self, at: int) -> tuple[float, int] | None:
        minus = at < len(self.words) and self.words[at].text == "-"
        step = at + 1 if minus else at
        if step >= len(self.words) or self.words[step].sort != "number":
            return None
        value = float(self.words[step].text.replace(",", "."))
        value = -value if minus else value
        return (int(value) if value == int(value) and "." not in self.words[step].text else value), step + 1
