"""What a maker said, as entries of the daybook: `understand`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

import attrs

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.check import check
from inkhorn.daybook.wire import decode
from inkhorn.errors import EntryErrors, InkhornError
from inkhorn.sentences import mending
from inkhorn.sentences.answer import Ask, Question, Understood
from inkhorn.sentences.audit import unaccounted
from inkhorn.sentences.changes import all_but, by_so_much
from inkhorn.sentences.doubts import at_odds, doubts, takings
from inkhorn.sentences.lexer import tokens
from inkhorn.sentences.listing import one_line
from inkhorn.sentences.parting import best
from inkhorn.sentences.reading import Reading, left_out
from inkhorn.sentences.retaking import retaken
from inkhorn.sentences.scene import Scene, set_scene
from inkhorn.sentences.segments import in_turn, segments
from inkhorn.sentences.tokens import Token
from inkhorn.sentences.unmarked import straightened

Entry = dict[str, Any]
_LONGEST = 600
_MOST_SEGMENTS = 14


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
    said = one_line(text)
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
        return _answer(said, typed, Reading(cost=0, entries=(special,)), recorded, scene, who)
    taken_back = retaken(said, typed)
    typed = taken_back.tokens
    mended = mending.mend(said, typed, scene, recorded)
    if mended is not None:
        found = Reading(
            cost=0,
            entries=mended.entries,
            question=mended.question,
            refused=mended.refused,
            guesses=mended.guesses,
        )
        return _answer(said, typed, found, recorded, scene, who)
    left = all_but(said, typed)
    if left is not None:
        return Understood(said=said, question=left)
    typed = in_turn(straightened(typed))
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
    found = _without_the_steep(best(said, parts, scene), recorded)
    if found.entries:
        doubtful = (*taken_back.doubts, *doubts(said, typed, parts, found.entries))
        taken = takings(typed, said, found.entries, scene.now)
        guesses = tuple(dict.fromkeys((*found.guesses, *left_out(doubtful), *taken)))
        found = attrs.evolve(found, guesses=guesses, unread=(*found.unread, *doubtful))
    return _answer(said, typed, found, recorded, scene, who)


def _without_the_steep(found: Reading, recorded: tuple[Recorded, ...]) -> Reading:
    """Leave out the standing that only tells how long a steep took: "it had stood eighteen hours, so I strained it"."""
    last = {
        str(line.raw.get("into", line.raw.get("vessel"))): line for line in recorded if line.kind != "reading"
    }
    steeping = {name for name, line in last.items() if line.kind in ("steep", "weather")}
    told = [entry for entry in found.entries if entry["kind"] == "rest" and entry["vessel"] in steeping]
    rest = tuple(entry for entry in found.entries if entry not in told)
    if not told or not any(entry["kind"] in ("strain", "pour") for entry in rest):
        return found
    return attrs.evolve(
        found, entries=rest, guesses=(*found.guesses, "I take the standing for the steep that is recorded")
    )


# ---------------------------------------------------------------- the answer


def _answer(
    said: str,
    typed: Sequence[Token],
    found: Reading,
    recorded: tuple[Recorded, ...],
    scene: Scene,
    who: str | None,
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
    twice = at_odds(entries)
    if twice:
        question = Question(
            text=f"That gives two figures for the {twice}: which of them?",
            field="value",
            mend="Say each of its own thing, or give one figure",
        )
        return Understood(said=said, question=question, unread=found.unread, partial=dict(entries[0]))
    fault = by_so_much(said, typed, entries) or _checked(entries, recorded, scene)
    if fault is not None:
        return Understood(said=said, question=fault, unread=found.unread, partial=dict(entries[0]))
    lost = _lost(said, typed, found, entries, recorded, scene)
    return Understood(
        said=said, entries=entries, guesses=(*found.guesses, *left_out(lost)), unread=(*found.unread, *lost)
    )


def _lost(
    said: str,
    typed: Sequence[Token],
    found: Reading,
    entries: Sequence[Entry],
    recorded: tuple[Recorded, ...],
    scene: Scene,
) -> tuple[str, ...]:
    """Return what the entries do not hold though it was told, a remark apart: that holds every word."""
    if any(entry["kind"] in ("remark", "void") for entry in entries):
        return ()
    amended = {entry["entry"] for entry in entries if entry["kind"] == "amend"}
    old = [line.raw for line in recorded if line.number in amended]
    return unaccounted(said, typed, entries, known=_known(found), now=scene.now, old=old)


def _known(found: Reading) -> tuple[str, ...]:
    """Return the words that were rightly passed over, or are told as left out."""
    return (*found.passed, *(word for word in found.unread if set(left_out([word])) & set(found.guesses)))


#: What is asked where the daybook would refuse an entry, by the key at fault.
_ASKED = {
    "at": "When was it", "vessel": "Which vessel was it", "into": "Which vessel was it", "from": "Which vessel was it", "amount": "How much was it",
    "lot": "Which lot was it", "to": "To how much was it", "for": "How long was it", "trial": "Which trial was it", "of": "What was it of",
}  # fmt: skip


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
            text = f"{first.what[0].upper()}{first.what[1:]}. {_ASKED.get(field, 'What was it')}?"
            return Question(text=text, field=field, mend=first.mend)
        number = max((line.number for line in book), default=0) + 1
        book = (*book, Recorded(number=number, entry=typed, raw=dict(raw), recorded_at=scene.now))
    return None
