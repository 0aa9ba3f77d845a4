"""Counsel followed from the page with one tap, the way to its check, and what comes next after each thing kept."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

import inkhorn
from inkhorn.daybook import readings
from inkhorn.daybook.book import effective
from inkhorn.errors import EntryError
from inkhorn.web import following, forms, next_step
from inkhorn.web.fields import Bench
from inkhorn.web.first import Steps
from inkhorn.web.standing import Reader
from support.real_bench import book

NOW = "2026-11-09T20:00"
BOIL, GUM = ({"kind": "reduce", "vessel": "pot", "to": "820 ml"}, {"kind": "add", "into": "pot", "lot": "plum-gum", "amount": "5 g"})  # fmt: skip
SEEN = Steps(page=True, liquor=True, iron=True, mark=True, seen=True)


@pytest.fixture
def saltmere(saltmere: Path) -> Path:
    """Return the folder of a real workshop with a pot of liquor."""
    with inkhorn.Workshop.open(saltmere) as opened:
        opened.record({"at": "2026-11-08T10:00", "kind": "bring", "vessel": "pot", "material": "sumac leaf", "amount": "1 L"})  # fmt: skip
    return saltmere


def test_one_tap_records_a_course_as_it_was_advised(visitor: TestClient, saltmere: Path) -> None:
    """Both actions are kept in their order; the receipt names both."""
    sent = {"action": [json.dumps(BOIL), json.dumps(GUM)], "at": NOW, "key": "k1"}
    page = visitor.post("/did", data=sent).text
    assert "Boil pot down to 820 ml" in page
    assert "Add 5 g of plum gum" in page
    boil, gum = book(saltmere)[-2:]
    assert {k: v for k, v in boil.items() if k != "at"} == BOIL
    assert {k: v for k, v in gum.items() if k != "at"} == GUM
    assert str(boil["at"]) <= str(gum["at"]) == NOW
    visitor.post("/did", data=sent)
    assert len(book(saltmere)) == 3  # sent twice, kept once


def test_a_course_is_taken_back_whole(visitor: TestClient, saltmere: Path) -> None:
    """Right after it was followed one tap takes all of it back: each step struck out by its own entry, nothing deleted."""
    sent = {"action": [json.dumps(BOIL), json.dumps(GUM)], "at": NOW, "key": "k1"}
    page = visitor.post("/did", data=sent).text
    assert page.count("Undo both steps") == 2  # beside what was said, and in the daybook
    form = re.search(r'<form method="post" action="/undo#do">.*?Undo both', page, re.DOTALL)
    numbers = re.findall(r'name="number" value="(\d+)"', form[0])  # type: ignore[index]
    assert numbers == ["2", "3"]
    before = book(saltmere)
    back = visitor.post("/undo", data={"number": numbers, "key": "k2"}).text
    after = book(saltmere)
    assert after[: len(before)] == before
    assert [(line["kind"], line["entry"]) for line in after[len(before) :]] == [("void", 3), ("void", 2)]
    assert back.count("<del>") == 2
    with inkhorn.Workshop.open(saltmere) as opened:
        assert [line.number for line in effective(opened.daybook)] == [1]
    visitor.post("/undo", data={"number": numbers, "key": "k2"})
    assert len(book(saltmere)) == len(after)  # tapped twice, struck out once


def test_the_last_step_of_a_course_may_go_alone(visitor: TestClient, saltmere: Path) -> None:
    """The old way stays: the last step by itself; the course is no course any more after that."""
    page = visitor.post("/did", data={"action": [json.dumps(BOIL), json.dumps(GUM)], "at": NOW}).text
    assert "Undo the last alone" in page
    page = visitor.post("/undo", data={"number": "3", "key": "k3"}).text
    assert [line["kind"] for line in book(saltmere)][1:] == ["reduce", "add", "void"]
    assert "Undo both" not in page
    assert 'name="number" value="2"' in page


def test_a_course_of_one_step_has_one_undo(visitor: TestClient) -> None:
    """Where there was one step there is one way back, and what names no entry takes nothing back."""
    page = visitor.post("/did", data={"action": [json.dumps(GUM)], "at": NOW}).text
    assert "steps" not in "".join(re.findall(r'<button class="undo">.*?</button>', page))
    for wrong in ([], ["2", "no"], ["2", "2"], ["-2"]):
        assert visitor.post("/undo", data={"number": wrong}).status_code == 422


def test_what_is_no_entry_is_refused(visitor: TestClient, saltmere: Path) -> None:
    """A course that came back damaged, names a file of this machine, or holds nothing records nothing."""
    photo = {"kind": "reading", "of": "trial:t1", "what": "photo", "value": "/etc/hostname"}
    for actions in (["{"], ["[]"], [json.dumps(photo)], []):
        answer = visitor.post("/did", data={"action": actions, "at": NOW})
        assert answer.status_code == 422, actions
        assert "Nothing was recorded" in answer.text
    assert len(book(saltmere)) == 1


def test_half_of_a_course_says_what_is_kept(visitor: TestClient, saltmere: Path) -> None:
    """Where the second action is refused, the first stays and the page says so."""
    bad = {"kind": "pour", "from": "pan", "into": "pot", "amount": "all"}
    page = visitor.post("/did", data={"action": [json.dumps(GUM), json.dumps(bad)], "at": NOW})
    assert page.status_code == 422
    assert "1 of the steps is kept; this one is not." in page.text
    assert book(saltmere)[-1]["kind"] == "add"
    with pytest.raises(EntryError):
        following.dated([json.dumps([])], NOW)


@pytest.mark.parametrize(
    "reading", ["ph", "volume", "discharge", "specific_gravity", "dry_residue", "total_iron"]
)
def test_a_check_of_the_pot_leads_to_its_form(visitor: TestClient, reading: str) -> None:
    """The form asks for a reading that the daybook takes, and its example can be read."""
    way, address = following.check_address({"reading": reading}, "pot", Bench(vessels=("pot",)))
    assert way
    what = re.search(r"what=(\w+)", address)[1]  # type: ignore[index]
    assert what in readings.FORMS["vessel"]
    page = visitor.get(address.partition("#")[0]).text
    assert f'name="what" value="{what}"' in page
    assert "Keep it" in page


def test_a_check_of_a_mark_or_the_page_leads_there() -> None:
    """The strip beside the page, a new line, a thinned drop, the page once more; what has no form has no way."""
    bench = Bench(vessels=("pot",), trials=("t1", "t2"))
    assert "of=trial%3At2&what=depth" in following.check_address({"reading": "depth"}, "pot", bench)[1]
    assert "of=trial%3At2&what=hue" in following.check_address({"reading": "hue"}, "pot", bench)[1]
    assert "thinned=1+in+8" in following.check_address({"reading": "drop"}, "pot", bench)[1]
    assert "do=mark" in following.check_address({"reading": "photo"}, "pot", bench)[1]
    assert "do=exemplar" in following.check_address({"reading": "page"}, "pot", bench)[1]
    assert following.check_address({"reading": "tasting"}, "pot", bench) == ("", "")
    assert following.check_address({"reading": "depth"}, "pot", Bench(vessels=("pot",))) == ("", "")


def test_every_check_that_counsel_knows_has_a_way() -> None:
    """What counsel can advise first can be told on the page."""
    from inkhorn.counsel.checks import _ENDS

    bench = Bench(vessels=("pot",), trials=("t1",))
    assert all(following.check_address({"reading": reading}, "pot", bench)[1] for reading in _ENDS)
    known = {what for what, _, _ in forms.NOTICED["vessel"]}
    assert known >= following._OF_THE_POT


def test_the_large_type_holds_one_sentence() -> None:
    """A note's first sentence is large, a word of two stays with it, the rest stands beneath."""
    note = "Leave it: it matches (chance 87 %). Write. The page's own letters differ by about 6 steps."
    assert following.lead({"note": note}, SEEN) == (
        "Leave it: it matches (chance 87 %). Write.",
        "The page's own letters differ by about 6 steps.",
    )
    assert following.lead({"note": ""}, SEEN)[0]
    unseen = Steps(page=True, liquor=True, iron=True, mark=False, seen=False)
    assert following.lead({"note": note}, unseen)[0] == "Make a mark and photograph it."


STORY: tuple[tuple[dict[str, str], str, str], ...] = (
    ({"kind": "gather", "lot": "sumac-leaf", "material": "sumac leaf", "amount": "900 g"}, "soak", "do=steep"),
    ({"kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "250 g"}, "soaked first", "do=steep"),
    ({"kind": "steep", "lot": "sumac-leaf", "amount": "240 g", "liquid": "rainwater", "liquid_amount": "2.5 L", "into": "tub", "for": "24 h"}, "strain", "do=strain"),
    ({"kind": "strain", "vessel": "tub", "into": "pot"}, "iron", "do=add"),
    ({"kind": "reduce", "vessel": "pot", "to": "1.2 L"}, "iron", "do=add"),
    ({"kind": "add", "into": "pot", "lot": "vitriol", "amount": "9 g"}, "gum", "do=mark"),
    ({"kind": "add", "into": "pot", "lot": "plum-gum", "amount": "6 g"}, "mark", "do=mark"),
    ({"kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "line"}, "dry", "do=photo"),
    ({"kind": "reduce", "vessel": "pot", "to": "1 L"}, "again", "do=mark"),
)  # fmt: skip


def test_each_thing_kept_says_what_comes_next(tmp_path: Path) -> None:
    """From the first leaf to the first mark and round again, every step names the next one and leads to its form."""
    path = tmp_path / "saltmere"
    reader = Reader(lambda: inkhorn.Workshop.open(path))
    with inkhorn.Workshop.create(path) as opened:
        for n, (entry, word, address) in enumerate(STORY):
            number = opened.record({"at": f"2026-10-{1 + 2 * n:02d}T10:00", **entry})
            hint = next_step.after(int(number), reader.now())
            assert hint is not None, entry
            assert word in hint.text, (entry, hint)
            assert any(address in way for _, way in hint.ways), (entry, hint)
    assert next_step.after(99, reader.now()) is None
    reader.close()


def test_an_amount_keeps_its_point_where_it_was_done_otherwise(visitor: TestClient) -> None:
    """Beside each step of a course of two stands its amount as it was advised: 5.8 g is not 58 g."""
    course = {"actions": [GUM | {"amount": "5.8 g"}, BOIL], "cup": [], "sentence": "Stir in gum."}
    templates = visitor.app.state.templates  # type: ignore[attr-defined]
    parts = templates.get_template("parts.html").make_module(
        {"did": following.did, "headline": following.headline, "key": "k"}
    )
    shown = parts.followed(course)
    assert "Otherwise: add 5.8 g of plum gum into pot<" in shown
    assert "58 g" not in shown
