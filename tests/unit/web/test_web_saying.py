"""The box in which a maker says what they did, and the evening in which a day is told, on a real workshop."""

from __future__ import annotations

import re
from pathlib import Path

from starlette.testclient import TestClient

from support.real_bench import book


def test_a_sentence_becomes_an_entry(visitor: TestClient, saltmere: Path) -> None:
    """What is plain is recorded at once, read back, and once only."""
    data = {"text": "added 20 g of plum gum to the pot", "key": "a1"}
    places = [visitor.post("/say", data=data, follow_redirects=False) for _ in range(2)]
    assert [place.status_code for place in places] == [303, 303]
    (entry,) = book(saltmere)
    assert (entry["kind"], entry["lot"], entry["into"], entry["amount"]) == ("add", "plum-gum", "pot", "20 g")
    assert "Add 20 g of plum gum into pot" in visitor.get(places[0].headers["location"]).text


def test_what_is_in_doubt_is_asked_and_nothing_is_recorded(visitor: TestClient, saltmere: Path) -> None:
    """A sentence that leaves something open comes back with its question; the answer completes it, or it is a remark."""
    asked = visitor.post("/say", data={"text": "boiled it down"})
    assert asked.status_code == 422
    assert "Nothing was recorded yet" in asked.text
    assert 'name="answer"' in asked.text or 'name="yes"' in asked.text or 'class="heard"' in asked.text
    assert book(saltmere) == []
    visitor.post("/say", data={"text": "the gulls are loud today", "as_remark": "1"})
    assert [entry["kind"] for entry in book(saltmere)] == ["remark"]


def test_what_cannot_be_read_is_said_plainly(visitor: TestClient, saltmere: Path) -> None:
    """Nonsense, an empty box and a date that is none are no fault of ours."""
    for data in (
        {"text": "qqq zzz"},
        {"text": ""},
        {"text": "added 20 g of plum gum to the pot", "at": "soon"},
    ):
        answer = visitor.post("/say", data=data)
        assert answer.status_code == 422
    assert visitor.post("/api/say", json={"text": "x", "at": "soon"}).status_code == 422
    assert book(saltmere) == []


def test_a_day_is_told_in_one_go(visitor: TestClient, saltmere: Path) -> None:
    """Read back first, kept when asked, and what was not understood stays to be said otherwise."""
    text = "added 20 g of plum gum to the pot\nadded 2 L of rainwater to the pot\nqqq zzz"
    read = visitor.post("/evening", data={"day": "2026-09-14", "text": text})
    assert "Add 20 g of plum gum into pot" in read.text
    assert book(saltmere) == []
    key = re.search(r'name="key" value="([0-9a-z]+)"', read.text)
    assert key
    lines = {f"line-{n}": line for n, line in enumerate(text.splitlines(), 1)}
    keep = {"day": "2026-09-14", "keep": "1", "key": key[1], **lines}
    kept = visitor.post("/evening", data=keep)
    assert [entry["kind"] for entry in book(saltmere)] == ["add", "add"]
    assert all(str(entry["at"]).startswith("2026-09-14") for entry in book(saltmere))
    assert "2 entries are kept" in kept.text
    assert ">qqq zzz</textarea>" in kept.text
    visitor.post("/evening", data=keep)
    assert len(book(saltmere)) == 2


def test_the_evening_begins_empty_and_takes_nothing_for_nothing(visitor: TestClient, saltmere: Path) -> None:
    """The page opens with today; nothing told is said to be nothing."""
    assert visitor.get("/evening").status_code == 200
    assert "Nothing was told yet" in visitor.post("/evening", data={"day": "2026-09-14", "text": " \n "}).text
    assert (
        visitor.post("/evening", data={"day": "x", "text": "added 5 g of chalk to the pot"}).status_code
        == 200
    )
    assert book(saltmere) == []


def test_a_line_of_the_day_is_read_knowing_the_lines_before_it(visitor: TestClient, saltmere: Path) -> None:
    """The vessel that "it" is stands in the line before; what could not be is said at once; nothing is kept by reading."""
    text = (
        "at 9 soaked 200 g of oak galls in 2 L of rainwater in the tub for 6 h\n"
        "strained it into the pot at 5 pm\n"
        "poured 9 L of the pot into the jug at 6 pm"
    )
    read = visitor.post("/evening", data={"day": "2026-09-14", "text": text}).text
    assert "Strain tub into pot. 14 September 2026, 17:00" in read
    assert "Which vessel?" not in read
    assert read.count('class="wrongly"') == 1  # the third line: no pot holds nine litres of two
    assert book(saltmere) == []
    alone = visitor.post("/evening", data={"day": "2026-09-14", "text": "strained it into the pot"}).text
    assert "Which vessel?" in alone
