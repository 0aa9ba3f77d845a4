"""A turn of phrase is read as the plain words for the same thing, and what looks like it is not.

The sentences are made up for this, on the benches of the invented Saltmere roll.
"""

from __future__ import annotations

from datetime import datetime

import pytest

from inkhorn.sentences.answer import Understood
from inkhorn.sentences.understand import understand
from support import sentence_corpus as corpus

NOW = {
    "bare": "2026-09-12T12:00", "shelf": "2026-09-12T12:00", "soaking": "2026-09-13T07:00", "strained": "2026-09-13T15:00", "black": "2026-09-13T18:00",
    "gummed": "2026-09-14T17:00", "writing": "2026-09-15T16:00", "crowded": "2026-09-18T15:00", "yard": "2026-09-05T10:00",
}  # fmt: skip


def said(text: str, bench: str) -> Understood:
    """Return what a sentence says on a bench."""
    return understand(text, corpus.set_up(bench).book, datetime.fromisoformat(NOW[bench]))


def plain(found: Understood) -> list[dict[str, object]]:
    """Return the entries without what is kept in the maker's own words."""
    return [
        {k: v for k, v in e.items() if k not in ("source", "how", "why") or e["kind"] == "prepare"}
        for e in found.entries
    ]


@pytest.mark.parametrize(
    ("turn", "words", "bench"),
    [
        ("600 g of leaf in four litres off the spring, tub, a day", "600 g of leaf in four litres of spring water, tub, a day", "shelf"),
        ("leaf in the tub, 500 g, water 4 l, spring, 20 h", "500 g of leaf in 4 l of spring water, tub, 20 h", "shelf"),
        ("ran the galls through the mill", "ground the galls", "shelf"),
        ("half the galls (400 g) in the pot with 3 l of rain, two days", "400 g of galls in the pot with 3 l of rain, two days", "shelf"),
        ("600 g of leaf to 5 l of spring water in the tub, to come off tomorrow at noon", "600 g of leaf in 5 l of spring water, tub, till tomorrow noon", "shelf"),
        ("it took me half an hour to strain it into the pot", "strained it into the pot", "soaking"),
        ("strained it, it's all in the pot now", "strained it into the pot", "soaking"),
        ("pot: 5 l -> 2 l", "pot boiled from 5 l down to 2 l", "strained"),
        ("4 l became 1.2 l on the stove", "boiled from 4 l down to 1.2 l", "strained"),
        ("boil'd it to a litre", "boiled it to a litre", "strained"),
        ("seethed the liquor till but a third remained", "boiled the liquor till a third remained", "strained"),
        ("simmered 45'", "simmered 45 min", "strained"),
        ("instead of gum I used 5 g of chalk", "added 5 g of chalk", "strained"),
        ("vitriol: 42 g, weighed, in", "added 42 g of vitriol", "strained"),
        ("vitriol went in a spoon at a time, 5 spoons in all", "added 5 spoons of vitriol", "strained"),
        ("jar: 300 ml from the pot", "poured 300 ml from the pot into the jar", "black"),
        ("300 ml into the jar, the rest in the pot", "300 ml into the jar", "black"),
        ("decanted 600 ml off the mud into the jar", "decanted 600 ml into the jar", "black"),
        ("added rainwater to bring it to 900 ml", "filled it up to 900 ml with rainwater", "gummed"),
        ("a dribble, 30 ml, of rainwater into the jar", "30 ml of rainwater into the jar", "gummed"),
        ("a glass of wine, 100 ml, into the jar", "100 ml of wine into the jar", "gummed"),
        ("another splash of rainwater, 10 ml", "10 ml of rainwater", "gummed"),
        ("to correct the colour I added 5 g of vitriol", "added 5 g of vitriol", "strained"),
        ("40 g of vitriol made it black", "40 g of vitriol", "strained"),
        ("let the pot simmer for two hours, it's off now", "simmered the pot for two hours", "strained"),
        ("skin lifted off, thrown away", "skimmed", "gummed"),
        ("took a film off", "skimmed it", "gummed"),
        ("the jar is gone down to the cellar, well stoppered", "put the jar in the cellar, well stoppered", "gummed"),
        ("runs just like water", "like water", "gummed"),
        ("no mould so far", "top clear", "gummed"),
        ("6 g of cherry gum to the pot and 4 to the crock", "6 g of cherry gum to the pot and 4 g of cherry gum to the crock", "crowded"),
        ("4 g of plum gum in the crock and the same in the pot", "4 g of plum gum in the crock, 4 g of plum gum in the pot", "crowded"),
        ("three lines with the reed: t5, t6, t7", "t5 line reed, t6 line reed, t7 line reed", "writing"),
        ("two drops on the skin, neat and one in four", "a drop on the skin, then a drop on the skin 1 in 4", "writing"),
    ],
)  # fmt: skip
def test_a_turn_of_phrase_says_the_plain_thing(turn: str, words: str, bench: str) -> None:
    """The entries are those of the plain words."""
    assert plain(said(turn, bench)) == plain(said(words, bench))
    assert said(turn, bench).entries


@pytest.mark.parametrize(
    ("text", "what", "value"),
    [
        ("the roll is darker", "depth", "too pale"),
        ("darker than the roll", "depth", "too dark"),
        ("the roll is paler", "depth", "too dark"),
    ],
)
def test_what_is_darker_than_what_is_kept_apart(text: str, what: str, value: str) -> None:
    """Where the original is the darker of the two, the line is too pale."""
    (entry,) = said(text, "writing").entries
    assert (entry["what"], entry["value"]) == (what, value)


@pytest.mark.parametrize(
    ("text", "bench"),
    [
        ("100 g of nails in, 80 g out", "yard"),
        ("quill skips, reed flows", "writing"),
        ("line 2 mm wide, edges clean", "writing"),
        ("t4 density R 8 G 85 B 84", "writing"),
        ("ten drops weigh 46 g", "gummed"),
        ("hands still wet", "writing"),
        ("skimmed the pot, 9.20", "strained"),
        ("1410 vitriol 40 g", "strained"),
        ("hydrometer says two", "gummed"),
        ("ten drops weigh 0.46 g, ten of water 46 g", "gummed"),
        (
            "cones 300 g in 2 l of spring water in the tub since ten this morning they'll stay till ten tonight",
            "shelf",
        ),
        ("3 g plum gum in the one, 2 g in the other", "crowded"),
        ("added the vitriol I weighed this morning, 40 g", "strained"),
        ("pot 800 ml", "crowded"),
        ("boiled an hour and twenty minutes, then ten minutes and twenty", "strained"),
    ],
)
def test_what_may_mean_another_thing_is_never_recorded_at_once(text: str, bench: str) -> None:
    """There is a question, or a yes is asked."""
    assert not said(text, bench).sure


def test_one_struck_out_by_its_trial() -> None:
    """The mark of the trial that is named is struck out, and no other."""
    (entry,) = said("scrap t3, wrong side of the skin", "writing").entries
    made = next(line for line in corpus.set_up("writing").book if line.raw.get("trial") == "t3")
    assert entry["kind"] == "void"
    assert entry["entry"] == made.number


def test_two_vessels_stand_at_once() -> None:
    """One steep is not moved back for the other."""
    found = said("tub 600 g leaf, 5 l rain, 1 d; pot 300 g galls, 2 l rain, 3 d", "shelf")
    assert [entry["kind"] for entry in found.entries] == ["steep", "steep"]
    assert len({entry.get("at", NOW["shelf"]) for entry in found.entries}) == 1
