"""What a maker said, as entries of the daybook: `understand`."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

import attrs

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.check import check
from inkhorn.daybook.wire import decode
from inkhorn.errors import EntryErrors, InkhornError
from inkhorn.sentences import making, mending, readings
from inkhorn.sentences.answer import Ask, Question, Understood
from inkhorn.sentences.frames import Clause, Filled, fillings, words_of
from inkhorn.sentences.kinds import finish
from inkhorn.sentences.lexer import tokens
from inkhorn.sentences.phrases import Phrase, phrases
from inkhorn.sentences.scene import Scene, set_scene
from inkhorn.sentences.segments import Segment, segments

Entry = dict[str, Any]
_LONGEST = 600
_MOST_SEGMENTS = 14
#: Terminals whose words tell something that an entry must hold.
_TELLING = frozenset(
    {"VESSEL", "LOT", "LIQUID", "MATERIAL", "CRYSTAL", "MARC", "SUPPORT", "SKIN", "PEN", "CUT", "TRIAL", "EXEMPLAR", "NEWNAME", "MASS",
     "VOLUME", "TIME", "LENGTH", "PERCENT", "STRANGE", "CONC", "VISCOSITY", "TEMP", "HEAT", "DILUTION", "BARK", "BRIX", "SHARE", "NUMBER", "ANGLE",
     "CHANNELS", "TRIPLE", "FILE", "WHAT", "SCALE", "METHOD", "MOMENT"}
)  # fmt: skip


@attrs.frozen(kw_only=True)
class Reading:
    """What was made of one clause, and how far it is to be put back behind another reading."""

    cost: float
    entries: tuple[Entry, ...] = ()
    question: Question | None = None
    refused: str = ""
    unread: tuple[str, ...] = ()
    guesses: tuple[str, ...] = ()
    partial: Entry = attrs.field(factory=dict)
    failed: bool = False
    idle: bool = False


def understand(text: str, book: Iterable[Recorded], now: datetime, who: str | None = None) -> Understood:
    """Return what a sentence says.

    Parameters
    ----------
    text : str
        What was said.
    book : iterable of Recorded
        The daybook so far.
    now : datetime
        When it is said, local time.
    who : str, optional
        Who says it; stands in every entry.
    """
    said = " ".join(text.split())
    recorded = tuple(book)
    try:
        return _understood(said, recorded, set_scene(recorded, now), who)
    except Ask as asked:
        return Understood(said=said, question=asked.question)


def _understood(said: str, recorded: tuple[Recorded, ...], scene: Scene, who: str | None) -> Understood:
    if not said:
        return Understood(said=said, refused="nothing was said")
    if len(said) > _LONGEST:
        return Understood(said=said, refused=f"it is longer than {_LONGEST} characters: say it in parts")
    typed = tokens(said, scene)
    special = mending.remark(said, typed)
    if special is not None:
        return _answer(said, Reading(cost=0, entries=(special,)), recorded, scene, who)
    mended = mending.mend(said, typed, scene, recorded)
    if mended is not None:
        found = Reading(
            cost=0,
            entries=mended.entries,
            question=mended.question,
            refused=mended.refused,
            guesses=mended.guesses,
        )
        return _answer(said, found, recorded, scene, who)
    parts = segments(typed)
    if not parts:
        return Understood(said=said, refused="it was not understood", unread=(said,))
    if len(parts) > _MOST_SEGMENTS:
        return Understood(
            said=said,
            question=Question(
                text="That is much at once: say it in parts.", field="sentence", mend="Say it in parts"
            ),
        )
    return _answer(said, _best(said, parts, scene), recorded, scene, who)


# ---------------------------------------------------------------- the best way to part a sentence into clauses


def _best(said: str, parts: Sequence[Segment], scene: Scene) -> Reading:
    """Return the cheapest parting of the segments into clauses, and what it says."""
    cut = [phrases(part.tokens) for part in parts]
    count = len(parts)
    best: list[tuple[float, tuple[int, ...]]] = [(0.0, ()), *((float("inf"), ()) for _ in range(count))]
    for end in range(1, count + 1):
        for start in range(end):
            if best[start][0] == float("inf") or not _may_join(parts[start:end]):
                continue
            cost = best[start][0] + _clause(said, parts[start:end], cut[start:end], scene).cost
            if cost < best[end][0] - 1e-9:
                best[end] = (cost, (*best[start][1], start))
    starts = [*best[count][1], count]
    return _in_order(said, parts, cut, starts, scene)


def _may_join(parts: Sequence[Segment]) -> bool:
    """Return whether segments may be one clause: of one stance, and no contrast in the midst."""
    return len({part.stance for part in parts}) == 1 and all(part.joint != "THEN" for part in parts[1:])


def _in_order(
    said: str,
    parts: Sequence[Segment],
    cut: Sequence[tuple[Phrase, ...]],
    starts: Sequence[int],
    scene: Scene,
) -> Reading:
    """Read the clauses one after the other, each in the scene that those before leave."""
    whole: list[Reading] = []
    for start, end in itertools.pairwise(starts):
        found = _clause(said, parts[start:end], cut[start:end], scene)
        whole.append(found)
        for entry in found.entries:
            scene = _after(scene, entry)
    entries = tuple(entry for found in whole for entry in found.entries)
    question = next((found.question for found in whole if found.question), None)
    failed = any(found.failed for found in whole)
    refused = next((found.refused for found in whole if found.refused), "")
    unread = tuple(word for found in whole for word in found.unread)
    guesses = tuple(guess for found in whole for guess in found.guesses)
    if (question is None and failed and entries) or (question is None and failed):
        what = next((found.unread for found in whole if found.failed), ())
        question = not_read(what)
    if entries:
        idle = [f"I left out “{word}”" for found in whole if found.idle for word in found.unread]
        guesses = (*guesses, *idle)
    partial = next((found.partial for found in whole if found.partial), {})
    return Reading(
        cost=0,
        entries=entries,
        question=question,
        refused="" if entries else refused,
        unread=unread,
        guesses=guesses,
        partial=partial,
    )


def not_read(what: Sequence[str]) -> Question:
    """Return the question where something told found no place."""
    quoted = " and ".join(f"“{word}”" for word in dict.fromkeys(what) if word) or "that"
    return Question(
        text=f"I do not see what {quoted} is to be: say it again another way.", field="sentence",
        mend="Say what was done, to what, and how much; or keep it as a remark",
    )  # fmt: skip


def _after(scene: Scene, entry: Entry) -> Scene:
    """Return the scene after an entry that is not recorded yet."""
    if entry["kind"] in ("amend", "void", "remark"):
        return scene
    raw = {"at": scene.now.isoformat(timespec="minutes"), **entry}
    try:
        typed = decode(raw)
    except InkhornError:
        return scene
    number = max((line.number for line in scene.book), default=0) + 1
    return scene.with_entry(Recorded(number=number, entry=typed, raw=raw, recorded_at=scene.now))


# ---------------------------------------------------------------- one clause


def _clause(said: str, parts: Sequence[Segment], cut: Sequence[tuple[Phrase, ...]], scene: Scene) -> Reading:
    """Return what one clause says."""
    inside = tuple(p for group in cut for p in group)
    words = (said[parts[0].start : parts[-1].end],)
    weight = sum(1 for p in inside if p.type in _TELLING or p.amount is not None or p.type == "VERB")
    if parts[0].stance:
        return Reading(cost=1 + weight, refused=parts[0].stance, unread=words)
    if any(part.contrast for part in parts):
        return Reading(cost=0.5 + weight if len(parts) == 1 else 50, unread=words)
    clause = Clause(
        phrases=inside, scene=scene, said=said, dropped=tuple(t for part in parts for t in part.dropped)
    )
    found = _read(said, clause)
    aside = tuple(said[part.aside[0].start : part.aside[-1].end] for part in parts if part.aside)
    if any(t.qty is not None for part in parts for t in part.aside):
        return Reading(cost=40, failed=True, unread=aside)
    if found is not None:
        guesses = tuple(t.guess for p in inside for t in p.words if t.guess)
        guesses = tuple(f"I read {g}" for g in dict.fromkeys(guesses))
        return attrs.evolve(found, unread=(*found.unread, *aside), guesses=(*found.guesses, *guesses))
    telling = [p for p in inside if p.type in _TELLING or p.amount is not None]
    if not telling:
        return Reading(
            idle=_says_something(inside),
            cost=1.5 if not any(p.type == "VERB" for p in inside) else 2,
            unread=words,
        )
    return Reading(cost=20 + weight, failed=True, unread=words)


def _read(said: str, clause: Clause) -> Reading | None:
    """Return the best reading of a clause by any frame, or None."""
    found: list[Reading] = []
    for reader in (making.read, readings.read):
        try:
            made = reader(clause)
        except Ask as asked:
            found.append(Reading(cost=6, question=asked.question, partial=asked.partial))
            continue
        if made is not None:
            entries, unread = made
            found.append(
                Reading(
                    cost=1 + 0.2 * len(unread),
                    entries=tuple(entries),
                    unread=words_of(unread, said),
                    guesses=_left_out(unread, said),
                )
            )
    whole = sorted(
        (f for f in fillings(clause) if not f.left and _telling(f)), key=lambda f: (f.lacking, f.rank)
    )
    found += [_finished(said, filled, clause) for filled in whole]
    return min(found, key=lambda r: r.cost) if found else None


def _telling(filled: Filled) -> bool:
    """Return whether a frame holds more than its verb: "lovely weather" is no step."""
    return bool(filled.things or filled.values) or filled.kind not in (
        "rest",
        "steep",
        "weather",
        "gather",
        "neutralise",
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
    unread = [*filled.unread, *filled.strange]
    odd = [p for p in unread if p.type not in ("PRONOUN", "LIQUOR")]
    told = words_of(odd, said)
    return Reading(
        cost=1 + 0.1 * len(told) + rank, entries=tuple(entries), unread=told, guesses=_left_out(odd, said)
    )


def _left_out(unread: Sequence[Phrase], said: str) -> tuple[str, ...]:
    """Return what is to be confirmed because it was not read, words of tools and places apart."""
    odd = [p for p in unread if not (p.thing and p.thing.type == "MANNER")]
    return tuple(f"I left out “{word}”" for word in words_of(odd, said))


def _says_something(inside: Sequence[Phrase]) -> bool:
    """Return whether a clause that makes no entry has a verb or words of its own."""
    return any(p.type in ("VERB", "WORD") for p in inside)


def _lost(filled: Filled) -> Question | None:
    """Return a question where something unknown stands where a name was wanted: "into the bucket"."""
    for phrase in filled.strange:
        if (
            (
                phrase.prep in ("into", "to", "in")
                and phrase.thing
                and phrase.thing.type == "WORD"
                and "into" not in filled.things
            )
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


# ---------------------------------------------------------------- the answer


def _answer(
    said: str, found: Reading, recorded: tuple[Recorded, ...], scene: Scene, who: str | None
) -> Understood:
    if found.question is not None:
        return Understood(said=said, question=found.question, unread=found.unread, partial=found.partial)
    if not found.entries:
        return Understood(
            said=said,
            refused=found.refused or "it was not understood: say what was done, to what, and how much",
            unread=found.unread,
        )
    now = scene.now.isoformat(timespec="minutes")
    entries = tuple({"at": now, **entry, **({"who": who} if who else {})} for entry in found.entries)
    fault = _checked(entries, recorded, scene)
    if fault is not None:
        return Understood(said=said, question=fault, unread=found.unread, partial=dict(entries[0]))
    return Understood(said=said, entries=entries, guesses=found.guesses, unread=found.unread)


def _checked(entries: Sequence[Entry], recorded: tuple[Recorded, ...], scene: Scene) -> Question | None:
    """Return a question where the daybook would refuse one of the entries."""
    book = recorded
    for raw in entries:
        try:
            typed = decode(raw)
            check(typed, book)
        except InkhornError as error:
            first = error.faults[0] if isinstance(error, EntryErrors) else error
            field = first.where.split()[-1].strip("()") if first.where else "sentence"
            text = f"{first.what[0].upper()}{first.what[1:]}: what was it?"
            return Question(text=text, field=field, mend=first.mend)
        number = max((line.number for line in book), default=0) + 1
        book = (*book, Recorded(number=number, entry=typed, raw=dict(raw), recorded_at=scene.now))
    return None
