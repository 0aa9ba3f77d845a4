"""A course that cannot be taken back is tried on a cup first: one tap records the cup, one undoes it, another day too."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

import inkhorn
from inkhorn.daybook.book import effective
from inkhorn.errors import EntryError
from inkhorn.web import following
from support.real_bench import book, visited

NOW = "2026-11-09T20:00"
WHOLE = [{"kind": "add", "into": "pot", "lot": "vitriol", "amount": "6 g"}]
CUP = [
    {"kind": "pour", "from": "pot", "into": "pot-2", "amount": "100 ml"},
    {"kind": "store", "vessel": "pot-2", "how": "stoppered jar"},
    {"kind": "add", "into": "pot-2", "lot": "vitriol", "amount": "1 g"},
]


@pytest.fixture
def saltmere(saltmere: Path) -> Path:
    """Return the folder of a real workshop with a pot of liquor and some vitriol."""
    with inkhorn.Workshop.open(saltmere) as opened:
        opened.record({"at": "2026-11-08T09:00", "kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "100 g"})  # fmt: skip
        opened.record({"at": "2026-11-08T10:00", "kind": "bring", "vessel": "pot", "material": "sumac leaf", "amount": "1 L"})  # fmt: skip
    return saltmere


def sent(actions: list[dict[str, str]]) -> dict[str, object]:
    """Return what the tap sends."""
    return {"action": [json.dumps(action) for action in actions], "at": NOW, "key": "k1"}


def test_what_a_tap_holds() -> None:
    """The course of the pot, and beside it that of the cup; none where all of it can be taken back."""
    told = following.did({"actions": WHOLE, "cup": CUP})
    assert [json.loads(text) for text in told.actions] == WHOLE
    assert [json.loads(text) for text in told.cup] == CUP
    assert following.did({"actions": WHOLE, "cup": []}).cup == ()


def test_the_tap_for_a_cup_leaves_the_pot(saltmere: Path) -> None:
    """The cup is drawn, shut and stirred into, in that order; nothing goes into the pot."""
    with visited(saltmere) as client:
        page = client.post("/did", data=sent(CUP)).text
    lines = book(saltmere)[2:]
    assert [{k: v for k, v in line.items() if k != "at"} for line in lines] == CUP
    assert not any(line.get("into") == "pot" for line in lines)
    assert "Undo all 3 steps" in page
    with inkhorn.Workshop.open(saltmere) as opened:
        assert "pot-2" in opened.inventory().vessels


def test_a_cup_is_taken_back_whole_by_a_bench_that_was_started_anew(saltmere: Path) -> None:
    """What was told in one go is known from the daybook's own keys: the way back outlives the server."""
    with visited(saltmere) as client:
        client.post("/did", data=sent(CUP))
    with visited(saltmere) as client:
        page = client.get("/").text
        form = re.search(r'<form method="post" action="/undo#daybook">.*?Undo all 3 steps', page, re.DOTALL)
        assert form
        numbers = re.findall(r'name="number" value="(\d+)"', form[0])
        assert numbers == ["3", "4", "5"]
        before = book(saltmere)
        client.post("/undo", data={"number": numbers, "key": "k2"})
    assert book(saltmere)[: len(before)] == before  # nothing recorded is lost
    with inkhorn.Workshop.open(saltmere) as opened:
        assert [line.number for line in effective(opened.daybook)] == [1, 2]


def test_what_was_told_in_one_sentence_goes_together_another_day(saltmere: Path) -> None:
    """The same of two steps in one sentence, even where the form had no key."""
    with visited(saltmere) as client:
        client.post("/say", data={"text": "added 5 g of vitriol to the pot and skimmed it"})
    assert len(book(saltmere)) == 4
    with visited(saltmere) as client:
        assert "Undo both steps" in client.get("/").text


def test_two_things_told_one_after_the_other_are_no_course(saltmere: Path) -> None:
    """What was sent by itself is taken back by itself."""
    with visited(saltmere) as client:
        for text in ("added 5 g of vitriol to the pot", "skimmed the pot"):
            client.post("/say", data={"text": text})
        assert "Undo both" not in client.get("/").text


def test_more_steps_than_a_course_has_are_refused(saltmere: Path) -> None:
    """None is dropped in silence."""
    with pytest.raises(EntryError, match="so many"):
        following.dated([json.dumps(WHOLE[0])] * (following.MOST + 1), NOW)
    with visited(saltmere) as client:
        assert client.post("/did", data=sent(WHOLE * (following.MOST + 1))).status_code == 422
    assert len(book(saltmere)) == 2
