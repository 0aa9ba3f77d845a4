"""A clause that fits no frame as it stands, read with as little of it left out as will do; a yes is asked for that.

The frames want a place for everything. Where one word shuts them all out, the rest of the clause still says what was
done: an unfamiliar verb beside an amount, a lot and a vessel; a place or a reason told beside it; a preposition that is
not looked for. So one or two such words are left out, and said to be. What would turn the meaning (a word for taking
out, a limit, an amount, a name, a time) is never among them.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import attrs

from inkhorn.sentences.clauses import clause_of
from inkhorn.sentences.phrases import Phrase, phrases
from inkhorn.sentences.reading import Reading, left_out
from inkhorn.sentences.scene import Scene, after_entry
from inkhorn.sentences.segments import Segment
from inkhorn.sentences.tokens import Token

#: Verbs without which a clause may say the contrary, or what no entry holds: "spilt 5 g", "sold", "boiled off 100 ml".
_TURNING = frozenset({"discard", "lose", "boil_off", "lift", "skim", "other", "strain"})
#: Words that may be left out by themselves.
_SPARE = frozenset(
    {"WORD", "MANNER", "STRAY", "PARTICLE", "INSTRUMENT", "AGAIN", "COVER", "PIECES", "METHOD", "DECLARE", "PLUS", "STRIP", "AHEAD", "SCUM", "CUT"}
)  # fmt: skip
#: Prepositions that say the contrary of "into", or set a limit: never left out, never taken for another.
_KEPT = frozenset(
    {"from", "off", "than", "more_than", "less_than", "above", "under", "until", "since", "down_to", "up_to", "per", "against"}
)  # fmt: skip
#: Verbs that say so little that they may go even where a question could be asked instead.
_LIGHT = frozenset({"put", "throw", "hold", "bring", "made", "rest", "gather", "read", "have", "cut"})
#: What a phrase left out whole may be made of.
_IDLE = frozenset({"FILL", "S", "WORD", "MANNER", "INSTRUMENT", "SCUM", "COVER", "METHOD", "CUT"})
#: How many readings are tried at most, so that a long clause costs no more than a short one.
_MOST_TRIED = 24
#: What leaving out costs, on top of what the reading itself costs.
_ONE, _TWO = 3.0, 6.0


@attrs.frozen(kw_only=True)
class _Less:
    """Something to leave out: which tokens go, and which stand as plain words."""

    gone: frozenset[int] = frozenset()
    plain: frozenset[int] = frozenset()


def relaxed(said: str, parts: Sequence[Segment], scene: Scene, *, gently: bool = False) -> Reading | None:
    """Return what a clause says with a word or two of it left out, or None where that makes no entry.

    Parameters
    ----------
    said : str
        The whole sentence.
    parts : sequence of Segment
        The segments of the clause.
    scene : Scene
        The bench.
    gently : bool
        Whether only what says little may be left out, and nothing parted in two: where a question may be asked instead.
    """
    tokens = [token for part in parts for token in part.tokens]
    if any(part.stance or part.contrast or part.aside for part in parts):
        return None
    halves = _halves(said, parts, scene) if not gently else None
    if halves is not None:
        return halves
    single = list(_ways(tokens))
    if gently:
        single = [
            way
            for way in single
            if not any(tokens[n].value == "of" or tokens[n].type in ("PIECES", "METHOD") for n in way.gone)
            and all(tokens[n].value in _LIGHT for n in way.plain)
        ]
    tried = 0
    asked: Reading | None = None
    for ways_of, cost in (
        (((way,) for way in single), _ONE), (_together(single), _TWO), (itertools.combinations(single, 2), _TWO),
    ):  # fmt: skip
        found: list[tuple[float, Reading]] = []
        for ways in ways_of:
            gone = frozenset().union(*(w.gone for w in ways))
            plain = frozenset().union(*(w.plain for w in ways))
            if gone & plain:
                continue
            tried += 1
            if tried > _MOST_TRIED:
                break
            made = _without(said, parts, tokens, gone, plain, scene)
            only_read = bool(plain) and all(entry["kind"] == "reading" for entry in made.entries)
            if made.entries and made.question is None and not only_read:
                found.append((made.cost + len(gone | plain) / 10, made))
            elif made.question is not None and asked is None and cost == _ONE and not plain:
                asked = made
        if found:
            least = min(found, key=lambda pair: pair[0])[1]
            return attrs.evolve(least, cost=least.cost + cost)
    return asked


def _together(single: Sequence[_Less]) -> Iterator[tuple[_Less, ...]]:
    """Yield all that is idle at once, and that with each of the verbs."""
    idle = tuple(way for way in single if not way.plain)
    if len(idle) > 2:
        yield idle
    for way in single:
        if way.plain and len(idle) > 1:
            yield (*idle, way)


def _halves(said: str, parts: Sequence[Segment], scene: Scene) -> Reading | None:
    """Return what a stretch without a mark in it says as two things one after the other, both of them whole, or None.

    "strained the tub into the pot it came to four litres": dictated, without a stop. A yes is asked for where it parts.
    """
    if len(parts) != 1 or len(parts[0].tokens) < _LEAST:
        return None
    (part,) = parts
    best: tuple[float, Reading] | None = None
    for place in range(2, len(part.tokens) - 1):
        if not _may_part(part.tokens[place - 1], part.tokens[place]):
            continue
        first = attrs.evolve(part, tokens=part.tokens[:place], end=part.tokens[place - 1].end)
        second = attrs.evolve(
            part, tokens=part.tokens[place:], joint="COMMA", dropped=(), start=part.tokens[place].start
        )
        one = clause_of(said, (first,), (phrases(first.tokens),), scene)
        if not one.entries or one.question or one.unread:
            continue
        after = scene
        for entry in one.entries:
            after = after_entry(after, entry)
        other = clause_of(said, (second,), (phrases(second.tokens),), after)
        if not other.entries or other.question or other.unread:
            continue
        cost = one.cost + other.cost
        if best is None or cost < best[0]:
            told = f"I take “{said[first.start : first.end]}” for one thing and “{said[second.start : second.end]}” for the next"
            both = Reading(
                cost=cost,
                entries=(*one.entries, *other.entries),
                guesses=tuple(dict.fromkeys((*one.guesses, *other.guesses, told))),
                told=one.told or other.told,
            )
            best = (cost, both)
    return best[1] if best else None


#: The least number of words in which two things may be told.
_LEAST = 4  # numbers-in-code: words


def _may_part(before: Token, after: Token) -> bool:
    """Return whether a new thing may begin between two words: never behind a preposition, nor in front of "of"."""
    return before.type not in ("PREP", "FILL", "S") and not (after.type == "PREP" and after.value == "of")


def _ways(tokens: Sequence[Token]) -> Iterator[_Less]:
    """Yield what may be left out of a clause, one thing at a time, the least telling first."""
    kept = _of_so_much(tokens)
    for place, token in enumerate(tokens):
        if token.type in _SPARE and token.qty is None and place not in kept:
            yield _Less(gone=frozenset({place}))
    for place, token in enumerate(tokens):
        if token.type != "PREP" or token.value in _KEPT or place in kept:
            continue
        end = place + 1
        while end < len(tokens) and tokens[end].type in _IDLE:
            end += 1
        yield _Less(gone=frozenset(range(place, end)))
    for place, token in enumerate(tokens):
        if token.type == "VERB" and token.value not in _TURNING:
            yield _Less(plain=frozenset({place}))


def _of_so_much(tokens: Sequence[Token]) -> set[int]:
    """Return the places of a thing that is not known and of which an amount is told: "a litre of moonwater"."""
    out: set[int] = set()
    for place, token in enumerate(tokens):
        if token.value != "of" or not place or tokens[place - 1].qty is None:
            continue
        end = place + 1
        while end < len(tokens) and tokens[end].type in ("WORD", "MANNER", "PIECES", "TEMP"):
            end += 1
        if end == len(tokens) or tokens[end].type not in (
            "LOT",
            "MATERIAL",
            "LIQUID",
            "LIQUOR",
            "CRYSTAL",
            "MARC",
        ):
            out |= set(range(place, end))
    return out


def _without(
    said: str,
    parts: Sequence[Segment],
    tokens: Sequence[Token],
    gone: frozenset[int],
    plain: frozenset[int],
    scene: Scene,
) -> Reading:
    """Return what a clause says without some of its words."""
    kept: list[Segment] = []
    start = 0
    for part in parts:
        places = range(start, start + len(part.tokens))
        start += len(part.tokens)
        left = tuple(
            attrs.evolve(tokens[n], type="WORD", value="-", tense="") if n in plain else tokens[n]
            for n in places
            if n not in gone
        )
        kept.append(attrs.evolve(part, tokens=left))
    cut: list[tuple[Phrase, ...]] = [phrases(part.tokens) for part in kept]
    found = clause_of(said, kept, cut, scene)
    words = _words(said, tokens, gone)
    told = tuple(dict.fromkeys((*found.guesses, *left_out(words))))
    return attrs.evolve(found, guesses=told, unread=(*found.unread, *words))


def _words(said: str, tokens: Sequence[Token], gone: frozenset[int]) -> list[str]:
    """Return the words left out, those that stand together as one."""
    runs: list[list[int]] = []
    for place in sorted(gone):
        if runs and runs[-1][-1] == place - 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    return [said[tokens[run[0]].start : tokens[run[-1]].end] for run in runs]
