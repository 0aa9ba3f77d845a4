"""Somebody who corrects himself in the midst is read as he means it; what may turn a sentence wants a yes.

Sentences and figures were made up for this (the invented Saltmere roll).
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from inkhorn.sentences.answer import Understood
from inkhorn.sentences.understand import understand
from support import sentence_corpus as corpus

NOW = {
    "shelf": "2026-09-12T12:00", "strained": "2026-09-13T15:00", "black": "2026-09-14T17:00", "gummed": "2026-09-14T17:00",
    "writing": "2026-09-15T16:00", "crowded": "2026-09-19T15:00",
}  # fmt: skip


def said(text: str, bench: str = "gummed") -> Understood:
    """Return what a sentence says on a bench."""
    return understand(text, corpus.set_up(bench).book, datetime.fromisoformat(NOW[bench]))


def only(found: Understood) -> dict[str, Any]:
    """Return the one entry of an answer that needs no yes."""
    assert found.sure, (found.guesses, found.question, found.refused)
    (entry,) = found.entries
    return dict(entry)


@pytest.mark.parametrize(
    ("text", "bench", "key", "value"),
    [
        ("added 7 g, sorry, 8 g of gum to the jar", "gummed", "amount", "8 g"),
        ("added 7 g of gum to the jar, no, 8 g", "gummed", "amount", "8 g"),
        ("gave it seven grams of gum, or rather eight", "black", "amount", "8 g"),
        ("put 7 g of gum into the pot, I mean the jar", "gummed", "into", "ink-jar"),
        ("7 g of gum, no, vitriol, into the jar", "gummed", "lot", "bought-green-vitriol"),
        ("the jar is at pH 3.9 - wait, 3.6", "gummed", "value", "3.6"),
        ("boiled the pot down to a third, oops, to half", "strained", "to", "half"),
        ("t4 is darker than t1, no, paler", "writing", "value", "paler t1"),
        ("poured 100 ml from the jar into the pot, no, 150 ml", "gummed", "amount", "150 ml"),
    ],
)
def test_what_is_said_last_is_meant(text: str, bench: str, key: str, value: str) -> None:
    """The words that take something back leave no second entry and no yes."""
    assert only(said(text, bench))[key] == value


def test_two_vessels_change_places() -> None:
    """Each name stands for the one behind a preposition of the same sense."""
    found = said("poured 100 ml from the jar into the pot, no, from the pot into the jar", "black")
    told = found.entries[0] if found.entries else found.partial
    assert (told["from"], told["into"]) == ("pot", "ink-jar")


@pytest.mark.parametrize("text", ["no, that was 6.4 g", "sorry, that was 6.4 g of gum"])
def test_a_correction_of_an_earlier_entry_stays_one(text: str) -> None:
    """Where nothing was told before the word, the entry before is meant."""
    assert only(said(text))["kind"] == "amend"


@pytest.mark.parametrize(
    "more",
    [
        ", or was it 4 g", " (4 g?)", ", not sure", ", not", ", let's say", " (?)", ", at most", " or more", " twice over", " several times",
        ", could have been 4 g", ", failed to",
    ],
)  # fmt: skip
@pytest.mark.parametrize("base", ["added 3 g of gum to the jar", "poured 30 ml from the jar into the pot"])
def test_what_may_turn_it_wants_a_yes(base: str, more: str) -> None:
    """The same words behind two steps: neither is recorded at once as if they had not been said."""
    assert said(base).sure
    assert not said(base + more).sure


@pytest.mark.parametrize(
    "text",
    [
        "there is 9 g of gum in the jar now", "the gum is 9 g in total", "took 2 g of gum out again", "removed 2 g of gum", "weighed out 3 g of gum",
        "gum 3 g into the cup", "they poured 30 ml from the jar into the pot", "5 % gum into the jar", "the jar weighs 450 g with the jar", "gum 12 percent",
        "the jar at pH 3.5, the jar at pH 3.2",
        "yesterday's gum was 5 g",
        "left 50 ml in the jar and poured the rest into the pot",
    ],
)  # fmt: skip
def test_what_fits_another_thing_as_well_is_not_taken_at_once(text: str) -> None:
    """What is there is not what was added, what was taken out not what went in, and a cup no instrument."""
    assert not said(text).sure


@pytest.mark.parametrize(
    "text", ["both pot and crock got 5 g of cherry gum", "the reed skips, the quill floods"]
)
def test_two_things_are_not_one(text: str) -> None:
    """An amount of two vessels is not given to one, nor a word of two pens to one trial."""
    assert not said(text, "crowded" if "crock" in text else "writing").sure


def test_each_is_each() -> None:
    """Where "each" is said the amount is that of each."""
    found = said("gave the pot and the crock 3 g of cherry gum each", "crowded")
    assert found.sure
    assert {(e["into"], e["amount"]) for e in found.entries} == {("pot", "3 g"), ("crock", "3 g")}


@pytest.mark.parametrize(
    ("text", "bench", "kind"),
    [("undo the pour", "gummed", "pour"), ("forget the last addition", "gummed", "add")],
)
def test_the_kind_that_is_named_is_struck_out(text: str, bench: str, kind: str) -> None:
    """Not whatever came last; where that is another entry than the last, a yes is asked."""
    found = said(text, bench)
    (entry,) = found.entries
    struck = next(line for line in corpus.set_up(bench).book if line.number == entry["entry"])
    assert struck.kind == kind
    assert found.sure == (struck.number == len(corpus.entries_of(bench)))


@pytest.mark.parametrize("text", ["forget the last reading", "undo the last trial"])
def test_what_was_never_made_is_not_struck_out(text: str) -> None:
    """With no reading and no trial in the book nothing is struck out in its place."""
    found = said(text)
    assert not found.entries
    assert found.question is not None
    assert found.question.field == "entry"


def test_a_day_that_only_names_an_entry_does_not_move_it() -> None:
    """The day of the entry says which one is meant."""
    entry = only(
        understand(
            "yesterday's vitriol: not 40 but 45 g",
            corpus.set_up("black").book,
            datetime.fromisoformat("2026-09-14T09:00"),
        )
    )
    assert entry["replacement"]["at"] == "2026-09-13T15:00"
    assert entry["replacement"]["amount"] == "45 g"


@pytest.mark.parametrize(
    "level", ["till it stood at a litre and a quarter", "until it reads 1.25 l", "until it is 1.25 l"]
)
def test_a_level_is_no_amount(level: str) -> None:
    """What a pot was filled up to is not what went in."""
    assert only(said(f"topped the pot up with spring water {level}", "strained"))["up_to"].startswith("1.25")


def test_strips_that_are_counted_are_no_ph() -> None:
    """The "two" of "two strips" tells how many there were."""
    found = said("two strips dipped, one from the pot on the goat, one from the crock on the calf", "crowded")
    assert not any(entry.get("what") == "ph" for entry in found.entries)
