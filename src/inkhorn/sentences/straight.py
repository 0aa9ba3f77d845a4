"""The words of a sentence as they would be written out: short forms, formulas, drawn-out vowels, sounds, a figure taken back."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType

import attrs

from inkhorn.sentences.lexicon import table, vocabulary
from inkhorn.sentences.measuring import unit_at
from inkhorn.sentences.numbers import number
from inkhorn.sentences.tokens import Raw, lowered

#: Sounds of somebody who looks for a word: they part nothing, not even an amount from its unit.
_HESITATING = frozenset({"er", "erm", "um", "umm", "uhm", "uh", "ehm", "hm", "hmm", "err", "ahem"})
#: What is as soon a unit, where a figure stands before it and no other unit behind it.
_UNITS_TOO = frozenset({"um"})
#: Words that take back the figure before them.
_BACK = frozenset(
    {
        "no",
        "sorry",
        "wait",
        "rather",
        "or",
        "oops",
        "nay",
        "i",
        "mean",
        "make",
        "that",
        "say",
        "better",
        "actually",
    }
)
_SURELY = frozenset({"no", "sorry", "wait", "rather", "oops", "nay", "mean"})
_GAPS = frozenset({",", "-", ";", "...", "…", "(", ")", "/"})
_ORDINALS: Mapping[str, str] = MappingProxyType(
    {"1st": "first", "2nd": "second", "3rd": "third", "4th": "fourth", "5th": "fifth", "6th": "sixth"}
)


def straight(words: Sequence[Raw], said: str) -> tuple[Raw, ...]:
    """Return the words written out.

    Parameters
    ----------
    words : sequence of Raw
        The words as they stand.
    said : str
        The sentence.
    """
    out = _spelt_out(_formulas(_without_sounds(words, said), said), said)
    return tuple(_due(_figures_taken_back(_minutes(out, said))))


def _without_sounds(words: Sequence[Raw], said: str) -> list[Raw]:
    """Drop the sounds between words: "5 er grams", "on the, um, calf"."""
    out: list[Raw] = []
    hung = False
    for place, word in enumerate(words):
        figure = place > 0 and words[place - 1].sort in ("number", "glyph")
        unit = word.text in _UNITS_TOO and (word.glued or (figure and unit_at(words, place + 1) is None))
        her = word.start > 0 and said[word.start - 1] in "'’"  # "let 'er sit"
        if word.text in _HESITATING and not unit and not her:
            hung = True
        elif hung and word.text == ",":
            hung = False  # the comma behind "um," is the breath taken
        else:
            hung = False
            out.append(word)
    return out


def _minutes(words: Sequence[Raw], said: str) -> list[Raw]:
    """Write out the stroke of minutes: "simmered 45'"."""
    out: list[Raw] = []
    for word in words:
        out.append(word)
        stroke = (
            said[word.end : word.end + 1] in ("'", "′", "’")
            and not said[word.end + 1 : word.end + 2].isalnum()
        )
        if word.sort == "number" and stroke and word.text.isdigit():
            out.append(Raw("min", word.end, word.end + 1, glued=True))
    return out


#: What is said of a thing that stands until then: "to come off tomorrow at ten", "it'll be ready tonight".
_DUE = re.compile(
    r"(?:(?:and )?(?:it|they|that|this) (?:will|shall) be (?:ready|done|due)|to (?:come|be taken) (?:off|out)|to be (?:strained|ready|done)|(?:due|ready)(?: off| out)?) (?=(?:by |at )?(?:tomorrow|tonight)\b)"
)


def _due(words: Sequence[Raw]) -> list[Raw]:
    """Read what is due tomorrow as what stands until then."""
    text, places = "", []
    for place, word in enumerate(words):
        places += [place] * (len(word.text) + 1)
        text += word.text + " "
    found = _DUE.search(text)
    if found is None or not re.search(
        r"\b(?:ml|l|litres?|liters?|water|pints?|gallons?)\b", text[: found.start()]
    ):
        return list(words)
    begin, end = places[found.start()], places[found.end() - 1] + 1
    until = attrs.evolve(words[begin], text="until", sort="word", end=words[end - 1].end)
    return [*words[:begin], until, *words[end:]]


def _formulas(words: Sequence[Raw], said: str) -> list[Raw]:
    """Write out a formula: "FeSO4·7H2O"."""
    out = list(words)
    for name, pattern in table("short")["formula"].items():
        for found in re.finditer(rf"(?<![\w-]){pattern}(?![\w-])", lowered(said)):
            inside = [n for n, w in enumerate(out) if found.start() <= w.start < found.end()]
            if inside:
                whole = [
                    Raw(text, found.start(), found.end(), glued=n > 0) for n, text in enumerate(name.split())
                ]
                out = [*out[: inside[0]], *whole, *out[inside[-1] + 1 :]]
    return out


def _spelt_out(words: Sequence[Raw], said: str) -> list[Raw]:
    """Write out what is written short: "tmrw", "w/", "2nd", "wayyy"."""
    short = _short()
    out: list[Raw] = []
    skip = -1
    for place, raw in enumerate(words):
        word = raw
        if place == skip:
            continue
        after = words[place + 1] if place + 1 < len(words) else None
        behind = words[place + 2] if place + 2 < len(words) else None
        if (
            (
                word.sort == "number"
                and after is not None
                and after.glued
                and f"{word.text}{after.text}" in _ORDINALS
            )
            and behind is not None
            and behind.sort == "word"
            and behind.text not in _MONTHLY
        ):
            text = _ORDINALS[f"{word.text}{after.text}"]
            out.append(attrs.evolve(word, text=text, sort="word", end=after.end))
            skip = place + 1
            continue
        if (
            word.text == "o"
            and said[word.end : word.end + 1] in ("'", "’")
            and not (after and after.text == "clock")
        ):
            out.append(attrs.evolve(word, text="of"))
            continue
        old = _old_past(word.text) if after is not None and after.text == "would" and after.glued else None
        if old is not None and after is not None:
            out.append(attrs.evolve(word, text=old, end=after.end))
            skip = place + 1  # "boil'd"
            continue
        filled = (
            2
            if word.text == "you" and after is not None and after.text == "know"
            else 1
            if word.text == "like"
            else 0
        )
        if (
            filled
            and out
            and out[-1].sort in ("number", "glyph")
            and unit_at(words, place + filled) is not None
        ):
            skip = place + 1 if filled > 1 else skip
            continue  # "5 like grams"
        if word.text == "#" and after is not None and after.sort == "number":
            skip = place + 1  # "steep #1"
            continue
        if word.text == "w" and after is not None and after.sort in ("number", "glyph"):
            out.append(attrs.evolve(word, text="with"))
            continue
        if word.text == "w" and after is not None and after.text == "/" and after.glued:
            out.append(attrs.evolve(word, text="with", end=after.end))
            skip = place + 1
            continue
        if word.sort == "word" and re.search(r"(.)\1\1", word.text):
            word = attrs.evolve(word, text=re.sub(r"(.)\1\1+", _drawn_out(word.text), word.text))
        part = said[word.end : word.end + 1] == "-" or said[max(0, word.start - 1) : word.start] == "-"
        if word.sort == "word" and word.text in short and not part:
            out += [
                attrs.evolve(word, text=text, glued=word.glued and n == 0)
                for n, text in enumerate(short[word.text].split())
            ]
            continue
        out.append(word)
    return out


def _old_past(text: str) -> str | None:
    """Return the past of a verb that is spelt as of old, "boil'd", or None where it is none."""
    if text in ("i", "we", "it", "that", "there", "he", "she", "they", "you", "who"):
        return None
    forms = (f"{text}ed", f"{text}{text[-1]}ed", f"{text}d")
    known = vocabulary()
    return next((form for form in forms if (form,) in known and known[(form,)].type == "VERB"), None)


#: Words behind an ordinal that make a day of it.
_MONTHLY = frozenset(
    {"of", "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december",
     "jan", "feb", "mar", "apr", "jun", "jul", "aug", "sep", "sept", "oct", "nov", "dec", "at", "in", "the", "i", "we", "and"}
)  # fmt: skip


def _drawn_out(text: str) -> str:
    """Return by what a letter that is drawn out is put back: twice where the word has it so ("toooo"), else once."""
    return r"\1\1" if re.search(r"(?:to{3,}|fe{3,}|se{3,}|go{3,}d|fulll|smalll|welll)", text) else r"\1"


def _short() -> Mapping[str, str]:
    """Return what is written short, and what it stands for."""
    return {word: full for full, words in table("short")["short"].items() for word in words}


def _figures_taken_back(words: Sequence[Raw]) -> list[Raw]:
    """Drop a figure that is taken back before its unit was said: "four - no, five - litres"."""
    out = list(words)
    place = 0
    while place < len(out):
        again = _taken_back(out, place)
        if again is None:
            place += 1
            continue
        begin, end = again
        out = [*out[:place], *out[begin:end], *out[_past_gaps(out, end) :]]
        place += 1
    return out


def _past_gaps(words: Sequence[Raw], at: int) -> int:
    while at < len(words) and words[at].text in _GAPS:
        at += 1
    return at


def _taken_back(words: Sequence[Raw], at: int) -> tuple[int, int] | None:
    """Return where the figure stands that is put in the place of the one at a place, or None."""
    first = number(words, at)
    if first is None or unit_at(words, first[2]) is not None:
        return None
    step = _past_gaps(words, first[2])
    begun, sure = step, False
    while step < len(words) and words[step].text in _BACK:
        sure = sure or words[step].text in _SURELY
        step = _past_gaps(words, step + 1)
    if step == begun or not sure:
        return None
    second = number(words, step)
    if second is None:
        return None
    last = _past_gaps(words, second[2])
    return (step, second[2]) if unit_at(words, last) is not None else None
