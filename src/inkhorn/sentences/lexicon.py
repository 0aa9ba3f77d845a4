"""The words known: verbs with their forms, words of the bench, units, and the names of things that are there."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Iterator, Mapping
from importlib.resources import files
from typing import Any

import attrs

from inkhorn.daybook.inventory import Inventory
from inkhorn.daybook.names import known
from inkhorn.sentences.degrees import degrees
from inkhorn.sentences.tokens import folded
from inkhorn.units import fold

_DOUBLES = frozenset(
    {"skim", "thin", "tip", "top", "chip", "drop", "dip", "pop", "stir", "set", "cut", "put", "run", "sit", "get", "let",
     "trim", "wet", "pen", "skip", "bin", "snap", "slip", "stop"}
)  # fmt: skip


@attrs.frozen
class Word:
    """What a phrase may be: terminal, meaning, tense, the names it may stand for."""

    type: str
    value: str
    tense: str = ""
    names: tuple[str, ...] = ()


Phrases = dict[tuple[str, ...], Word]


@functools.cache
def table(name: str) -> Mapping[str, Any]:
    """Return a table of the vocabulary."""
    text = files("inkhorn.sentences").joinpath("vocabulary").joinpath(f"{name}.toml").read_text("utf-8")
    return tomllib.loads(text)


#: Small words that are left out in a hurry: "down the sink", "down sink".
_ARTICLES = frozenset({"the", "a", "an"})
_AMERICAN = {"mould": "mold", "mouldy": "moldy", "colour": "color", "fibre": "fiber", "grey": "gray"}


@functools.cache
def vocabulary() -> Mapping[tuple[str, ...], Word]:
    """Return every phrase that is known whatever stands on the bench."""
    out: Phrases = {}
    words = table("words")
    for kind in ("FILL", *(k for k in words if k != "FILL")):
        for value, phrases in words[kind].items():
            for phrase in phrases:
                if kind != "WORD":
                    out[folded(phrase)] = Word(kind, value)
    for phrase, value, degree in degrees(table("degrees")):
        out.setdefault(phrase, Word("SCALE", value, degree))
    verbs = table("verbs")
    for value, bases in verbs["class"].items():
        for base in bases:
            for form, tense in forms(base, verbs["forms"]):
                key = folded(form)
                if key not in out or out[key].type == "FILL":
                    out[key] = Word("VERB", value, tense)
    for phrase in words["WORD"]["-"]:
        out.setdefault(folded(phrase), Word("WORD", "-"))
    for key, word in tuple(out.items()):
        american = tuple(_AMERICAN.get(part, part) for part in key)
        if american != key:
            out.setdefault(american, word)
        if key[0] == "like" and word.type == "SCALE":
            for how in (
                "just",
                "rather",
                "much",
                "almost",
                "nearly",
                "quite",
                "a bit",
                "a little",
                "more",
                "exactly",
            ):
                out.setdefault((*how.split(), *key), word)
        hurried = (key[0], *(part for part in key[1:] if part not in _ARTICLES))
        if len(key) > len(hurried) > 1:
            out.setdefault(hurried, word)
    return out


def forms(base: str, irregular: Mapping[str, list[str]]) -> Iterator[tuple[str, str]]:
    """Yield the forms of a verb with their tense."""
    head, _, tail = base.partition(" ")
    rest = f" {tail}" if tail else ""
    yield base, "order"
    stem = head[:-1] if head.endswith("e") and not head.endswith("ee") else head
    if head in _DOUBLES:
        stem = head + head[-1]
    yield f"{stem}ing{rest}", "doing"
    if head in irregular:
        for past in irregular[head]:
            yield f"{past}{rest}", "past" if past != head else "order"
    elif head.endswith("y") and head[-2:-1] not in "aeou":
        yield f"{head[:-1]}ied{rest}", "past"
        yield f"{head[:-1]}ies{rest}", "order"
    else:
        yield f"{stem}ed{rest}", "past"
    if head.endswith(("sh", "ss", "ch", "x", "o")):
        yield f"{head}es{rest}", "order"


# ---------------------------------------------------------------- names of what is there


@functools.cache
def _of_the_handbook() -> Mapping[tuple[str, ...], Word]:
    """Return every phrase that names a thing of the handbook, whatever stands on the bench."""
    out: Phrases = {}
    for group, sort in (
        ("liquids", "LIQUID"),
        ("materials", "MATERIAL"),
        ("supports", "SKIN"),
        ("pens", "CUT"),
    ):
        for phrase, key in known(group).items():
            out[folded(phrase)] = Word(sort, key, names=(key,))
    for (first, *last), word in tuple(out.items()):
        if len(last) == 1 and word.type == "MATERIAL":  # "bark of alder", "galls from the oak"
            for of in (("of",), ("of", "the"), ("from", "the"), ("off", "the")):
                for tree in ((), ("tree",), ("bush",)):
                    out.setdefault((last[0], *of, first, *tree), word)
    out[folded("rain")] = Word("LIQUID", "rainwater", names=("rainwater",))
    for material, words in _everyday().items():
        for phrase in words:
            out[folded(phrase)] = Word("MATERIAL", material, names=(material,))
    for phrase, meant in table("materials")["several"].items():
        out[folded(phrase)] = Word("MATERIAL", "", names=tuple(meant))
    for phrase, key in known("supports").items():
        if " " not in phrase and phrase not in ("parchment", "vellum", "paper"):
            for whole in (f"{phrase} skin", f"{phrase}skin"):
                out[folded(whole)] = Word("SKIN", key, names=(key,))
    return out


def names(things: Inventory) -> Phrases:
    """Return every phrase that names a thing of the bench or of the handbook, with what it may mean."""
    out: Phrases = dict(_of_the_handbook())
    _pens_and_skins(out, things)
    _lots(out, things)
    _vessels(out, things)
    for noun in table("materials")["vessels"]["words"]:
        out.setdefault(
            folded(noun), Word("VESSEL", "-".join(noun.split()), "new", names=("-".join(noun.split()),))
        )
    for sort in ("lot", "support", "pen", "vessel", "trial", "exemplar"):
        for name in things.of(sort):
            out[folded(name)] = Word(sort.upper(), name, names=(name,))
            out[folded(f"{sort}:{name}")] = Word(sort.upper(), name, names=(name,))
    if len(things.exemplars) == 1:
        (page,) = things.exemplars
        for phrase in ("roll", "original", "page", "exemplar", "the old page", "old ink", "manuscript"):
            out.setdefault(folded(phrase), Word("EXEMPLAR", page, names=(page,)))
    elif things.exemplars:
        for phrase in ("roll", "original", "page", "exemplar"):
            out.setdefault(folded(phrase), Word("EXEMPLAR", "", names=tuple(things.exemplars)))
    return out


@functools.cache
def _everyday() -> Mapping[str, list[str]]:
    everyday: Mapping[str, list[str]] = table("materials")["everyday"]
    return everyday


def _also(out: Phrases, phrase: str, sort: str, name: str) -> None:
    key = folded(phrase)
    was = out.get(key)
    before = was.names if was is not None and was.type == sort else ()
    together = before if name in before else (*before, name)
    out[key] = Word(sort, together[0] if len(together) == 1 else "", names=together)


def _loose(name: str) -> tuple[str, ...]:
    """Return the words of a name that may stand for it: no figures, no single letters."""
    return tuple(w for w in fold(name).split() if len(w) > 2 and not any(c.isdigit() for c in w))


def _pens_and_skins(out: Phrases, things: Inventory) -> None:
    for name, thing in things.pens.items():
        for word in {*_loose(name), *_loose(thing.material or "")} - {"metal", "goose"}:
            _also(out, word, "PEN", name)
            _also(out, f"{word} pen", "PEN", name)
        _also(out, "pen", "PEN", name)
        if thing.width:
            _also(out, f"{thing.width.text} {thing.material or ''}", "PEN", name)
    for name, thing in things.supports.items():
        animal = (thing.material or "").partition("-")[0]
        for word in {*_loose(name), animal} - {"", "rag"}:
            for phrase in (
                word,
                f"{word} skin",
                f"{word}skin",
                f"{word} parchment",
                f"{word} bit",
                f"{word} vellum",
            ):
                _also(out, phrase, "SUPPORT", name)
        for word in ("skin", "parchment") if animal != "rag" else ("paper", "rag", "rag paper"):
            _also(out, word, "SUPPORT", name)


_COMMON = frozenset(
    {
        "oak",
        "iron",
        "bought",
        "green",
        "own",
        "old",
        "acid",
        "new",
        "ground",
        "dried",
        "autumn",
        "spring",
        "big",
        "small",
        "water",
        "dust",
        "powder",
        "per",
        "cent",
        "percent",
        "rusty",
        "crust",
        "fool",
        "peel",
        "rind",
        "sweet",
        "sour",
    }
)


def _lots(out: Phrases, things: Inventory) -> None:
    phrases: dict[str, list[str]] = {}
    for phrase, key in known("materials").items():
        phrases.setdefault(key, []).append(phrase)
    for material, words in _everyday().items():
        phrases.setdefault(material, []).extend(words)
    for name, thing in things.lots.items():
        mine = phrases.get(thing.material or "", [])
        for word in {*_loose(name), *(w for phrase in mine for w in _loose(phrase))} - _COMMON:
            _also(out, word, "LOT", name)
        for phrase in mine:
            _also(out, phrase, "LOT", name)
        tail = fold(name).split()
        if len(tail) == 2 and tail[1].isdigit():
            for phrase in (f"{tail[1]} {tail[0]}", f"old {tail[1]} {tail[0]}"):
                _also(out, phrase, "LOT", name)
            for phrase in mine:
                _also(out, f"{tail[1]} {phrase}", "LOT", name)
        if thing.material == "bought-green-vitriol":
            _also(out, "bought vitriol", "LOT", name)
            _also(out, "bought stuff", "LOT", name)
        if thing.material == "scraped-green-vitriol":
            _also(out, "scraped vitriol", "LOT", name)
    # A word that is one lot's handbook name outright means that one, even where another has it loosely.
    for phrase, key in known("materials").items():
        exact = [name for name, thing in things.lots.items() if thing.material == key]
        if len(exact) == 1 and len(out[folded(phrase)].names) > 1:
            _settle_on(out, phrase, exact[0])


def _settle_on(out: Phrases, phrase: str, name: str) -> None:
    word = out[folded(phrase)]
    out[folded(phrase)] = attrs.evolve(word, value=name)


def _vessels(out: Phrases, things: Inventory) -> None:
    for name in things.vessels:
        for word in set(_loose(name)) - {"ink", *_COMMON}:
            _also(out, word, "VESSEL", name)
