"""One clause: every frame and reader is tried on its phrases, and the reading that costs least is kept."""

from __future__ import annotations

import re
from collections.abc import Sequence

import attrs

from inkhorn.sentences import making, readings
from inkhorn.sentences.answer import Ask, Question
from inkhorn.sentences.coordination import conjuncts
from inkhorn.sentences.frames import Clause, Filled, fillings, words_of
from inkhorn.sentences.kinds import finish
from inkhorn.sentences.phrases import Phrase
from inkhorn.sentences.reading import Reading, left_out
from inkhorn.sentences.scene import Scene
from inkhorn.sentences.segments import Segment

#: Terminals whose words tell something that an entry must hold.
TELLING = frozenset(
    {"VESSEL", "LOT", "LIQUID", "MATERIAL", "CRYSTAL", "MARC", "SUPPORT", "SKIN", "PEN", "CUT", "TRIAL", "EXEMPLAR", "NEWNAME", "MASS",
     "VOLUME", "TIME", "LENGTH", "PERCENT", "STRANGE", "CONC", "VISCOSITY", "TEMP", "HEAT", "DILUTION", "BARK", "BRIX", "SHARE", "NUMBER", "ANGLE",
     "CHANNELS", "TRIPLE", "FILE", "WHAT", "SCALE", "METHOD", "MOMENT"}
)  # fmt: skip
#: Kinds whose frames may hold nothing but their verb only where something is told beside it.
_BARE_KINDS = frozenset({"rest", "steep", "weather", "gather", "neutralise"})
#: Kinds of which two that share all else are two entries: each of two lots washed, each of two pots warmed.
_EACH = frozenset(
    {
        "add",
        "gather",
        "prepare",
        "warm",
        "rest",
        "skim",
        "store",
        "reduce",
        "discard",
        "reading",
        "mark",
        "neutralise",
    }
)
#: Verbs that by themselves are no step: a clause of them that is not understood may be left out, with a yes.
_SAYING = frozenset({"read", "have", "hold", "give", "get", "put", "run", "made", "fall"})
#: What is asked where several lots share one liquid: an entry holds one.
_TOGETHER = Question(
    text="Two lots in one liquid: how much of the liquid goes with each?", field="liquid_amount",
    mend="Say it for each lot, with its share of the liquid",
)  # fmt: skip
#: Verbs that make a lot ready, and are left out where they stand beside an addition.
_READYING = ("grind", "crush", "dry", "wash", "sieve", "scrape")


def clause_of(
    said: str,
    parts: Sequence[Segment],
    cut: Sequence[tuple[Phrase, ...]],
    scene: Scene,
    lent: Sequence[Phrase] = (),
) -> Reading:
    """Return what some segments say as one clause.

    Parameters
    ----------
    said : str
        The whole sentence.
    parts, cut : sequence
        The segments, and the phrases of each.
    scene : Scene
        The bench.
    lent : sequence of Phrase
        Phrases of a clause before it that hold of it too ("and 8 g to the crock").
    """
    inside = tuple(p for group in cut for p in group)
    words = (said[parts[0].start : parts[-1].end],)
    weight = sum(1 for p in inside if p.type in TELLING or p.amount is not None or p.type == "VERB")
    if parts[0].stance:
        verbless = not any(p.type == "VERB" for p in inside)
        alone = () if inside else left_out(words)  # "tomorrow", all by itself
        rest = (
            left_out(words) if verbless and any(p.amount or p.thing for p in inside) and parts[0].plan else ()
        )
        return Reading(
            cost=1 + weight, refused=parts[0].stance, unread=words, guesses=(*rest, *alone), passed=words
        )
    if any(part.contrast for part in parts):
        return Reading(cost=0.5 + weight if len(parts) == 1 else 50, unread=words, passed=words)
    aside = tuple(said[part.aside[0].start : part.aside[-1].end] for part in parts if part.aside)
    if any(t.qty is not None for part in parts for t in part.aside):
        return Reading(cost=40, failed=True, unread=aside)
    inside = _of_the_goods(inside)
    joints = tuple(part.start for part in parts[1:] if part.joint in ("AND", "COMMA"))
    clause = Clause(
        phrases=(*lent, *inside), scene=scene, said=said, dropped=tuple(t for part in parts for t in part.dropped), joints=joints,
    )  # fmt: skip
    found = _coordinated(said, clause)
    told = bool(clause.moments())
    if found is not None and found.question is not None and _says_little(inside):
        found = attrs.evolve(found, question=attrs.evolve(found.question, mild=True), unread=words)
    if (found is None or found.question is not None) and _only_stirred(said, inside):
        return Reading(
            cost=1,
            refused="stirring is not kept: it changes nothing that is reckoned",
            unread=words,
            passed=words,
        )
    if (found is None or found.question is not None) and _only_pressed(inside):
        return Reading(
            cost=1, refused="pressing the marc belongs to straining it", unread=words, passed=words
        )
    if found is not None:
        guesses = tuple(t.guess for p in inside for t in p.words if t.guess)
        guesses = tuple(f"I read {g}" for g in dict.fromkeys(guesses))
        return attrs.evolve(
            found,
            unread=(*found.unread, *aside),
            guesses=(*found.guesses, *left_out(aside), *guesses),
            told=told,
        )
    telling = [p for p in inside if p.type in TELLING or p.amount is not None]
    thrown = any(p.type == "VERB" and p.thing and p.thing.value == "discard" for p in inside) and any(
        p.type in ("LOT", "MARC") for p in inside
    )
    grave = any(
        p.amount is not None or p.type in ("MOMENT", "NUMBER", "TRIPLE", "CHANNELS") for p in inside
    ) or any(p.type == "VERB" and p.thing and p.thing.value not in _SAYING and not thrown for p in inside)
    if not telling:
        return Reading(
            idle=_says_something(inside), cost=1.5 if not any(p.type == "VERB" for p in inside) else 2, unread=words,
        )  # fmt: skip
    unknown = next((p for p in inside if p.sort == "unknown"), None)
    if unknown is not None:
        return Reading(cost=20 + weight, failed=True, question=_what_is_it(said, unknown), unread=words)
    bare = [p for p in inside if p.bare and p.type == "NUMBER"]
    if len(bare) == 1 and any(p.type in ("VESSEL", "LOT", "LIQUID", "LIQUOR", "VERB") for p in inside):
        return Reading(
            cost=20 + weight, failed=True, question=_which_unit(said, bare[0], clause), unread=words
        )
    return Reading(cost=20 + weight, failed=True, unread=words, idle=not grave)


def _which_unit(said: str, phrase: Phrase, clause: Clause) -> Question:
    """Return the question what a figure without a unit is, by what it would fill."""
    boiled = clause.has("verb:boil", "verb:simmer", "verb:boil_off", "DOWN", "HEAT")
    field = "to" if boiled else "up_to" if clause.has("verb:fill", "P:up_to") else "amount"
    field = "value" if clause.has("WHAT", "INSTRUMENT", "verb:read") else field
    figure = said[phrase.amount.start : phrase.amount.end] if phrase.amount else ""
    return Question(
        text=f"“{figure}” has no unit: how much was it?", field=field, mend="Give it with its unit"
    )


def _what_is_it(said: str, phrase: Phrase) -> Question:
    """Return the question what something is of which an amount is told, where nothing of that name is known."""
    of = phrase.words[-1]
    word = said[of.start : phrase.end]
    liquid = phrase.qty is not None and phrase.qty.dimension == "volume"
    return Question(
        text=f"I know nothing called “{word}”: what is it?", field="liquid" if liquid else "lot",
        mend="Name a lot, a material of the handbook or a liquid",
    )  # fmt: skip


def _says_little(inside: Sequence[Phrase]) -> bool:
    """Return whether a clause is no more than a verb of letting be: "let cool", "put aside"."""
    verbs = {p.thing.value for p in inside if p.type == "VERB" and p.thing}
    return (
        bool(verbs)
        and verbs <= {"cool", "rest", "put", "hold"}
        and all(p.type in ("VERB", "PARTICLE", "STRAY", "PRONOUN", "MANNER") for p in inside)
    )


def _of_the_goods(inside: Sequence[Phrase]) -> tuple[Phrase, ...]:
    """Drop "both" where it is of two lots that go into one vessel: "20 g of gum and 30 g of vitriol, both into the pot"."""
    goods = [p for p in inside if p.type in ("LOT", "MATERIAL", "LIQUID") and p.amount is not None]
    vessels = {p.thing.value for p in inside if p.type == "VESSEL" and p.thing}
    if len(goods) != 2 or len(vessels) != 1:
        return tuple(inside)
    return tuple(
        p for p in inside if not (p.thing and p.thing.value == "?both" and p.amount is None and not p.prep)
    )


def _only_stirred(said: str, inside: Sequence[Phrase]) -> bool:
    """Return whether a clause tells that something was stirred, and no more."""
    verbs = [said[p.start : p.end].casefold() for p in inside if p.type == "VERB"]
    more = any(p.amount is not None or p.type in ("LOT", "LIQUID", "MATERIAL", "MOMENT") for p in inside)
    return bool(verbs) and all(re.match(_STIRRED, verb) for verb in verbs) and not more


_STIRRED = r"stir|shake|shook|shaken|swirl|agitat"


def _only_pressed(inside: Sequence[Phrase]) -> bool:
    """Return whether a clause tells that the marc was pressed out, and no more."""
    verbs = [p for p in inside if p.type == "VERB"]
    rest = [p for p in inside if p.type not in ("VERB", "MANNER", "PARTICLE")]
    pressed = bool(verbs) and all(p.thing is not None and p.thing.value == "strain" for p in verbs)
    return pressed and bool(rest) and all(p.type == "MARC" and p.amount is None for p in rest)


def _coordinated(said: str, clause: Clause) -> Reading | None:
    """Return the best reading of a clause, or of each of the things that it joins by "and"."""
    whole = _read(said, clause)
    each = conjuncts(clause)
    if not each:
        return whole
    if any(p.type == "PRONOUN" and not all(p in one.phrases for one in each) for p in clause.phrases):
        whole = None  # "warmed it and the pot"
    parts = [_read(said, one) for one in each]
    if any(part is None for part in parts):
        return whole
    kinds = {entry["kind"] for part in parts if part for entry in part.entries}
    if kinds and kinds <= {"steep", "weather"}:
        made = [part for part in parts if part]
        return _steeped_together(made) or Reading(cost=6 / 5, question=_TOGETHER)
    asked = next((part for part in parts if part and part.question), None)
    if asked is None and (len(kinds) != 1 or not kinds <= _EACH):
        return whole
    cost = max(part.cost for part in parts if part) + 1 / 2
    if asked is not None:
        both = attrs.evolve(asked, cost=cost)
    else:
        both = Reading(
            cost=cost,
            entries=tuple(entry for part in parts if part for entry in part.entries),
            unread=tuple(dict.fromkeys(word for part in parts if part for word in part.unread)),
            guesses=tuple(dict.fromkeys(guess for part in parts if part for guess in part.guesses)),
        )
    return both if whole is None or both.cost <= whole.cost else whole


def _steeped_together(parts: Sequence[Reading]) -> Reading | None:
    """Return several lots in one liquid, or one in several: all but the first are put in the vessel beside it.

    That is how a daybook holds it: what an addition leaves in a vessel soaks in whatever is then poured on it. An
    addition cannot say how small the pieces were, so where that was told it is still asked how the lots shared the liquid.
    """
    entries = [entry for part in parts for entry in part.entries]
    if len(entries) != len(parts) or any(part.question for part in parts):
        return None
    first, *others = entries
    if any(e["kind"] != "steep" or "lot" not in e for e in entries):
        return None
    if any(e.get("at") != first.get("at") or e["into"] != first["into"] for e in others):
        return None
    lots, liquids = {e["lot"] for e in entries}, {e["liquid"] for e in entries}
    if len(lots) == len(entries) and len(liquids) == 1 and not any("pieces" in e for e in others):
        kept = {"at": "at", "lot": "lot", "amount": "amount", "into": "into"}
    elif len(liquids) == len(entries) and len(lots) == 1:
        kept = {"at": "at", "liquid": "liquid", "amount": "liquid_amount", "into": "into"}
    else:
        return None
    put_in = [{"kind": "add"} | {key: e[old] for key, old in kept.items() if old in e} for e in others]
    return Reading(
        cost=max(part.cost for part in parts),
        entries=(*put_in, first),
        unread=tuple(dict.fromkeys(word for part in parts for word in part.unread)),
        guesses=tuple(dict.fromkeys(guess for part in parts for guess in part.guesses)),
    )


def _read(said: str, clause: Clause) -> Reading | None:
    """Return the best reading of a clause by any frame, or None."""
    found: list[Reading] = []
    for reader in (making.read, readings.read):
        try:
            made = reader(clause)
        except Ask as asked:
            words = (said[clause.phrases[0].start : clause.phrases[-1].end],) if asked.question.mild else ()
            found.append(Reading(cost=6, question=asked.question, partial=asked.partial, unread=words))
            continue
        if made is not None:
            entries, unread = made
            odd = _odd(unread, clause)
            found.append(
                Reading(
                    cost=1 + 0.2 * len(unread),
                    entries=tuple(entries),
                    unread=words_of(odd, said),
                    guesses=(*_left_out(odd, said), *left_out(_of_something_else(clause))),
                )
            )
    whole = sorted(
        (f for f in fillings(clause) if not f.left and _telling(f, clause)), key=lambda f: (f.lacking, f.rank)
    )
    found += [_finished(said, filled, clause) for filled in whole]
    return min(found, key=lambda r: r.cost) if found else None


def _telling(filled: Filled, clause: Clause) -> bool:
    """Return whether a frame holds more than its verb: "lovely weather" is no step."""
    spans = any(moment.role in ("since", "until") for moment in clause.moments())
    return (
        bool(filled.things or filled.values)
        or filled.kind not in _BARE_KINDS
        or (spans and filled.kind == "rest")
    )


def _finished(said: str, filled: Filled, clause: Clause) -> Reading:
    rank = filled.rank / 100
    if (
        filled.kind == "add"
        and clause.has("MATERIAL")
        and not clause.has("VESSEL", "LIQUOR", "PRONOUN", "verb:add")
    ):
        rank += 1  # what is not on the shelf yet, and goes into nothing, is gathered
    try:
        entries = finish(filled, clause)
        lost = _lost(filled)
        if lost is not None:
            return Reading(cost=7 + rank, question=lost, partial=entries[0])
    except Ask as asked:
        partial = {key: token.value for key, token in filled.things.items() if token.value} | filled.values
        return Reading(
            cost=6 + filled.lacking / 10 + rank,
            question=asked.question,
            partial={"kind": filled.kind, **partial},
        )
    odd = _odd([p for p in (*filled.unread, *filled.strange) if p.type not in ("PRONOUN", "LIQUOR")], clause)
    told = words_of(odd, said)
    return Reading(
        cost=1 + 0.1 * len(told) + rank, entries=tuple(entries), unread=told,
        guesses=(*_left_out(odd, said), *left_out(_readied(filled, clause))),
    )  # fmt: skip


#: What a reading may be of.
_SPOKEN_OF = frozenset(
    {"VESSEL", "LIQUOR", "TRIAL", "SUPPORT", "LOT", "PRONOUN", "MARC", "EXEMPLAR", "PEN", "METHOD"}
)


#: What a reading may be of.
_SPOKEN_OF = frozenset(
    {"VESSEL", "LIQUOR", "TRIAL", "SUPPORT", "LOT", "PRONOUN", "MARC", "EXEMPLAR", "PEN", "METHOD"}
)


def _of_something_else(clause: Clause) -> list[str]:
    """Return the words at the head of a reading that names no thing of the bench: "hands still wet"."""
    scale = next((p.start for p in clause.phrases if p.type == "SCALE"), None)
    single = [p for p in clause.phrases if p.type == "MANNER" and p.sort == "single"]
    first = [p for p in single if scale is not None and p.start < scale]
    own = [
        p for p in clause.phrases if first and p.start >= first[0].start
    ]  # what a clause before lends apart
    if any(p.type in _SPOKEN_OF for p in own):
        return []
    return [clause.said[p.start : p.end] for p in first]


def _odd(unread: Sequence[Phrase], clause: Clause) -> list[Phrase]:
    """Return what was not read, things lent by a clause before apart."""
    first = min((p.start for p in clause.phrases), default=0)
    return [p for p in unread if p.start >= first]


def _readied(filled: Filled, clause: Clause) -> list[str]:
    """Return the words for grinding what was then added."""
    if filled.kind != "add":
        return []
    return [
        clause.said[p.start : p.end]
        for p in clause.phrases
        if p.sort == "single" and p.thing and p.thing.type == "VERB" and p.thing.value in _READYING
    ]


def _left_out(unread: Sequence[Phrase], said: str) -> tuple[str, ...]:
    """Return what is to be confirmed because it was not read, words of tools and places apart."""
    return left_out(words_of([p for p in unread if not (p.thing and p.thing.type == "MANNER")], said))


def _says_something(inside: Sequence[Phrase]) -> bool:
    """Return whether a clause that makes no entry has a verb or words of its own."""
    return any(
        p.type in ("VERB", "WORD", "COVER", "PIECES", "SCUM", "CALL", "AGAIN", "ANGLE") for p in inside
    )


def _lost(filled: Filled) -> Question | None:
    """Return a question where something unknown stands where a name was wanted: "into the bucket"."""
    for phrase in filled.strange:
        word = bool(phrase.thing and phrase.thing.type == "WORD")
        if (
            phrase.prep in ("into", "to", "in")
            and word
            and "into" not in filled.things
            and filled.kind in ("add", "pour", "strain", "steep", "weather")
            and (phrase.prep != "in" or filled.kind != "add")
        ):
            return Question(
                text="Into which vessel? I know none of that name.",
                field="into",
                mend="Name a vessel, or declare it first",
            )
        if (
            phrase.prep in ("from", "off")
            and filled.kind in ("pour", "discard", "crystallise")
            and not {"from", "vessel"} & set(filled.things)
        ):
            return Question(
                text="From which vessel? I know none of that name.",
                field="from",
                mend="Name a vessel, or declare it first",
            )
    return None
