"""Which entry a correction names, and entries that are struck out: "undo the pour", "void 18 and 19", "forget the last three"."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import attrs

from inkhorn.daybook.book import Recorded
from inkhorn.sentences.answer import Question, ask
from inkhorn.sentences.scene import Scene
from inkhorn.sentences.tokens import Token

Entry = dict[str, Any]
_COUNTS = ("two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


@attrs.frozen(kw_only=True)
class Mended:
    """What a correction comes to."""

    entries: tuple[Entry, ...] = ()
    question: Question | None = None
    refused: str = ""
    guesses: tuple[str, ...] = ()


def entry_number(said: str) -> int | None:
    """Return the number of the entry that is named, or None."""
    found = re.search(
        r"\b(?:entry|void|undo|number|no\.|strike out|delete)\s+(?:entry\s+|number\s+|no\.?\s*)?(\d+)\b",
        said,
        re.IGNORECASE,
    )
    return int(found[1]) if found else None


#: Several entries by their numbers ("void 18, 19 and 21", "strike out 12 to 14"), or the last so many. No figure with a unit.
_NUMBER = r"\d+(?![\d.]*\s*(?:k?g|mg|[mc]?l|h|hours?|min\w*|s|days?|degc|°\w*|%)\b)"
_AND = r"\s*(?:,\s*and|,|and|&|\+)\s*"
_SEVERAL = re.compile(
    r"\b(?:entry|entries|void|undo|numbers?|nos?\.|strike out|strike|delete|scrap|cancel|take back)\s+(?:the\s+)?"
    rf"(?:entry\s+|entries\s+|numbers?\s+|nos?\.?\s*)*({_NUMBER}(?:(?:{_AND}|\s*(?:to|till|-|–)\s*)(?:entry\s+)?{_NUMBER})+)",
    re.IGNORECASE,
)
_LAST = re.compile(
    rf"\b(?:last|latest|newest)\s+(\d+|{'|'.join(_COUNTS)}|few|couple|several|dozen)\b"
    r"(?!\s*(?:g|kg|ml|l|h|hours?|minutes?|min|days?|nights?)\b)",
    re.IGNORECASE,
)
_MOST = 20


def _numbers(said: str, scene: Scene) -> list[int]:
    """Return the numbers of several entries that a sentence names together, the newest first; [] where it names none or one."""
    counted = _LAST.search(said)
    if counted:
        word = counted[1].casefold()
        if not word.isdecimal() and word not in _COUNTS:
            raise ask("entry", "Which entries are to be struck out?", mend="Name them by their numbers")
        count = int(word) if word.isdecimal() else _COUNTS.index(word) + 2
        standing = sorted((line.number for line in scene.book), reverse=True)
        if count > len(standing):
            raise ask(
                "entry",
                f"There are only {len(standing)} entries: which ones?",
                mend="Name them by their numbers",
            )
        return standing[:count]
    found = _SEVERAL.search(said)
    if not found:
        return []
    out: set[int] = set()
    for part in re.split(_AND, found[1], flags=re.IGNORECASE):
        ends = [int(n) for n in re.findall(r"\d+", part)]
        out.update(range(ends[0], ends[-1] + 1) if 0 <= ends[-1] - ends[0] < _MOST else ends)
    return sorted(out, reverse=True)


def line_of(scene: Scene, number: int) -> Recorded:
    """Return the standing entry of a number; ask where there is none."""
    for line in scene.book:
        if line.number == number:
            return line
    last = max((line.number for line in scene.book), default=0)
    raise ask(
        "entry",
        f"There is no entry {number}: which one?",
        mend=f"The last entry is {last}" if last else "The daybook is empty",
    )


def last_recorded(scene: Scene) -> Recorded | None:
    """Return the entry that was recorded last."""
    return max(scene.book, key=lambda line: line.number, default=None)


def struck_out(said: str, typed: Sequence[Token], scene: Scene) -> Mended:
    """Return what strikes out the entries that are named, or the last one."""
    # The newest first: what came later may rest on what came before.
    several = [line_of(scene, number).number for number in _numbers(said, scene)]
    if several:
        why = said.strip(" .!")
        return Mended(entries=tuple({"kind": "void", "entry": number, "why": why} for number in several))
    number = entry_number(said)
    if number is None and re.search(
        r"\b(?:everything|(?<!after )all|both|the lot|the whole)\b", said, re.IGNORECASE
    ):
        raise ask(
            "entry",
            "Which entries are to be struck out?",
            mend="Name them by their numbers, or say “undo the last three”",
        )
    token = next((t for t in typed if t.type == "MEND" and t.value == "void"), None)
    trials = [
        t.value
        for t in typed
        if t.type == "TRIAL" and t.value and token is not None and t.start > token.start
    ]
    made = [one for one in scene.book if one.kind == "mark" and one.raw["trial"] in trials[:1]]
    if number is None and made and len(set(trials)) == 1:
        return Mended(entries=({"kind": "void", "entry": made[-1].number, "why": said.strip(" .!")},))
    line = line_of(scene, number) if number else last_recorded(scene)
    if line is None:
        return Mended(refused="there is no entry to strike out")
    if number is None and token is not None:
        before = [
            t
            for t in typed
            if t.start < token.start
            and t.type not in ("FILL", "SUBJECT", "COMMA", "STOP", "AND", "NOT", "MEND", "S", "HEARSAY")
        ]
        named = {name for t in typed if t.type == "LOT" for name in t.names}
        if before and not (named and line.raw.get("lot") in named):
            raise ask(
                "entry",
                f"Is entry {line.number} to be struck out?",
                mend="Say “strike that out”, or name the entry",
            )
        stop = next((t.start for t in typed if t.start >= token.end and t.type in _PARTS), len(said))
        inside = [t for t in typed if t.start < stop]
        if any(t.type in ("VESSEL", "TRIAL", "MASS", "VOLUME") for t in inside) or (
            named and line.raw.get("lot") not in named
        ):
            raise ask(
                "entry",
                f"Which entry is to be struck out? The last is {line.number}.",
                mend="Name the entry by its number",
            )
    why = said.strip(" .!")
    guesses: tuple[str, ...] = ()
    kinds = _kinds_named(said, typed) if number is None else frozenset()
    if kinds and line.kind not in kinds:
        newest = next((one for one in sorted(scene.book, key=lambda x: -x.number) if one.kind in kinds), None)
        if newest is None:
            raise ask(
                "entry",
                f"Which entry is to be struck out? The last is {line.number}, {_named_kind(line.kind)}.",
                mend="Name the entry by its number",
            )
        line, guesses = newest, (f"I take it for entry {newest.number}, {_named_kind(newest.kind)}",)
    return Mended(entries=({"kind": "void", "entry": line.number, "why": why},), guesses=guesses)


#: Words for what is struck out, and the kinds of entry that they may mean.
_KIND_WORDS: Mapping[str, frozenset[str]] = {
    "mark": frozenset({"mark"}), "dip": frozenset({"mark"}), "pour": frozenset({"pour", "discard"}), "strain": frozenset({"strain"}),
    "boil": frozenset({"reduce"}), "simmer": frozenset({"reduce"}), "warm": frozenset({"warm"}), "cool": frozenset({"warm", "rest"}),
    "rest": frozenset({"rest"}), "skim": frozenset({"skim"}), "steep": frozenset({"steep", "weather"}), "gather": frozenset({"gather", "bring"}),
    "discard": frozenset({"discard"}), "store": frozenset({"store"}), "neutralise": frozenset({"neutralise", "add"}), "add": frozenset({"add", "neutralise"}),
    "reading": frozenset({"reading"}), "measurement": frozenset({"reading"}), "figure": frozenset({"reading"}), "trial": frozenset({"mark"}),
    "stroke": frozenset({"mark"}), "addition": frozenset({"add", "neutralise"}), "remark": frozenset({"remark"}), "note": frozenset({"remark"}),
    "straining": frozenset({"strain"}), "pouring": frozenset({"pour"}), "boiling": frozenset({"reduce"}), "soak": frozenset({"steep", "weather"}),
}  # fmt: skip


def _kinds_named(said: str, typed: Sequence[Token]) -> frozenset[str]:
    """Return the kinds of entry that are named as what is to be struck out: "forget the last reading", "undo the pour"."""
    mark = next((t for t in typed if t.type == "MEND" and t.value == "void"), None)
    if mark is None or re.search(r"\blast (?:line|entry|thing|one|bit)\b", said, re.IGNORECASE):
        return frozenset()
    end = next((t.start for t in typed if t.start >= mark.end and t.type in _PARTS), len(said))
    inside = [t for t in typed if mark.end <= t.start < end]
    for token in inside:
        if token.type in ("WHAT", "SCALE", "INSTRUMENT"):
            return frozenset({"reading"})
        if token.type == "VERB" and token.value in _KIND_WORDS:
            return _KIND_WORDS[token.value]
        if token.type == "METHOD":
            return frozenset({"mark"})
    for word in re.findall(r"[a-z]+", said[mark.start : end].casefold()):
        if word in _KIND_WORDS:
            return _KIND_WORDS[word]
    return frozenset()


#: What ends the naming of what is struck out.
_PARTS = ("COMMA", "STOP", "COLON", "AND", "THEN", "BUT", "PURPOSE")


def _named_kind(kind: str) -> str:
    """Return a kind of entry with its article."""
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"
