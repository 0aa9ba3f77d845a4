"""What the forms ask: in a maker's words, with examples that the daybook takes, and the likeliest answer at hand."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

import inkhorn
from inkhorn.daybook.schema import COMMON, KINDS
from inkhorn.daybook.wire import decode
from inkhorn.daybook.words import scale
from inkhorn.web import asked, forms, soaking
from inkhorn.web.fields import Bench
from support.real_bench import book

NOW = "2026-11-20T10:00"
_SCHEMA_WORDS = re.compile(r"\b(lot|handbook|support|exemplar|marc_of|liquid_amount|ISO)\b", re.IGNORECASE)


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"amend", "void"}))
def test_no_question_is_a_key_of_the_record(kind: str) -> None:
    """Each key of each kind has a question of its own, and neither it nor its example speaks as the record does."""
    for key in (*KINDS[kind].keys, *COMMON):
        if key.name == "picture":
            continue
        said = f"{asked.question(kind, key.name)} {asked.example(kind, key.name)}"
        assert f"{kind}.{key.name}" in asked._ASKED or key.name in asked._ASKED
        assert not _SCHEMA_WORDS.search(said), (kind, key.name, said)
    assert asked.question(kind, "new_key") == "New key"


@pytest.mark.parametrize(
    "entry",
    [
        {"kind": "bring", "vessel": "jar", "material": "oak galls", "amount": "a cup"},
        {"kind": "prepare", "lot": "leaf", "how": "crush", "to": "180 g"},
        {"kind": "vessel", "name": "tub", "capacity": "4 cups", "depth": "12 cm", "made_of": "stoneware"},
        {"kind": "support", "name": "goat-1", "material": "goat parchment", "preparation": "pounced"},
        {"kind": "pen", "name": "broad-reed", "cut": "goose quill", "width": "3 mm"},
        {"kind": "warm", "vessel": "pot", "to": "40 °C"},
        {"kind": "reduce", "vessel": "pot", "to": "a third"},
        {"kind": "crystallise", "vessel": "pan", "lot": "first-crop", "amount": "three spoonfuls"},
    ],
)
def test_the_examples_are_answers(entry: dict[str, str]) -> None:
    """What stands beneath a question as an example, or the first words of it, is taken by the daybook."""
    kind = entry["kind"]
    assert decode({"at": NOW, **entry})
    for key, value in entry.items():
        if key not in {"kind", "lot", "vessel", "name", "how"}:
            assert value.partition(" ")[0] in asked.example(kind, key), (key, asked.example(kind, key))


def test_what_has_few_answers_is_tapped() -> None:
    """How a thing is prepared and the side of a skin are chosen, not written."""
    bench = Bench()
    for kind, name, words in (("prepare", "how", "how_prepared"), ("support", "side", "side")):
        field = next(f for f in soaking.plain(kind, bench, NOW) if f.name == name)
        assert [c.value for c in field.choices] == list(scale(words).words)


def test_the_blue_jar_is_called_blue_jar(visitor: TestClient, saltmere: Path) -> None:
    """An article before a name in a form is not part of the name."""
    visitor.post("/record", data={"do": "bring", "vessel": "the blue jar", "material": "oak galls", "amount": "a cup", "at": NOW})  # fmt: skip
    visitor.post("/record", data={"do": "pour", "from": "blue-jar", "into_other": "an inkhorn", "amount": "half", "at": NOW})  # fmt: skip
    with inkhorn.Workshop.open(saltmere) as opened:
        assert set(opened.inventory().vessels) == {"blue-jar", "inkhorn"}


def test_straining_is_asked_of_what_soaks(visitor: TestClient) -> None:
    """The vessel in which something still soaks is chosen already; once it is strained, the one in hand."""
    soak = {"do": "steep", "lot_other": "sumac leaf", "amount": "240 g", "liquid": "rainwater", "liquid_amount": "2 L", "into_other": "tub", "for": "24 h"}  # fmt: skip
    visitor.post("/record", data=soak | {"at": "2026-11-18T10:00"})
    visitor.post("/record", data={"do": "bring", "vessel": "pot", "material": "oak galls", "amount": "1 L", "at": NOW})  # fmt: skip
    assert re.search(r'name="vessel" value="tub" checked', visitor.get("/?do=strain").text)
    visitor.post("/record", data={"do": "strain", "vessel": "tub", "into": "pot", "at": NOW})
    assert re.search(r'name="vessel" value="pot" checked', visitor.get("/?do=strain").text)


def test_a_way_of_marking_is_called_as_a_maker_calls_it(visitor: TestClient) -> None:
    """Nobody need know what a pangram is; what is sent is still the daybook's word."""
    page = visitor.get("/?do=mark").text
    assert re.search(r'value="pangram" +required><span>a sentence with every letter<', page)
    assert ">pangram<" not in page


def test_what_is_noticed_is_asked_of_a_thing_by_its_sort(visitor: TestClient) -> None:
    """Vessels, trials and materials stand apart, the newest trial first; a title keeps its pH."""
    visitor.post("/record", data={"do": "bring", "vessel": "pot", "material": "oak galls", "amount": "1 L", "at": NOW})  # fmt: skip
    for trial in ("t1", "t2"):
        visitor.post("/record", data={"do": "mark", "vessel": "pot", "support_other": "goat parchment", "method": "line", "trial": trial, "at": NOW})  # fmt: skip
    page = visitor.get("/?do=reading").text
    page = page[page.index("You notice something") :]
    places = [
        page.index(f">{part}<") for part in ("A vessel", "pot", "A trial", "t2", "t1", "A skin or paper")
    ]
    assert places == sorted(places)
    assert "The pot: a pH strip" in visitor.get("/?do=reading&of=vessel:pot&what=ph").text
    assert "What do you notice of trial t2?" in visitor.get("/?do=reading&of=trial:t2").text


def test_every_tile_has_a_form() -> None:
    """What has a tile has a title and fields."""
    for kind, _ in soaking.others():
        form = forms.form_of(kind)
        assert form is not None
        assert form.fields(Bench(), NOW)


def test_an_entry_is_mended_by_the_same_questions(visitor: TestClient, saltmere: Path) -> None:
    """The form that mends asks as the form that records; what is changed there stands."""
    visitor.post("/record", data={"do": "bring", "vessel": "pot", "material": "oak galls", "amount": "1 L", "at": NOW})  # fmt: skip
    page = visitor.get("/entry/1").text
    assert "How much there is" in page
    assert "what the liquor was made of" not in page
    visitor.post("/entry/1/mend", data={"key-amount": "2 L", "key-vessel": "pot"})
    assert book(saltmere)[-1]["replacement"]["amount"] == "2 L"


def test_what_is_missing_can_be_tapped(visitor: TestClient) -> None:
    """A question about a material or a vessel offers the names on the bench; a key of the record explains nothing."""
    for lot in ("sumac leaf", "alder cones"):
        visitor.post("/record", data={"do": "gather", "material": lot, "amount": "500 g", "at": NOW})
    page = visitor.post(
        "/say", data={"text": "put 240 g of it to soak in 2.5 litres of rainwater in the tub"}
    ).text
    heard = page[page.index('class="heard"') : page.index("</form>", page.index('class="heard"'))]
    assert re.findall(r'name="answer" value="([^"]+)"', heard) == ["alder-cones", "sumac-leaf"]
    assert "the lot that is steeped" not in heard
    bench = Bench(vessels=("tub", "pot"))
    assert asked.offered({"field": "into", "choices": ()}, bench) == ("pot", "tub")
    assert asked.offered({"field": "into", "choices": ("jar",)}, bench) == ("jar",)
    assert asked.offered({"field": "amount", "choices": ()}, bench) == ()
    assert asked.explained({"field": "lot", "mend": "Name the lot", "partial": {}}) == "Name the lot"


def test_what_was_understood_is_put_into_a_form(visitor: TestClient) -> None:
    """A sentence that wants an answer leads to the form of its kind, filled in as far as it was understood."""
    page = visitor.post(
        "/say", data={"text": "put 240 g of sumac leaf to soak in 2.5 litres of rainwater in the tub"}
    ).text
    way = re.search(r'href="([^"]+)">Fill in its form instead', page)
    assert way, page[page.index('class="heard"') :][:900]
    form = visitor.get(way[1].replace("&amp;", "&").partition("#")[0]).text
    assert "You put something to soak" in form
    for value in ("sumac-leaf", "240 g", "tub"):
        assert f'value="{value}"' in form
    assert forms.by_form({"entries": [], "question": None}) == ""
    reading = {"kind": "reading", "of": "vessel:pot", "what": "ph", "value": "3.5"}
    assert "what=ph&value=3.5" in forms.by_form({"entries": [{"entry": reading}], "question": None})
    assert "covered=yes" in forms.by_form(
        {"entries": [{"entry": {"kind": "rest", "vessel": "p", "for": "1 h", "covered": True}}]}
    )


def test_a_complaint_speaks_of_days_and_leads_to_its_entry() -> None:
    """Moments are written as a maker writes them, an entry is a way, and nothing else becomes markup."""
    said = asked.helped("tub is busy until 2026-11-28T06:04; amend entry 3 <b>")
    assert said == 'tub is busy until 28 November 2026, 06:04; amend <a href="/entry/3">entry 3</a> &lt;b&gt;'


def test_a_receipt_leads_to_the_form_that_mends_it(visitor: TestClient) -> None:
    """Beside the undo of what was just kept stands the way to its form."""
    page = visitor.post("/say", data={"text": "gathered 900 g of sumac leaf"}).text
    receipt = page[page.index('class="receipt"') : page.index("</form>", page.index('class="receipt"'))]
    assert 'href="/entry/1">Mend it' in receipt


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"do": "reduce", "vessel": "pot"}, "nothing says how far it was boiled down"),
        ({"do": "reduce", "vessel": "pot", "for": "25 min"}, "nothing says how hot it was"),
        ({"do": "add", "into": "pot", "stuff": "liquid:rainwater"}, "nothing is chosen or written here yet"),
        ({"do": "reading", "of": "vessel:pot", "what": "ph"}, "nothing is chosen or written here yet"),
    ],
)
def test_what_a_form_lacks_is_said_in_its_own_words(
    visitor: TestClient, saltmere: Path, data: dict[str, str], said: str
) -> None:
    """Beside the question that has no answer stands what is wanted, and no key of the record."""
    visitor.post("/record", data={"do": "bring", "vessel": "pot", "material": "oak galls", "amount": "1 L", "at": NOW})  # fmt: skip
    answer = visitor.post("/record", data=data | {"at": NOW})
    assert answer.status_code == 422
    box = answer.text[answer.text.index('id="wrong"') :]
    assert said in box[: box.index("</div>")]
    assert " needs " not in box
    assert len(book(saltmere)) == 1
