"""Clauses that tell what was noticed: a figure, a word of a scale, three channels, a picture, one trial beside another."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from inkhorn.sentences import figures, levels, surfaces, trials
from inkhorn.sentences.frames import DEFERRED, Clause
from inkhorn.sentences.noticing import Entry, Noticing
from inkhorn.sentences.phrases import Phrase

#: What is read at a warmth of its own, which no entry holds.
_READ_AT = frozenset({"dry_residue", "viscosity", "specific_gravity", "barkometer", "brix", "discharge"})
Made = tuple[list[Entry], list[Phrase]]
#: Verbs that may stand in a reading; any other makes the clause a step.
_VERBS = frozenset(
    {"read", "rest", "give", "hold", "pour", "gather", "get", "run", "put", "dry", "mark", "dip", "lift", "fill", "photograph", "crush", "boil", "made", "declare", "have", "lose"}
)  # fmt: skip


def read(clause: Clause) -> Made | None:
    """Return the readings that a clause tells and what it leaves unread, or None where it tells none."""
    if any(verb not in _VERBS for verb, _ in clause.verbs):
        return None
    if any(p.thing is not None and p.thing.value == "?both" for p in clause.phrases):
        return None
    for reader in _READERS:
        noticing = Noticing(clause=clause)
        if not reader(noticing) or not noticing.out:
            continue
        left, unread = _left(noticing)
        if not left:
            return noticing.out, unread
    return None


def _left(noticing: Noticing) -> tuple[list[Phrase], list[Phrase]]:
    """Return what found no place though it tells something, and what tells nothing."""
    left, unread = [], []
    for phrase in noticing.clause.phrases:
        if phrase.start in noticing.used:
            continue
        kind = phrase.type
        if kind == "PREP" and phrase.thing and phrase.thing.value in ("more_than", "less_than", "above"):
            left.append(phrase)
            continue
        if phrase.sort == "single" and kind in (
            "VERB",
            "PARTICLE",
            "STRAY",
            "COMMA",
            "MANNER",
            "INSTRUMENT",
            "MOMENT",
            "AHEAD",
            "PREP",
            "STRIP",
            "COVER",
            "DECLARE",
        ):
            continue
        if kind in DEFERRED and phrase.amount is None:
            continue
        read_at = {str(entry["what"]) for entry in noticing.out} & _READ_AT
        at = (
            phrase.bare and phrase.prep == "at" and kind in ("TEMP", "NUMBER")
        )  # "at 20 degrees", of what it was read at
        apart = (
            phrase.start in noticing.clause.joints and "dry_residue" not in read_at
        )  # "sg 1.02, 19 C" are two readings
        beside = at or (bool(read_at) and phrase.bare and kind == "TEMP" and not phrase.prep and not apart)
        if phrase.sort == "spare" or kind in ("WORD", "MANNER") or beside:
            unread.append(phrase)
        else:
            left.append(phrase)
    return left, unread


_READERS: Sequence[Callable[[Noticing], bool]] = (
    surfaces.picture, surfaces.channels, trials.beside_page, trials.than, trials.of_trial, trials.length, surfaces.skin, figures.named_figure, levels.weight_or_level, levels.warmth, levels.body,
)  # fmt: skip
