"""Notes as they are jotted: lists, stays and places without a verb, vessels by number."""

from __future__ import annotations

from datetime import datetime

import pytest

from inkhorn.sentences.listing import one_line
from inkhorn.sentences.understand import understand
from support import sentence_corpus as corpus


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("- 3 g gum\n- pH 3.4", "3 g gum; pH 3.4"),
        ("* skimmed it\n\n* lid on\n", "skimmed it; lid on"),
        ("1. skimmed it\n2. lid on", "skimmed it; lid on"),
        ("skimmed it.\nlid on", "skimmed it. lid on"),
        ("1) skimmed it 2) lid on", "skimmed it; lid on"),
        ("today: 1) skimmed it 2) lid on", "today; skimmed it; lid on"),
        ("5 g of\ngum into\nthe jar", "5 g of gum into the jar"),
        ("added 3 g of gum to the ink that stands in the jar by the window\nand skimmed it", "added 3 g of gum to the ink that stands in the jar by the window and skimmed it"),
        ("2) skimmed it 3) lid on", "2) skimmed it 3) lid on"),
        ("2 g gum", "2 g gum"),
        ("  3 g   gum ", "3 g gum"),
    ],
)  # fmt: skip
def test_a_list_is_one_thing_after_the_other(text: str, line: str) -> None:
    """What goes on in the next line is not broken; a number that counts nothing stays."""
    assert one_line(text) == line


def test_a_list_becomes_its_entries() -> None:
    """Two lines are two entries, whether they have dashes or none."""
    book, now = corpus.set_up("gummed").book, datetime.fromisoformat("2026-09-14T17:00")
    for text in ("- 3 g gum to the jar\n- pH of the jar 3.4", "3 g gum to the jar\npH of the jar 3.4"):
        found = understand(text, book, now)
        assert found.sure
        assert [entry["kind"] for entry in found.entries] == ["add", "reading"]


@pytest.mark.parametrize(
    ("text", "entry"),
    [
        ("lid on, two days, jar", {"kind": "rest", "vessel": "ink-jar", "for": "2 days", "covered": True}),
        ("jar corked, cellar", {"kind": "store", "vessel": "ink-jar", "how": "corked, cellar"}),
        ("100 ml jar to cup 3", {"kind": "pour", "from": "ink-jar", "into": "cup-3", "amount": "100 ml"}),
        ("poured 100 ml of the jar into bottle 2", {"kind": "pour", "from": "ink-jar", "into": "bottle-2", "amount": "100 ml"}),
    ],
)  # fmt: skip
def test_what_has_no_verb(text: str, entry: dict[str, object]) -> None:
    """It is told by its things alone; a vessel that is counted has the number in its name."""
    found = understand(text, corpus.set_up("gummed").book, datetime.fromisoformat("2026-09-14T17:00"))
    assert found.sure, (found.question, found.guesses)
    assert [{k: v for k, v in e.items() if k != "at"} for e in found.entries] == [entry]


def test_a_figure_behind_a_vessel_is_not_its_name() -> None:
    """An amount with its unit stays one, and an addition to what is not there is asked about."""
    book, now = corpus.set_up("gummed").book, datetime.fromisoformat("2026-09-14T17:00")
    (entry,) = understand("into the jar 3 g of gum", book, now).entries
    assert (entry["into"], entry["amount"]) == ("ink-jar", "3 g")
    assert not understand("3 g of gum into cup 3", book, now).entries
