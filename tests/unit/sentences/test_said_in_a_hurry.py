"""What is said in a hurry is read as what is said with care, and what was guessed of it wants a yes.

The sentences are made up for this, on the benches of the invented Saltmere roll.
"""

from __future__ import annotations

from datetime import datetime

import pytest

from inkhorn.sentences.answer import Understood
from inkhorn.sentences.spelling import distance
from inkhorn.sentences.understand import understand
from support import sentence_corpus as corpus

NOW = {
    "bare": "2026-09-12T12:00", "shelf": "2026-09-12T12:00", "soaking": "2026-09-13T07:00", "strained": "2026-09-13T15:00", "black": "2026-09-13T18:00",
    "gummed": "2026-09-14T17:00", "writing": "2026-09-15T16:00", "crowded": "2026-09-18T15:00", "yard": "2026-09-05T10:00",
}  # fmt: skip


def said(text: str, bench: str) -> Understood:
    """Return what a sentence says on a bench."""
    return understand(text, corpus.set_up(bench).book, datetime.fromisoformat(NOW[bench]))


@pytest.mark.parametrize(
    ("slip", "right", "bench"),
    [
        ("starined the tub into the pot", "strained the tub into the pot", "soaking"),
        ("added 30 grms of vitroil", "added 30 grams of vitriol", "strained"),
        ("simmerd the pot for an hour", "simmered the pot for an hour", "strained"),
        ("5 g of gum to the pott", "5 g of gum to the pot", "strained"),
        ("yesteday picked 300 g of galls", "yesterday picked 300 g of galls", "bare"),
        ("t4 is darkker than t3", "t4 is darker than t3", "writing"),
    ],
)
def test_a_slip_of_spelling_wants_no_more_than_a_yes(slip: str, right: str, bench: str) -> None:
    """The entries are those of the word that was meant; how it was read is told."""
    found = said(slip, bench)
    assert found.entries == said(right, bench).entries
    assert found.entries
    assert not found.sure
    assert any(guess.startswith("I read ") for guess in found.guesses)


@pytest.mark.parametrize(
    "text",
    [
        "added 5 g of gum, the wind blew hard",
        "skimmed the pot, the cat purred",
        "5 g of gum in, then tea on the bench",
    ],
)
def test_a_word_of_the_language_is_no_slip(text: str) -> None:
    """What is a word is never put right: "wind" is no "kind", and "purred" no "poured"."""
    assert not any(guess.startswith("I read ") for guess in said(text, "strained").guesses)


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("pot", "pot", 0),
        ("pto", "pot", 1),
        ("sumc", "sumac", 1),
        ("vitrial", "vitriol", 1),
        ("kitten", "sitting", 3),
    ],
)
def test_the_distance_counts_slips(one: str, other: str, apart: int) -> None:
    """A letter put in, left out, changed or two swapped count one; kitten to sitting is the textbook three (Levenshtein 1966)."""
    assert distance(one, other) == apart


@pytest.mark.parametrize(
    ("hurried", "careful", "bench"),
    [
        ("um added er 5 erm g of gum", "added 5 g of gum", "strained"),
        ("pint of rainwater into pot", "a pint of rainwater into the pot", "strained"),
        ("simmered pot for hour and half", "simmered the pot for an hour and a half", "strained"),
        ("cupful of ink down sink", "a cupful of the ink down the sink", "gummed"),
        ("dozen drops of vinegar in pot", "a dozen drops of vinegar in the pot", "strained"),
        ("5 g gum thru muslin w/ a spoon into jar", "5 g of gum through muslin with a spoon into the jar", "gummed"),
        ("t3 is wayyy too dark", "t3 is way too dark", "writing"),
        ("12.5 g FeSO4 added to pot", "12.5 g of iron sulphate added to the pot", "strained"),
        ("sumac 600 g in four - no, five - litres of rainwater in the tub, 20 hours", "sumac 600 g in five litres of rainwater in the tub, 20 hours", "shelf"),
        ("added twenty no thirty grams of vitriol", "added thirty grams of vitriol", "strained"),
        ("jar topped up with rain to the litre", "topped up the jar with rainwater to 1 litre", "gummed"),
    ],
)  # fmt: skip
def test_what_is_left_out_in_a_hurry_changes_nothing(hurried: str, careful: str, bench: str) -> None:
    """Sounds, articles, short forms, a formula, a figure taken back before its unit."""
    found = said(hurried, bench)
    assert found.entries
    assert found.entries == said(careful, bench).entries
    assert found.sure is said(careful, bench).sure


@pytest.mark.parametrize(
    ("text", "bench", "parts"),
    [
        ("strained the tub into the pot it came to 4.2 l", "soaking", ("strain", "reading")),
        ("plum gum 4 g in the pot cherry gum 4 g in the crock", "crowded", ("add", "add")),
    ],
)
def test_two_things_without_a_mark_want_a_yes(text: str, bench: str, parts: tuple[str, ...]) -> None:
    """Dictated without a stop: where it was parted is told."""
    found = said(text, bench)
    assert tuple(entry["kind"] for entry in found.entries) == parts
    assert any("for one thing" in guess for guess in found.guesses)


@pytest.mark.parametrize(
    ("text", "bench", "kind", "left"),
    [
        ("plonked 5 g of gum down into the pot", "strained", "add", "plonked"),
        (
            "spooned 85 g of green crystals out of the trough, call them sea-green",
            "yard",
            "crystallise",
            "spooned",
        ),
        ("The post brought half a pound of bought green vitriol", "bare", "gather", "brought"),
    ],
)
def test_a_word_that_fits_nowhere_is_left_out_with_a_yes(text: str, bench: str, kind: str, left: str) -> None:
    """The rest of the clause is read, and what was left out is named."""
    found = said(text, bench)
    assert [entry["kind"] for entry in found.entries] == [kind]
    assert any(left in guess for guess in found.guesses)


@pytest.mark.parametrize(
    "text", ["sold 5 g of gum out of the pot", "spilt 5 g of gum beside the pot", "took 5 g of gum back out of the pot", "lost 5 g of gum on the floor"]
)  # fmt: skip
def test_what_turns_the_meaning_is_never_left_out(text: str) -> None:
    """A verb of taking out, or of others, makes no addition even with a yes."""
    assert not any(entry["kind"] in ("add", "gather") for entry in said(text, "strained").entries)


@pytest.mark.parametrize(
    ("text", "bench", "field"),
    [
        ("30 g of moonshine into the jar", "gummed", "lot"),
        ("a litre of moonwater into the jar", "gummed", "liquid"),
        ("started off some leaf in the tub", "shelf", "amount"),
    ],
)
def test_an_unknown_thing_is_asked_about(text: str, bench: str, field: str) -> None:
    """It is asked what it is, not that all be said again."""
    found = said(text, bench)
    assert found.question is not None
    assert found.question.field == field


def test_what_crumbled_by_itself_was_not_crushed() -> None:
    """Pyrite crumbles in the yard by itself; said of a maker it is a step."""
    assert said("the pyrite has crumbled", "yard").question is not None
    assert [entry["how"] for entry in said("I have crumbled the pyrite", "yard").entries] == ["crush"]


@pytest.mark.parametrize(
    ("text", "bench", "for_"),
    [
        ("I covered 250 g of galls with 1.5 l of rainwater in the pot and will leave them three days", "shelf", "3 days"),
        ("300 g of cones in 2 l of spring water in the tub since ten this morning, they'll stay there till ten tonight", "shelf", "12 h"),
        ("drowned 400 g of galls in 3 l of rainwater in the pot. They get 3 days.", "shelf", "3 days"),
    ],
)  # fmt: skip
def test_what_is_still_to_run_is_part_of_the_steep(text: str, bench: str, for_: str) -> None:
    """How long it is to stand is told in a clause of its own, and ends in time to come."""
    (entry,) = said(text, bench).entries
    begin = datetime.fromisoformat(str(entry.get("at", NOW[bench])))
    assert (entry["kind"], entry["for"]) == ("steep", for_)
    assert begin >= datetime.fromisoformat("2026-09-12T10:00")
