"""A course that cannot be taken back is tried on a cup first: one tap records the cup, one undoes it, another day too."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

import inkhorn
from inkhorn.counsel import sentences
from inkhorn.daybook.book import effective
from inkhorn.errors import EntryError
from inkhorn.web import again, cups, following
from inkhorn.web.app import create_app
from inkhorn.web.room import question_of
from support.fake_workshop import FakeWorkshop
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


def test_counsel_stays_with_the_pot_while_a_cup_of_it_is_tried(saltmere: Path) -> None:
    """What is drawn to try on is no new pot: it is marked with next, and what was asked is still asked of the pot."""
    with visited(saltmere) as client:
        page = client.post("/did", data=sent(CUP)).text
        now = client.app.state.room.now()  # type: ignore[attr-defined]
        assert now.bench.cups == {"pot-2": "pot"}
        assert now.bench.vessel == "pot-2"
        assert question_of(now.bench, {}).vessel == "pot"
        assert question_of(now.bench, {"vessel": "pot-2"}).vessel == "pot-2"
        assert cups.untried("pot", now.bench) == ("pot-2",)
        receipt = page[page.index('class="receipt"') :]
        assert "do the same with the whole of the pot" in receipt
        assert 'href="/?do=mark&amp;vessel=pot-2#do"' in receipt
        form = client.get("/?do=mark&vessel=pot-2").text
        assert re.search(r'name="vessel" value="pot-2" checked', form)


def test_a_mark_said_again_is_made_with_the_cup_in_hand(saltmere: Path) -> None:
    """After a cup was drawn the tile marks with the cup; after work on the pot, with the pot; another vessel's mark stays its own."""
    mark = {"kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "line"}
    with inkhorn.Workshop.open(saltmere) as opened:
        opened.record({"at": "2026-11-09T12:00", **mark})
    with visited(saltmere) as client:
        client.post("/did", data=sent(CUP))
        bench = client.app.state.room.now().bench  # type: ignore[attr-defined]
        assert again.repeated(mark, bench)["vessel"] == "pot-2"
        assert again.repeated(mark | {"vessel": "jug"}, bench)["vessel"] == "jug"
        client.post("/say", data={"text": "marked with pot-2 on goat-1, a line"})
        bench = client.app.state.room.now().bench  # type: ignore[attr-defined]
        assert cups.untried("pot", bench) == ()
        client.post("/say", data={"text": "added 5 g of vitriol to the pot"})
        bench = client.app.state.room.now().bench  # type: ignore[attr-defined]
        assert again.repeated(mark | {"vessel": "pot-2"}, bench)["vessel"] == "pot"


def test_what_is_poured_for_good_is_a_vessel_of_its_own(saltmere: Path) -> None:
    """A horn filled to write with, a second pot told by itself, and the cup of a pot that was poured out are no cups."""
    with visited(saltmere) as client:
        client.post("/say", data={"text": "poured 100 ml of the pot into the horn", "at": "2026-11-09T12:00"})
        client.post("/say", data={"text": "poured 100 ml of the pot into pot-3", "at": "2026-11-09T13:00"})
        assert client.app.state.room.now().bench.cups == {}  # type: ignore[attr-defined]
        client.post("/did", data=sent(CUP))
        client.post("/did", data={"action": [json.dumps({"kind": "pour", "from": "pot", "into": "tub", "amount": "all"})], "at": "2026-11-09T21:00"})  # fmt: skip
        assert client.app.state.room.now().bench.cups == {}  # type: ignore[attr-defined]


def test_three_cups_are_drawn_with_one_tap(saltmere: Path) -> None:
    """A series has its tap until its cups stand on the bench; each then wants its line, and one tap takes all back."""
    names = [f"pot-cup-{n}" for n in (1, 2, 3)]
    series = {
        "cups": [
            [
                {"kind": "pour", "from": "pot", "into": name, "amount": "60 ml"},
                *([{"kind": "add", "into": name, "lot": "vitriol", "amount": f"{n} g"}] if n else []),
            ]
            for n, name in enumerate(names)
        ]
    }
    with visited(saltmere) as client:
        now = client.app.state.room.now()  # type: ignore[attr-defined]
        steps = following.split(series, now.bench)
        assert len(steps) == 5
        page = client.post("/did", data={"action": list(steps), "at": NOW, "key": "s1"}).text
        now = client.app.state.room.now()  # type: ignore[attr-defined]
        assert cups.untried("pot", now.bench) == tuple(names)
        assert page.count("Make a mark with pot cup") == 3
        assert "Undo all 5 steps" in page
        assert following.split(series, now.bench) == ()
    assert following.split(None, now.bench) == ()


def test_a_course_that_comes_no_nearer_says_what_it_is_for() -> None:
    """How the ink runs or lasts, or what the next line tells; a course that comes nearer needs no more."""
    now = {"distance": {"median": 3.0}, "flow_ok": 0.3, "permanence_ok": 0.8}
    nearer = {"distance": {"median": 2.0}, "flow_ok": 0.9, "permanence_ok": 0.8}
    assert following.purpose(nearer, now) == ""
    flows = nearer | {"distance": {"median": 4.0}}
    assert following.purpose(flows, now) == (
        "It is for something else (that it runs well from the pen: 3 in 10 now, 9 in 10 then)."
    )
    assert following.purpose(flows | {"flow_ok": 0.4}, now).startswith("By itself it is not expected")


def test_the_large_type_holds_the_course_and_not_its_cup() -> None:
    """How it is tried on a cup stands smaller beneath; a course without one is told whole."""
    told = sentences.cup_first("draw 100 ml from the pot into a jar that shuts (pot 2)", ["stir in 1 g"])
    course = {"cup": CUP, "sentence": f"Stir in 6 g of the vitriol. {told}"}
    large, small = following.headline(course)
    assert large == "Stir in 6 g of the vitriol."
    assert small == told
    assert following.headline(course | {"cup": []}) == (course["sentence"], "")
    assert following.headline({"cup": CUP, "sentence": "Stir in 6 g."}) == ("Stir in 6 g.", "")


def test_a_cup_that_waits_comes_first(bench: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While a cup waits for its line the large type asks for that line, not for another cup; afterwards the course stands there."""
    monkeypatch.setattr(FakeWorkshop, "on_a_cup", True)
    app = create_app(bench, opener=lambda: FakeWorkshop.open(bench))  # type: ignore[arg-type,return-value]
    with TestClient(app, base_url="http://127.0.0.1:8377") as client:
        client.get("/api/counsel")
        actions = re.findall(r'name="action" value="([^"]+)"', client.get("/").text)
        client.post("/did", data={"action": [unescape(one) for one in actions[:3]], "at": NOW})
        client.get("/api/counsel")
        page = client.get("/").text
        lead = page[page.index('id="counsel">') : page.index("</section>", page.index('id="counsel">'))]
        assert lead.startswith('id="counsel">Write a line with small pot 2, and let it dry.')
        assert "Better first on a cup" not in lead
        assert "I tried it on a cup" not in lead
        assert 'href="/?do=mark&amp;vessel=small-pot-2#do">Make a mark with small pot 2' in lead
        assert "I did it with the whole pot" in lead
        client.post("/record", data={"do": "mark", "vessel": "small-pot-2", "support": "goat-1", "method": "line", "trial": "t2", "at": "2026-11-09T21:00"})  # fmt: skip
        client.get("/api/counsel")
        page = client.get("/").text
        assert 'id="counsel">Stir in 6 g of vitriol.' in page
        assert "I tried it on a cup" in page


def test_what_is_poured_into_a_saucer_is_no_pot_of_it(saltmere: Path) -> None:
    """A saucer of the pot with a little of a stronger liquor in it is still the pot's."""
    with inkhorn.Workshop.open(saltmere) as opened:
        opened.record({"at": "2026-11-08T11:00", "kind": "bring", "vessel": "stock", "material": "oak galls", "amount": "1 L"})  # fmt: skip
    drop = [{"kind": "pour", "from": source, "into": "saucer-1", "amount": amount} for source, amount in (("pot", "10 ml"), ("stock", "2 ml"))]  # fmt: skip
    with visited(saltmere) as client:
        client.post("/did", data=sent(drop))
        assert client.app.state.room.now().bench.cups == {"saucer-1": "pot"}  # type: ignore[attr-defined]


def test_a_saucer_is_asked_and_not_written_with(saltmere: Path) -> None:
    """After a saucer comes its line beside the last one; it is no cup that the pot would follow, and the counsel stays with the pot."""
    drop = [{"kind": "pour", "from": "pot", "into": "saucer-1", "amount": "10 ml"}, {"kind": "add", "into": "saucer-1", "lot": "vitriol", "amount": "0.2 g"}]  # fmt: skip
    with visited(saltmere) as client:
        page = client.post("/did", data=sent(drop)).text
        receipt = page[page.index('class="receipt"') :]
        assert "beside your last one" in receipt
        assert 'href="/?do=mark&amp;vessel=saucer-1#do"' in receipt
        bench = client.app.state.room.now().bench  # type: ignore[attr-defined]
        assert question_of(bench, {}).vessel == "pot"
        assert cups.untried("pot", bench) == ()
