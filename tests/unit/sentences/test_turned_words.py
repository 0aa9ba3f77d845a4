"""Words that turn what stands beside them: a change, a hedge, a night hour, a total. None is recorded unasked.

The sentences are made up for this, on the benches of the invented Saltmere roll.
"""

from __future__ import annotations

import tomllib
from datetime import datetime
from importlib import resources

import pytest

from inkhorn.daybook.measures import measures
from inkhorn.errors import QuantityError
from inkhorn.quantities import read_quantity
from inkhorn.sentences.answer import Understood
from inkhorn.sentences.understand import understand
from support import sentence_corpus as corpus

NOW = {
    "shelf": "2026-09-12T12:00", "strained": "2026-09-13T15:00", "black": "2026-09-13T18:00", "gummed": "2026-09-14T17:00",
}  # fmt: skip


def said(text: str, bench: str) -> Understood:
    """Return what a sentence says on a bench."""
    return understand(text, corpus.set_up(bench).book, datetime.fromisoformat(NOW[bench]))


@pytest.mark.parametrize(
    ("text", "bench"),
    [
        ("the level dropped by 200 ml", "strained"),
        ("the pot has gone down 100 ml overnight", "strained"),
        ("pot a third down", "strained"),
        ("pH up 0.2", "gummed"),
    ],
)
def test_a_change_is_never_taken_for_a_level(text: str, bench: str) -> None:
    """It is asked what there is now."""
    found = said(text, bench)
    assert not found.entries
    assert found.question is not None
    assert found.question.field in ("to", "value")


@pytest.mark.parametrize(
    ("text", "key", "value"),
    [
        ("pot down to a litre", "to", "1 l"),
        ("boiled down by a third", "to", "two thirds"),
        ("pH down to 3.2", "value", "3.2"),
    ],
)
def test_a_level_is_not_taken_for_a_change(text: str, key: str, value: str) -> None:
    """Where "to" is said, or what is left can be reckoned, nothing is asked."""
    assert [entry[key] for entry in said(text, "strained").entries] == [value]


@pytest.mark.parametrize(
    ("text", "bench"),
    [
        ("I think I put 5 g of gum in the jar", "gummed"),
        ("mostly poured out the jar", "gummed"),
        ("got 5 g of gum ready", "gummed"),
        ("jar had 5 g of gum put to it, that's 11 g now", "gummed"),
        ("put 5 g of gum in the jar, not all of it", "gummed"),
        ("boil 1 h or until a litre is left", "strained"),
        ("this morning: pot pH 3.4, 5 g of gum in", "black"),
    ],
)
def test_what_may_be_turned_wants_a_yes(text: str, bench: str) -> None:
    """There are entries, and a guess that says why they are not sure."""
    found = said(text, bench)
    assert found.entries
    assert not found.sure


@pytest.mark.parametrize(
    ("text", "sure"),
    [
        ("at half four I skimmed the pot", False),
        ("at half four this morning I skimmed the pot", True),
        ("at half two I skimmed the pot", True),
    ],
)
def test_a_bare_hour_of_the_night_wants_a_yes(text: str, sure: bool) -> None:
    """Said at three in the afternoon, "half four" is as soon that of yesterday's afternoon as one before dawn."""
    found = understand(text, corpus.set_up("strained").book, datetime.fromisoformat("2026-09-14T15:00"))
    assert found.entries
    assert found.sure is sure


def test_a_number_word_above_twelve_is_no_hour() -> None:
    """It may be degrees: "1.024 at twenty"."""
    assert not said("sg 1.024 at twenty", "black").sure


def test_from_and_to_is_where_it_ended() -> None:
    """It is no range of what was come to, and that the beginning is left out is told."""
    found = said("warmed from 20 to 60 degrees", "strained")
    assert [entry["to"] for entry in found.entries] == ["60 degC"]
    assert not found.sure


def test_one_stretch_after_the_other_ends_now() -> None:
    """The second hour has just ended, and the first ten minutes when that began."""
    found = said("simmered hard for ten minutes then gently for an hour", "strained")
    assert [entry["at"] for entry in found.entries] == ["2026-09-13T13:50", "2026-09-13T14:00"]


def test_two_lots_in_one_liquid_are_two_entries() -> None:
    """All but the first go in as additions, and soak in what is poured on the first."""
    found = said(
        "steeped 200 g of sumac and 100 g of cones in 3 l of rainwater in the tub since yesterday noon",
        "shelf",
    )
    added, steeped = found.entries
    assert found.sure
    assert (added["kind"], added["lot"], added["amount"], added["into"]) == (
        "add",
        "alder-cones",
        "100 g",
        "tub",
    )
    assert (steeped["kind"], steeped["lot"], steeped["amount"], steeped["liquid_amount"]) == (
        "steep",
        "sumac-leaf",
        "200 g",
        "3 l",
    )
    assert added["at"] == steeped["at"] == "2026-09-11T12:00"


def test_pieces_of_the_second_lot_are_not_lost() -> None:
    """An addition cannot hold them, so it is asked."""
    found = said(
        "400 g of leaf and 150 g of crushed galls in 5 l of spring water in the tub for 2 days", "shelf"
    )
    assert not found.entries
    assert found.question is not None


def test_words_for_an_amount_mean_what_the_handbook_says() -> None:
    """A phrase that the handbook knows is not turned into another amount: "hand hot" is no "hand warm"."""
    text = resources.files("inkhorn.sentences").joinpath("vocabulary/measures.toml").read_text("utf-8")
    wrong = []
    for name, words in tomllib.loads(text)["phrase"].items():
        for word in words:
            for dimension in ("temperature", "time", "power"):
                try:
                    own = read_quantity(word, expect=(dimension,), measures=measures())
                    meant = read_quantity(name, expect=(dimension,), measures=measures())
                except QuantityError:
                    continue
                if abs(own.value - meant.value) > 1e-9 * abs(meant.value):
                    wrong.append((word, name, own.value, meant.value))
    assert not wrong


@pytest.mark.parametrize(
    ("text", "bench", "field"),
    [
        ("make it 2 g more", "gummed", "amount"),
        ("no, an hour earlier", "gummed", "at"),
        ("undo everything", "gummed", "entry"),
        ("lost a third of the jar", "gummed", "amount"),
    ],
)
def test_what_cannot_be_reckoned_is_asked(text: str, bench: str, field: str) -> None:
    """A correction by a difference, all of a book struck out, a loss without a fire."""
    found = said(text, bench)
    assert not found.entries
    assert found.question is not None
    assert found.question.field == field


@pytest.mark.parametrize(
    ("text", "trial"),
    [("the drop is too pale", "t2"), ("the dip is too pale", "t3"), ("the reed skips", "t4")],
)
def test_a_trial_left_unsaid_is_one_made_so(text: str, trial: str) -> None:
    """The last trial that was made with what is told, not the last of all."""
    found = understand(text, corpus.set_up("writing").book, datetime.fromisoformat("2026-09-15T16:00"))
    assert [entry["of"] for entry in found.entries] == [f"trial:{trial}"]


@pytest.mark.parametrize(
    "text", ["the quill skips", "the first one is too pale", "wrote a line with a new quill"]
)
def test_another_than_the_last_is_not_taken_unasked(text: str) -> None:
    """No trial was made with the quill; the first is not the last; a new quill is not the one that is there."""
    assert not understand(
        text, corpus.set_up("writing").book, datetime.fromisoformat("2026-09-15T16:00")
    ).sure


@pytest.mark.parametrize(
    ("text", "at"),
    [("I let the pot simmer for an hour", "2026-09-13T14:00"), ("let the pot simmer for an hour", "")],
)
def test_i_let_is_past(text: str, at: str) -> None:
    """The word "let" by itself is an order, and begins now; "I let" is over."""
    assert [entry["at"] for entry in said(text, "strained").entries] == [at or NOW["strained"]]


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("leave it till tomorrow noon", "21 h"),
        ("leave it till this time tomorrow", "24 h"),
        ("leave it till Tuesday noon", "45 h"),
    ],
)
def test_an_end_that_lies_ahead_is_a_length(text: str, hours: str) -> None:
    """What is told as an order begins now; 13 September 2026 is a Sunday."""
    assert [entry["for"] for entry in said(text, "strained").entries] == [hours]


def test_had_is_no_plan() -> None:
    """What "I'd added" says is done, "I'd add" is not."""
    assert said("I'd added 5 g of gum", "gummed").sure
    assert not said("I'd add 5 g of gum", "gummed").entries


def test_what_was_done_first_stands_first() -> None:
    """Whatever is told first."""
    for text, kinds in (
        ("skimmed the pot after adding 10 g of vitriol", ["add", "skim"]),
        ("skimmed the pot before adding 10 g of vitriol", ["skim", "add"]),
    ):
        assert [entry["kind"] for entry in said(text, "black").entries] == kinds


@pytest.mark.parametrize(
    ("text", "amounts"),
    [
        ("5 g each of gum and vitriol into the jar", ["5 g", "5 g"]),
        ("3 g of vitriol and 1 g of gum, both into the jar", ["3 g", "1 g"]),
    ],
)
def test_each_lot_has_its_amount(text: str, amounts: list[str]) -> None:
    """The word "each" gives both the same, "both" nothing more."""
    assert [entry["amount"] for entry in said(text, "gummed").entries] == amounts


def test_an_hour_is_corrected_by_its_figure() -> None:
    """So "at eleven, not ten": the entry that began at ten."""
    (amended,) = said("that gum went in at eleven, not ten", "gummed").entries
    assert amended["replacement"]["at"] == "2026-09-14T11:00"


def test_for_another_is_told_as_left_out() -> None:
    """An initial is no small word, though "t'jar" is the jar."""
    assert not said("5 g of gum to the jar for T.", "gummed").sure
    assert said("5 g of gum in t'jar", "gummed").sure


def test_what_is_gone_is_not_what_is_left() -> None:
    """Until a third had gone: two thirds are left, and that is asked."""
    found = said("simmered till a third had gone", "strained")
    assert not found.entries
    assert said("the cones lost 200 g in drying", "shelf").question is not None


def test_a_count_is_no_share() -> None:
    """Its third dose is not a third of what there is."""
    assert [
        entry["amount"] for entry in said("pot got its third dose of vitriol, 10 g", "black").entries
    ] == ["10 g"]


def test_the_clear_that_is_poured_off_is_no_reading() -> None:
    """No step in the past tense is lost to a word of a scale beside it."""
    found = said("let it settle for an hour and poured off the clear into the jar", "black")
    assert [entry["kind"] for entry in found.entries] == ["rest", "pour"]


def test_what_it_leaves_is_no_leaf() -> None:
    """The verb is not taken for the plant."""
    found = said("5 g of gum to the jar, that leaves 109 g", "gummed")
    assert not found.sure
    assert "sumac-leaf" not in {entry.get("lot") for entry in found.entries}


@pytest.mark.parametrize(
    "text",
    [
        "5 g of gum to the jar, warmed it to 40 degrees first",
        "next: 5 g of gum to the jar",
        "gum now 11 g in the jar",
        "a dram of gum to the jar",
    ],
)
def test_order_and_totals_want_a_yes(text: str) -> None:
    """What is told last but was done first, what is only next on a list, what may be there in all."""
    assert not said(text, "gummed").sure


def test_each_of_two_vessels() -> None:
    """What goes "to each" of the only two that hold something goes into both."""
    found = understand(
        "8 g of own vitriol to each",
        corpus.set_up("crowded").book,
        datetime.fromisoformat("2026-09-18T15:00"),
    )
    assert {(entry["into"], entry["amount"]) for entry in found.entries} == {("pot", "8 g"), ("crock", "8 g")}


def test_started_has_begun() -> None:
    """A length told of a beginning is still to run; "had it on an hour" is over."""
    assert (
        said("started 500 g of sumac in 4 l of spring water in the tub for a day", "shelf").entries[0]["at"]
        == NOW["shelf"]
    )
    had = said("had the pot on the stove an hour, simmering, and it's down to a litre and a half", "strained")
    assert [entry["at"] for entry in had.entries] == ["2026-09-13T14:00"]


@pytest.mark.parametrize(
    ("text", "bench"),
    [
        ("jar weighs 1.2 kg", "gummed"),
        ("nearly tipped the jar over and spilt half of it", "gummed"),
        ("vitriol at three, 5 g; gum at four, 7 g, all in the jar", "black"),
    ],
)
def test_what_may_hold_of_more_wants_a_yes(text: str, bench: str) -> None:
    """A weight with or without its vessel; what was not done, over "and"; one vessel told for all."""
    found = said(text, bench)
    assert found.entries
    assert not found.sure


def test_a_weight_with_the_ink_is_asked_without_the_vessel() -> None:
    """What is kept is what a thing weighs without its vessel."""
    found = said("jar weighs 1.2 kg with the ink", "gummed")
    assert not found.entries
    assert found.question is not None


def test_a_brush_is_no_pen_that_is_here() -> None:
    """It is told as left out, where a mark has no pen."""
    found = understand(
        "wrote the pangram with the brush",
        corpus.set_up("writing").book,
        datetime.fromisoformat("2026-09-15T16:00"),
    )
    assert not found.sure


def test_a_correction_in_no_unit_is_asked() -> None:
    """The unit of the entry is not put in the place of one that is not known."""
    assert not said("that should have been 9 yards", "gummed").entries
    assert said("that should have been 9", "gummed").entries
