"""The places beside the bench: daybook, entry, trials, the page, materials, and the light they are read in."""

from __future__ import annotations

import io
import itertools
import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from PIL import Image
from starlette.testclient import TestClient

from inkhorn.imaging.card.layout import card as layout
from inkhorn.report.card import pdf
from inkhorn.web import again, timers
from inkhorn.web.app import create_app
from inkhorn.web.curve import curve
from support.fake_workshop import STORY, FakeWorkshop

HERE = "http://127.0.0.1:8377"
PLACES = ("/", "/daybook", "/entry/5", "/trials", "/trial/t1", "/page/saltmere", "/materials")


@pytest.fixture
def client(bench: Path) -> Iterator[TestClient]:
    """Return a browser's stand-in on that workshop."""
    app = create_app(bench, opener=lambda: FakeWorkshop.open(bench))  # type: ignore[arg-type,return-value]
    with TestClient(app, base_url=HERE) as client:
        yield client


def picture() -> bytes:
    """Return a small picture with an orientation of its own: 40 wide as stored, 40 high as it is to be seen."""
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 6
    Image.new("RGB", (40, 20), (226, 214, 190)).save(out, "JPEG", exif=exif)
    return out.getvalue()


def photograph(client: TestClient) -> str:
    """Record a photograph of the first trial; return its digest."""
    client.post("/photo", data={"trial": "t1"}, files={"picture": ("t1.jpg", picture())})
    found = re.search(r"/thumb/([0-9a-f]{64})", client.get("/daybook").text)
    assert found
    return found[1]


@pytest.mark.parametrize("place", PLACES)
def test_every_place_opens_and_says_where_it_is(client: TestClient, place: str) -> None:
    """Each has one heading, the way to all others, and tells which it is."""
    photograph(client)
    page = client.get(place)
    assert page.status_code == 200
    assert page.text.count("<h1") == 1
    assert page.text.count('aria-current="page"') == 1
    for other in ("/", "/daybook", "/trials", "/pages", "/materials"):
        assert f'href="{other}"' in page.text


@pytest.mark.parametrize("place", PLACES)
def test_every_place_opens_in_an_empty_workshop_or_says_no(tmp_path: Path, place: str) -> None:
    """With nothing recorded a place says what to do first, and what is not there is not found."""
    path = tmp_path / "empty"
    FakeWorkshop.create(path)
    app = create_app(path, opener=lambda: FakeWorkshop.open(path))  # type: ignore[arg-type,return-value]
    with TestClient(app, base_url=HERE) as client:
        assert client.get(place).status_code == (404 if place.count("/") > 1 else 200)
        assert client.get("/pages").status_code == 200
    FakeWorkshop.folders.clear()


def test_the_first_five_minutes_are_laid_out(tmp_path: Path) -> None:
    """An empty bench shows the way to the first counsel, step by step."""
    path = tmp_path / "empty"
    FakeWorkshop.create(path)
    app = create_app(path, opener=lambda: FakeWorkshop.open(path))  # type: ignore[arg-type,return-value]
    with TestClient(app, base_url=HERE) as client:
        page = client.get("/").text
        steps = re.search(r'<ol class="first".*?</ol>', page, re.DOTALL)
        assert steps
        for address in re.findall(r'href="([^"]+)"', steps[0]):
            assert "<form" in client.get(address).text
    FakeWorkshop.folders.clear()


def test_an_entry_is_mended_and_its_old_wording_stays(bench: Path, client: TestClient) -> None:
    """Mending writes an amendment; the daybook shows both wordings."""
    page = client.get("/entry/5").text
    assert 'name="key-amount" value="60 g"' in page
    client.post("/entry/5/mend", data={"key-amount": "42 g"})
    last = FakeWorkshop.open(bench).daybook[-1].to_dict()
    assert (last["kind"], last["entry"], last["replacement"]["amount"]) == ("amend", 5, "42 g")
    assert last["replacement"]["lot"] == "bought-green-vitriol"
    book = client.get("/daybook").text
    assert "Add 42 g of bought green vitriol into small pot" in book
    assert "Before it was mended:" in book


def test_mending_nothing_writes_nothing(bench: Path, client: TestClient) -> None:
    """A form sent back as it was leaves the book as it was; one that makes no sense is shown again."""
    before = len(FakeWorkshop.open(bench).daybook)
    client.post("/entry/5/mend", data={"key-amount": "60 g"})
    assert len(FakeWorkshop.open(bench).daybook) == before
    refused = client.post("/entry/5/mend", data={"key-amount": "many"})
    assert refused.status_code == 422
    assert "Nothing was changed" in refused.text
    assert 'value="many"' in refused.text
    assert len(FakeWorkshop.open(bench).daybook) == before


def test_the_story_of_one_thing(client: TestClient) -> None:
    """The daybook shows only what touched a thing, where that is asked."""
    story_of = client.get("/daybook?of=lot:plum-gum").text
    assert story_of.count('<li id="e') == 1
    assert client.get("/daybook?of=lot:nothing").status_code == 200


def test_a_step_is_said_again_with_one_tap(bench: Path, client: TestClient) -> None:
    """The last step is repeated as it was, dated now."""
    entry = {"at": "2026-09-14T09:00", "kind": "add", "into": "tub", "lot": "plum-gum", "amount": "a spoon"}
    for hour in (8, 9):
        FakeWorkshop.open(bench).record(entry | {"at": f"2026-09-14T0{hour}:00"})
    page = client.get("/").text
    assert "Same again" in page
    number = re.search(r'name="number" value="(\d+)"><span class="over">', page)
    assert number
    client.post("/again", data={"number": number[1]})
    last = FakeWorkshop.open(bench).daybook[-1].to_dict()
    assert {k: v for k, v in last.items() if k != "at"} == {k: v for k, v in entry.items() if k != "at"}
    assert last["at"] > "2026-09-14T09:00"
    assert client.post("/again", data={"number": "999"}).status_code == 422


def test_a_mark_said_again_takes_a_new_name(bench: Path) -> None:
    """A mark is repeated under the next free name, without the note of the old one."""
    raw = {"kind": "mark", "vessel": "tub", "trial": "t1", "support": "goat-1", "method": "dip", "note": "x"}
    shop = FakeWorkshop.open(bench)
    shop.record(raw | {"at": "2026-09-14T09:00", "trial": "t7"})
    from inkhorn.web.standing import bench_of

    assert again.repeated(raw, bench_of(shop.inventory(), shop.daybook, {})) == {
        **{k: v for k, v in raw.items() if k != "note"},
        "trial": "t8",
    }


def test_what_goes_on_is_timed(bench: Path) -> None:
    """A soak runs until its length is over, an hour's and a day's wait follow each mark, and each ends."""
    from inkhorn.daybook.book import effective

    shop = FakeWorkshop.open(bench)
    soaking = datetime(2026, 9, 12, 12, 15)  # noqa: DTZ001
    found = timers.timers(effective(shop.daybook)[:2], soaking)
    assert [(t.what, t.left(soaking)) for t in found] == [("Sumac leaf soaks in tub", "16 h")]
    marked = datetime(2026, 9, 13, 15, 40)  # noqa: DTZ001
    waits = timers.timers(effective(shop.daybook), marked)
    assert [(t.what, t.left(marked)) for t in waits] == [
        ("The hour's wait of t1", "30 min"),
        ("The day's wait of t1", "23 h 30 min"),
    ]
    assert timers.timers(effective(shop.daybook), marked + timedelta(days=9)) == ()


def test_a_strained_soak_is_timed_no_more(bench: Path) -> None:
    """What was done to the vessel since ends the timer."""
    from inkhorn.daybook.book import effective

    shop = FakeWorkshop.open(bench)
    after = datetime(2026, 9, 13, 5, 30)  # noqa: DTZ001
    assert timers.timers(effective(shop.daybook), after) == ()


def test_pictures_are_shown_small_and_upright(client: TestClient) -> None:
    """A kept picture is sent as a JPEG turned as it was taken, and under its name nothing else is."""
    digest = photograph(client)
    answer = client.get(f"/thumb/{digest}")
    assert answer.headers["content-type"] == "image/jpeg"
    assert Image.open(io.BytesIO(answer.content)).size == (20, 40)
    for wrong in ("0" * 64, "..%2f..%2fworkshop.sqlite", "x"):
        assert client.get(f"/thumb/{wrong}").status_code == 404


def test_the_light_is_remembered_and_leads_nowhere_else(client: TestClient) -> None:
    """The chosen light stands on the page; the way back is never another host."""
    chosen = client.post("/light", data={"light": "sun", "back": "/daybook"}, follow_redirects=False)
    assert chosen.headers["location"] == "/daybook"
    assert 'data-light="sun"' in client.get("/").text
    for back in ("//evil.example", "https://evil.example", "/\\evil.example"):
        away = client.post("/light", data={"light": "lamp", "back": back}, follow_redirects=False)
        assert away.headers["location"] == "/"
    client.post("/light", data={"light": '"><script>'})
    assert 'data-light="lamp"' in client.get("/").text


def test_a_curve_stays_in_its_frame(bench: Path) -> None:
    """Band and readings lie inside the figure, later to the right and darker higher."""
    found = curve(FakeWorkshop.open(bench).darkening("t1").to_dict())
    numbers = [float(n) for n in re.findall(r"-?\d+\.\d", found.band)]
    assert min(numbers) >= 0
    assert max(numbers[::2]) <= found.width
    assert max(numbers[1::2]) <= found.height
    middle = [float(n) for n in re.findall(r"-?\d+\.\d", found.middle)]
    assert middle[::2] == sorted(middle[::2])
    assert middle[1::2] == sorted(middle[1::2], reverse=True)


def test_a_curve_is_read_in_shares_of_light(bench: Path) -> None:
    """Each level gives back half as much light as the one beneath it, so all are as far apart; no words touch."""
    found = curve(FakeWorkshop.open(bench).darkening("t1").to_dict())
    heights = [y for y, _ in found.levels]
    assert [name for _, name in found.levels][:3] == ["all", "half", "a quarter"]
    assert heights[0] == pytest.approx(found.foot)
    steps = [low - high for low, high in itertools.pairwise(heights)]
    assert steps == pytest.approx([steps[0]] * len(steps))
    letter = (
        12.0  # of the 24 units of the figure's own type on a telephone: half its height, as sans figures are
    )
    ends = [x if x > found.end else x + letter * len(name) / 2 for x, name in found.ticks]
    for right, (_, name), before in zip(ends[1:], found.ticks[1:], ends, strict=False):
        assert right - letter * len(name) > before, found.ticks


def test_every_kind_has_a_form(client: TestClient) -> None:
    """Whatever the daybook can take can be said from the page, save what the page does by itself."""
    from inkhorn.daybook.schema import KINDS
    from inkhorn.web.forms import form_of

    own = {"reading", "amend", "void"}
    assert {kind for kind in KINDS if form_of(kind) is None} == own
    for kind in set(KINDS) - own:
        assert 'name="do" value="' + kind in client.get(f"/?do={kind}").text


def test_a_soak_is_recorded_from_its_form(bench: Path, client: TestClient) -> None:
    """A lot nobody declared, a vessel nobody named, a length tapped: one entry."""
    data = {"do": "steep", "lot_other": "alder cones", "amount": "two handfuls", "liquid": "rainwater",
            "liquid_amount": "six cups", "into_other": "crock", "for": "12 h", "at": "2026-09-14T09:00"}  # fmt: skip
    assert client.post("/record", data=data, follow_redirects=False).status_code == 303
    last = FakeWorkshop.open(bench).daybook[-1].to_dict()
    assert (last["kind"], last["lot"], last["into"], last["for"]) == ("steep", "alder cones", "crock", "12 h")
    gather = {"do": "gather", "material": "plum gum", "amount": "60 g", "at": "2026-09-14T09:30"}
    client.post("/record", data=gather)
    assert FakeWorkshop.open(bench).daybook[-1].to_dict()["lot"] == "plum gum"
    assert len(STORY) + 2 == len(FakeWorkshop.open(bench).daybook)


def test_a_form_sent_twice_is_kept_once(bench: Path, client: TestClient) -> None:
    """Each form has a key of its own; the same key again records nothing and answers with the first receipt."""
    keys = re.findall(r'name="key" value="([0-9a-z]+)"', client.get("/?do=remark").text)
    assert len(keys) == len(set(keys)) > 0
    data = {"do": "remark", "text": "first frost", "at": "2026-09-14T09:00", "key": keys[0]}
    places = [client.post("/record", data=data, follow_redirects=False).headers["location"] for _ in range(2)]
    assert places[0] == places[1]
    assert len(FakeWorkshop.open(bench).daybook) == len(STORY) + 1
    client.post("/record", data=data | {"key": "another"})
    assert len(FakeWorkshop.open(bench).daybook) == len(STORY) + 2


def test_a_program_sends_exactly_once_too(bench: Path, client: TestClient) -> None:
    """An Idempotency-Key makes the JSON twin safe to repeat; one that is no key is refused."""
    entry = {"kind": "remark", "text": "x", "at": "2026-09-14T09:00"}
    found = [
        client.post("/api/record", json=entry, headers={"idempotency-key": "k-1"}).json()["number"]
        for _ in range(3)
    ]
    assert len(set(found)) == 1
    assert client.post("/api/record", json=entry, headers={"idempotency-key": "a b"}).status_code == 422
    assert len(FakeWorkshop.open(bench).daybook) == len(STORY) + 1


def test_several_photographs_at_once(bench: Path, client: TestClient) -> None:
    """Each becomes a reading; where one is no picture those before it are kept, and that is said."""
    files = [("picture", (f"{n}.jpg", picture() + bytes([n]))) for n in range(3)]
    client.post("/photo", data={"trial": "t1", "key": "k1"}, files=files)
    assert len(FakeWorkshop.open(bench).daybook) == len(STORY) + 3
    client.post("/photo", data={"trial": "t1", "key": "k1"}, files=files)
    assert len(FakeWorkshop.open(bench).daybook) == len(STORY) + 3
    mixed = [files[0], ("picture", ("x.jpg", b"hello"))]
    answer = client.post("/photo", data={"trial": "t1", "key": "k2"}, files=mixed)
    assert answer.status_code == 422
    assert "1 of the pictures is kept" in answer.text


def test_the_script_gets_the_box_alone(client: TestClient) -> None:
    """Asked by the page's own script, a form answers with its box: the receipt, or the complaint."""
    asks = {"x-bench": "say"}
    good = client.post("/record", data={"do": "remark", "text": "x", "at": "2026-09-14T09:00"}, headers=asks)
    assert good.status_code == 201
    assert good.text.lstrip().startswith('<section id="do"')
    assert good.headers["x-number"] == str(len(STORY) + 1)
    wrong = client.post("/record", data={"do": "pour", "from": "tub"}, headers=asks)
    assert wrong.status_code == 422
    assert wrong.text.lstrip().startswith('<section id="do"')


def test_every_form_is_sent_ahead(client: TestClient) -> None:
    """The page can keep at hand each form that it links to."""
    ahead = client.get("/boxes").text
    queries = set(re.findall(r'<template data-query="([^"]*)"', ahead))
    for query in ("", "do=add", "do=steep", "do=photo", "do=reading", "do=warm", "do=more"):
        assert query in queries
    assert len(ahead) < 200_000


def test_what_is_not_there_is_named_with_what_is(bench: Path) -> None:
    """An address of a trial, a page or an entry that there is not says so, and what there is; a wild one only that."""
    with TestClient(create_app(bench, opener=lambda: FakeWorkshop.open(bench)), base_url=HERE) as client:  # type: ignore[arg-type,return-value]
        for path, said in (
            ("/trial/t9", "There is no trial called t9. On the bench: t1."),
            ("/page/leaf-9", "There is no page called leaf 9. On the bench: saltmere."),
            (
                "/entry/99",
                f'There is no entry with the number 99. The last is <a href="/entry/{len(STORY)}">entry {len(STORY)}</a>.',
            ),
            ("/nowhere", "There is no such page here."),
        ):
            answer = client.get(path)
            assert answer.status_code == 404
            assert said in answer.text


def test_the_card_can_be_printed_from_the_page(client: TestClient) -> None:
    """Who photographs a trial is shown the way to the card; it is a PDF, and the one that the command makes."""
    assert 'href="/card.pdf"' in client.get("/?do=photo").text
    answer = client.get("/card.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    assert len(answer.content) == len(pdf(layout("a6")))
