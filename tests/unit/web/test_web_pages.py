"""The bench page: what it shows, what its forms record, and whom it refuses."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from inkhorn.errors import EstimateError
from inkhorn.web.app import create_app
from support.fake_workshop import STORY, FakeWorkshop

HERE = "http://127.0.0.1:8377"
PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 64


def _client(path: Path, **more: object) -> TestClient:
    app = create_app(path, opener=lambda: FakeWorkshop.open(path), **more)  # type: ignore[arg-type]
    return TestClient(app, base_url=HERE)


@pytest.fixture
def client(bench: Path) -> Iterator[TestClient]:
    """Return a browser's stand-in on the page of that workshop, with every answer worked out."""
    with _client(bench) as client:
        settle(client)
        yield client


def settle(client: TestClient) -> None:
    """Ask for the page until nothing more is being worked out."""
    for _ in range(100):
        client.get("/")
        if not client.get("/api/status").json()["working"]:
            return
        time.sleep(0.05)
    pytest.fail("the desk never came to rest")


def text_of(html: str) -> str:
    """Return what a page says, without its marks."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_a_saucer_can_be_written_down(client: TestClient) -> None:
    """One tap tells the saucer as advised, pour and addition; the way for another amount leads to a pour that is filled in."""
    page = client.get("/").text
    fold = page[page.index("Is the iron held?") :]
    fold = fold[: fold.index("</details>")]
    assert [
        json.loads(unescape(one))["kind"] for one in re.findall(r'name="action" value="([^"]+)"', fold)
    ] == ["pour", "add"]
    assert "I tried it in a saucer" in fold
    way = re.search(r'href="([^"]+)">I did it otherwise', fold)
    assert way is not None
    form = client.get(way[1].replace("&amp;", "&").split("#")[0]).text
    assert 'value="saucer-1"' in form
    assert 'value="10 ml"' in form


def test_counsel_comes_first_then_line_shelf_and_box(client: TestClient) -> None:
    """The order of the first screen: counsel, the check, the line and the page, the shelf, the box, the book."""
    page = client.get("/").text
    said = [
        "Boil off a fifth, about 25 minutes at a low simmer. No more iron.",
        "Before that: first time a dropper",
        "Boil in open air",
        "Is the iron held?",
        "Stir 0.2 g of the vitriol",
        "The line and the page",
        "The shelf",
        "Say what you did</h2>",
        "Lately</h2>",
    ]
    places = [page.index(part) for part in said]
    assert places == sorted(places)
    assert page.count("<h1") == 1


def test_the_shared_out_difference_is_written_on_its_bar(client: TestClient) -> None:
    """Every cause that can be seen has its word, and its share for who cannot see; what hides some has none."""
    bar = re.search(r'<svg class="bar".*?</svg>', client.get("/").text, re.DOTALL)
    assert bar
    assert re.findall(r"<text[^>]*>([^<]*)<", bar[0]) == ["wear", "skin", "pen and hand", "ink"]
    assert "wear 20 percent, skin 4 percent, pen and hand 8 percent, ink 69 percent" in bar[0]


def test_the_shelf_gives_plain_ranges(client: TestClient) -> None:
    """A vessel shows about how much is in it and between what that surely lies."""
    words = text_of(client.get("/").text)
    assert "about 650 ml" in words
    assert "surely between 480 and 800" in words


def test_the_page_comes_at_once_while_the_estimate_takes_its_time(bench: Path) -> None:
    """With nothing worked out yet the page answers in well under two seconds, and says so."""
    FakeWorkshop.gate.clear()
    with _client(bench) as client:
        began = time.monotonic()
        page = client.get("/")
        took = time.monotonic() - began
        assert page.status_code == 200
        assert took < 2
        assert "Weighing what can be done" in page.text
        assert client.get("/api/status").json()["working"] is True
        FakeWorkshop.gate.set()
        settle(client)
        assert "Boil off a fifth" in client.get("/").text


def test_the_last_answer_stays_while_a_newer_is_worked_out(client: TestClient) -> None:
    """After a new entry the former counsel is shown, and said to be from before that entry."""
    FakeWorkshop.gate.clear()
    client.post("/record", data={"do": "remark", "text": "first frost", "at": "2026-09-14T09:00"})
    page = client.get("/").text
    assert "Boil off a fifth" in page
    assert f"This was said before entry {len(STORY) + 1}" in page
    assert "data-working" in page


def test_a_fault_in_the_estimate_is_said_on_the_page(bench: Path) -> None:
    """An estimate that cannot be made says why; the page still takes entries."""
    FakeWorkshop.fault = EstimateError("the sampler gave up", mend="Record a volume")
    with _client(bench) as client:
        settle(client)
        page = client.get("/")
        assert page.status_code == 200
        assert "the sampler gave up" in page.text
        assert "Say what you did" in page.text


def test_a_fault_of_our_own_is_no_traceback(bench: Path) -> None:
    """Anything unforeseen in the desk's thread becomes a sentence, not a broken page."""
    FakeWorkshop.fault = ZeroDivisionError("secret detail")
    with _client(bench) as client:
        settle(client)
        page = client.get("/")
        assert page.status_code == 200
        assert "secret detail" not in page.text
        assert "inkhorn&#39;s own" in page.text


@pytest.mark.parametrize(
    ("data", "entry"),
    [
        (
            {"do": "add", "into": "tub", "stuff": "lot:plum-gum", "amount": "20 g"},
            {"kind": "add", "into": "tub", "lot": "plum-gum", "amount": "20 g"},
        ),
        (
            {"do": "add", "into": "tub", "stuff": "liquid:water", "amount": "up to 500 ml"},
            {"kind": "add", "into": "tub", "liquid": "water", "up_to": "500 ml"},
        ),
        (
            {"do": "add", "into": "", "into_other": "cup", "stuff_other": "plum gum", "amount": "20 g"},
            {"kind": "add", "into": "cup", "lot": "plum gum", "amount": "20 g"},
        ),
        (
            {"do": "reduce", "vessel": "tub", "to": "about 700 ml"},
            {"kind": "reduce", "vessel": "tub", "to": "about 700 ml"},
        ),
        (
            {"do": "reduce", "vessel": "tub", "for": "25 min", "heat": "simmer"},
            {"kind": "reduce", "vessel": "tub", "for": "25 min", "heat": "simmer"},
        ),
        (
            {"do": "pour", "from": "tub", "into": "horn", "amount": "half"},
            {"kind": "pour", "from": "tub", "into": "horn", "amount": "half"},
        ),
        (
            {
                "do": "mark",
                "vessel": "tub",
                "support": "goat-1",
                "method": "pen",
                "pen": "reed-3mm",
                "trial": "t2",
                "thinned": "1 in 8",
            },
            {
                "kind": "mark",
                "vessel": "tub",
                "support": "goat-1",
                "method": "pen",
                "pen": "reed-3mm",
                "trial": "t2",
                "thinned": "1 in 8",
            },
        ),
        (
            {"do": "reading", "of": "vessel:tub", "what": "body", "value": "flows well"},
            {"kind": "reading", "of": "vessel:tub", "what": "body", "value": "flows well"},
        ),
        ({"do": "remark", "text": "first frost"}, {"kind": "remark", "text": "first frost"}),
    ],
)
def test_each_form_records_its_entry(
    bench: Path, client: TestClient, data: dict[str, str], entry: dict[str, str]
) -> None:
    """What is sent becomes exactly one entry, read back on the page that follows."""
    answer = client.post("/record", data={"at": "2026-09-14T09:00", **data}, follow_redirects=False)
    assert answer.status_code == 303, text_of(answer.text)
    last = FakeWorkshop.open(bench).daybook[-1]
    assert last.to_dict() == {"at": "2026-09-14T09:00", **entry}
    page = client.get(answer.headers["location"]).text
    assert f"Kept as entry {last.number}" in page
    assert f"You say: {entry['kind']}." in page


def test_a_wrong_amount_is_shown_beside_its_field(bench: Path, client: TestClient) -> None:
    """The form comes back as it was filled in, with the complaint at the amount; nothing is recorded."""
    data = {"do": "pour", "from": "tub", "into": "horn", "amount_other": "a lot", "at": "2026-09-14T09:00"}
    before = len(FakeWorkshop.open(bench).daybook)
    answer = client.post("/record", data=data)
    assert answer.status_code == 422
    assert len(FakeWorkshop.open(bench).daybook) == before
    assert 'id="w-amount"' in answer.text
    assert 'value="a lot"' in answer.text
    assert re.search(r'name="from" value="tub"\s+checked', answer.text)


def test_everything_missing_is_named_at_once(client: TestClient) -> None:
    """An empty form names each field it needs, not only the first."""
    answer = client.post("/record", data={"do": "mark", "at": "2026-09-14T09:00"})
    assert answer.status_code == 422
    for field in ("vessel", "support", "method"):
        assert f'id="w-{field}"' in answer.text


def test_the_last_entry_can_be_taken_back(bench: Path, client: TestClient) -> None:
    """Undo stands beside the last standing entry alone, and strikes it out."""
    page = client.get("/").text
    assert page.count('class="undo"') == 1
    answer = client.post("/undo", data={"number": str(len(STORY))}, follow_redirects=False)
    assert answer.status_code == 303
    assert FakeWorkshop.open(bench).daybook[-1].to_dict()["entry"] == len(STORY)
    after = client.get("/").text
    assert "Taken back:" in after
    assert f'name="number" value="{len(STORY) - 1}"' in after


def test_a_photograph_becomes_a_reading_of_its_trial(bench: Path, client: TestClient) -> None:
    """The uploaded picture is handed on as a photo reading of the chosen trial."""
    answer = client.post(
        "/photo", data={"trial": "t1"}, files={"picture": ("t1.png", PNG)}, follow_redirects=False
    )
    assert answer.status_code == 303
    last = FakeWorkshop.open(bench).daybook[-1].to_dict()
    assert (last["of"], last["what"]) == ("trial:t1", "photo")
    assert str(last["value"]).startswith("sha256:")
    page = client.get(answer.headers["location"]).text
    assert "Channel density R 0.82 ± 0.03" in text_of(page)
    shown = re.search(r'class="overlay" src="([^"]+)"', page)
    assert shown
    assert client.get(shown[1]).headers["content-type"] == "image/png"


@pytest.mark.parametrize(("path", "data"), [("/photo", {"trial": "t1"}), ("/exemplar", {"name": "leaf-2"})])
def test_no_picture_is_said_in_place(client: TestClient, path: str, data: dict[str, str]) -> None:
    """An upload without a picture brings the form back with one sentence."""
    answer = client.post(path, data=data, files={"picture": ("", b"")})
    assert answer.status_code == 422
    assert "There is no picture" in answer.text


def test_the_page_to_be_matched_is_taken_from_pictures(bench: Path, client: TestClient) -> None:
    """Several pictures become the facts of one exemplar; one that is no picture is refused."""
    files = [("picture", ("a.png", PNG)), ("picture", ("b.png", PNG))]
    assert (
        client.post("/exemplar", data={"name": "leaf-2"}, files=files, follow_redirects=False).status_code
        == 303
    )
    assert "leaf-2" in FakeWorkshop.open(bench).inventory().exemplars
    wrong = client.post("/exemplar", data={"name": "leaf-3"}, files={"picture": ("a.png", b"hello")})
    assert wrong.status_code == 422
    assert "This is no picture" in wrong.text


def test_several_photographs_are_named_and_taken_back_together(bench: Path, client: TestClient) -> None:
    """The receipt names each; one tap takes all back, another the last alone."""
    files = [("picture", (f"{n}.png", PNG + bytes([n]))) for n in range(3)]
    page = client.post("/photo", data={"trial": "t1", "key": "p1"}, files=files).text
    receipt = page[page.index('class="receipt"') : page.index("</form>", page.index('class="receipt"'))]
    first = len(STORY) + 1
    assert f"Kept as entries {first}, {first + 1} and {first + 2}." in text_of(receipt)
    assert "Undo all 3 photographs" in text_of(receipt)
    assert re.findall(r'name="number" value="(\d+)"', receipt) == [str(first + n) for n in range(3)]
    client.post("/undo", data={"number": [str(first + n) for n in range(3)]})
    lines = FakeWorkshop.open(bench).daybook
    assert [line.kind for line in lines[first + 2 :]] == ["void"] * 3


def test_a_page_is_photographed_again_under_its_name(bench: Path, client: TestClient) -> None:
    """The page that is there is chosen already, so that another spelling does not make a second page; another may be named."""
    form = client.get("/?do=exemplar").text
    assert re.search(r'name="name" value="saltmere" checked', form)
    client.post("/exemplar", data={"name": "saltmere", "name_other": ""}, files={"picture": ("a.png", PNG)})
    assert list(FakeWorkshop.open(bench).inventory().exemplars) == ["saltmere"]
    sent = {"name": "saltmere", "name_other": "second leaf"}
    client.post("/exemplar", data=sent, files={"picture": ("b.png", PNG + b"b")})
    assert list(FakeWorkshop.open(bench).inventory().exemplars) == ["saltmere", "second-leaf"]


def test_only_pictures_that_were_shown_can_be_fetched(client: TestClient) -> None:
    """The comparison's picture has an address of its own; no path reaches another file."""
    page = client.get("/").text
    found = re.search(r'src="(/picture/[0-9a-f]{24})"', page)
    assert found
    assert client.get(found[1]).headers["content-type"] == "image/png"
    for path in ("/picture/nothing", "/picture/..%2f..%2fetc%2fpasswd", "/static/../app.py"):
        assert client.get(path).status_code == 404


@pytest.mark.parametrize("path", ["/record", "/undo", "/photo", "/exemplar", "/api/record"])
@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://[::1"},
        {"origin": "http://127.0.0.1:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_another_page_can_change_nothing(
    bench: Path, client: TestClient, path: str, headers: dict[str, str]
) -> None:
    """A POST that another origin sends is refused before any view sees it."""
    before = len(FakeWorkshop.open(bench).daybook)
    assert client.post(path, data={"do": "remark", "text": "x"}, headers=headers).status_code == 403
    assert len(FakeWorkshop.open(bench).daybook) == before


def test_the_page_s_own_posts_pass(client: TestClient) -> None:
    """The same request with this page's own origin is recorded."""
    headers = {"origin": HERE, "sec-fetch-site": "same-origin"}
    data = {"do": "remark", "text": "x", "at": "2026-09-14T09:00"}
    assert client.post("/record", data=data, headers=headers, follow_redirects=False).status_code == 303


def test_only_this_machine_s_names_are_answered(client: TestClient) -> None:
    """A name that was rebound to this machine gets no page and no data."""
    for host in ("evil.example", "evil.example:8377", "", "127.0.0.1.evil.example", "[::1", "::"):
        assert client.get("/api/daybook", headers={"host": host}).status_code == 421
    for host in ("localhost:8377", "[::1]:8377", "127.0.0.1"):
        assert client.get("/api/daybook", headers={"host": host}).status_code == 200


def test_every_answer_is_guarded(client: TestClient) -> None:
    """Page, data, files and refusals alike carry the policy that no script from elsewhere runs."""
    for path in ("/", "/api/estimate", "/static/bench.css", "/nowhere"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe-inline" not in policy
        assert headers["x-content-type-options"] == "nosniff"
    assert not re.search(r"<[^>]+ style=|<style|<script(?! src)|onclick", client.get("/").text)


def test_a_body_that_is_too_large_is_refused(bench: Path) -> None:
    """More than the limit is refused by its stated length, and by counting where none is stated."""
    with _client(bench, limit=2000) as client:
        large = client.post("/exemplar", data={"name": "x"}, files={"picture": ("a.png", PNG * 100)})
        assert large.status_code == 413

        def stream() -> Iterator[bytes]:
            yield b'{"kind": "remark", "text": "'
            for _ in range(10):
                yield b"x" * 1000

        counted = client.post("/api/record", content=stream(), headers={"content-type": "application/json"})
        assert counted.status_code == 413
        assert client.get("/").status_code == 200


def test_what_a_maker_wrote_is_never_markup(client: TestClient) -> None:
    """Text from the daybook is shown as text."""
    client.post(
        "/record", data={"do": "remark", "text": "<script>alert(1)</script>", "at": "2026-09-14T09:00"}
    )
    page = client.get("/").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page


def test_an_empty_workshop_says_what_to_do_first(tmp_path: Path) -> None:
    """With nothing recorded the page has one sentence and the tiles, and no error."""
    path = tmp_path / "empty"
    FakeWorkshop.create(path)
    with _client(path) as client:
        settle(client)
        page = client.get("/")
        assert page.status_code == 200
        assert "Say what you did first" in page.text
        for do in ("add", "reduce", "pour", "mark", "reading", "photo", "remark", "exemplar"):
            assert client.get(f"/?do={do}").status_code == 200
    FakeWorkshop.folders.clear()


def test_odd_addresses_do_no_harm(client: TestClient) -> None:
    """A query that names nothing there is shows the bench as ever."""
    for query in (
        "do=nothing",
        "said=x",
        "said=999",
        "vessel=kettle",
        "as=never",
        "do=reading&of=moon:1",
        "do=reading&of=trial:t1&what=weight",
    ):
        assert client.get(f"/?{query}").status_code == 200
    assert client.get("/nowhere").status_code == 404
    assert client.post("/", data={}).status_code == 405


@pytest.mark.parametrize(
    "entry",
    [
        {"kind": "reading", "of": "trial:t1", "what": "photo", "value": "/etc/hostname"},
        {"kind": "remark", "text": "x", "picture": "/etc/hostname"},
        {"kind": "amend", "entry": 1, "replacement": {"kind": "remark", "text": "x", "picture": "../workshop.sqlite"}},
    ],
)  # fmt: skip
def test_no_file_of_the_machine_can_be_named(
    bench: Path, client: TestClient, entry: dict[str, object]
) -> None:
    """A path in an entry is refused, by the JSON twin and by the forms: only a sent picture is kept."""
    before = len(FakeWorkshop.open(bench).daybook)
    answer = client.post("/api/record", json={"at": "2026-09-14T09:00", **entry})
    assert answer.status_code == 422
    assert "sent with its form" in answer.json()["what"]
    form = {"do": "reading", "of": "trial:t1", "what": "photo", "value": "/etc/hostname"}
    assert client.post("/record", data=form).status_code == 422
    assert len(FakeWorkshop.open(bench).daybook) == before


def test_text_is_packed_and_pictures_are_not(client: TestClient) -> None:
    """A page comes packed where the browser takes it, whole where it does not; a picture always as it is."""
    plain = client.get("/boxes", headers={"accept-encoding": "identity"})
    packed = client.get("/boxes", headers={"accept-encoding": "gzip"})
    assert packed.headers["content-encoding"] == "gzip"
    assert "content-encoding" not in plain.headers
    assert int(packed.headers["content-length"]) < len(plain.content) / 4
    shown = re.search(r'src="(/picture/[0-9a-f]{24})"', client.get("/").text)
    assert shown
    assert "content-encoding" not in client.get(shown[1], headers={"accept-encoding": "gzip"}).headers
