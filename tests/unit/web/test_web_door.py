"""A bench open to the local network: who comes in, by what, how often they may try, and what stays shut."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

import inkhorn
from inkhorn.web.app import create_app
from inkhorn.web.network import Open, drawn, own_names, printed
from inkhorn.web.pairing import FILE, LIFE, STAYS, Door, TooMany, spoken
from support.fake_workshop import STORY, FakeWorkshop, story

HERE = "http://127.0.0.1:8377"
THERE = "http://192.168.1.5:8377"
NETWORK = Open(names=("192.168.1.5", "bench.local"), port=8377)
OWN = {"origin": THERE, "sec-fetch-site": "same-origin"}


class Clock:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.now = 1_000_000.0

    def __call__(self) -> float:
        """Return the time that was set."""
        return self.now


@pytest.fixture
def clock() -> Clock:
    """Return a clock to set."""
    return Clock()


@pytest.fixture
def door(tmp_path: Path, clock: Clock) -> Door:
    """Return a door with nobody let in."""
    return Door(tmp_path, clock=clock)


@pytest.fixture
def app(tmp_path: Path, door: Door, monkeypatch: pytest.MonkeyPatch) -> Iterator[Starlette]:
    """Return the bench of a workshop, open to the network."""
    monkeypatch.setattr(inkhorn, "Workshop", FakeWorkshop, raising=False)
    path = tmp_path / "saltmere"
    story(path)
    out = create_app(
        path,
        opener=lambda: FakeWorkshop.open(path),  # type: ignore[arg-type,return-value]
        network=NETWORK,
        door=door,
    )
    yield out
    out.state.room.close()
    FakeWorkshop.folders.clear()


def phone(app: Starlette, base: str = THERE, address: str = "192.168.1.20") -> TestClient:
    """Return a telephone on the network."""
    return TestClient(app, base_url=base, client=(address, 50000), follow_redirects=False)


def book(tmp_path: Path) -> list[dict[str, object]]:
    """Return what is in the daybook beyond the story."""
    return [line.to_dict() for line in FakeWorkshop.open(tmp_path / "saltmere").daybook[len(STORY) :]]


def come_in(client: TestClient, door: Door, name: str = "") -> None:
    """Pair a telephone."""
    answer = client.post("/pair", data={"code": door.code()[0], "name": name}, headers=OWN)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")


def test_a_stranger_sees_only_the_door(app: Starlette, tmp_path: Path) -> None:
    """Without the code no page, no picture, no data and no entry: only the way to the door."""
    client = phone(app)
    for path in ("/", "/daybook", "/entry/1", "/boxes", "/network", "/worker.js", "/static/bench.js"):
        answer = client.get(path)
        assert (answer.status_code, answer.headers["location"]) == (303, "/pair")
        assert "vitriol" not in answer.text
    for path in ("/api/daybook", "/api/estimate", "/api/status"):
        assert client.get(path).status_code == 401
    assert client.post("/record", data={"do": "remark", "text": "x"}, headers=OWN).status_code == 401
    assert client.post("/api/record", json={"kind": "remark", "text": "x"}, headers=OWN).status_code == 401
    assert book(tmp_path) == []
    page = client.get("/pair")
    assert page.status_code == 200
    assert "vitriol" not in page.text


def test_the_right_code_lets_one_device_in_once(app: Starlette, door: Door, tmp_path: Path) -> None:
    """The code of the picture opens the bench, is then used up, and what is said carries the name given."""
    code = door.code()[0]
    client = phone(app)
    assert f'value="{code}"' in client.get(f"/pair?code={code}").text
    assert client.get("/").status_code == 303  # looking at the invitation is not coming in
    come_in(client, door, "Wick")
    assert client.get("/").status_code == 200
    data = {"do": "remark", "text": "x", "at": "2026-09-14T09:00"}
    assert client.post("/record", data=data, headers=OWN).status_code == 303
    assert book(tmp_path)[-1]["who"] == "Wick"
    assert phone(app).post("/pair", data={"code": code}, headers=OWN).status_code == 403


def test_the_cookie_is_kept_from_scripts_and_other_sites(app: Starlette, door: Door) -> None:
    """HttpOnly, SameSite=Strict; over TLS also Secure. The folder keeps no token, only its digest."""
    client = phone(app)
    answer = client.post("/pair", data={"code": door.code()[0]}, headers=OWN)
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    assert "Secure" not in cookie
    token = re.search(r"inkhorn=([^;]+)", cookie)
    assert token
    assert len(token[1]) >= 43  # 256 bits in base64
    secure = phone(app, THERE.replace("http:", "https:"))
    origin = {"origin": THERE.replace("http:", "https:")}
    again = secure.post("/pair", data={"code": door.code()[0]}, headers=origin)
    assert "Secure" in again.headers["set-cookie"]
    kept = door._file.read_text("utf-8")
    assert token[1] not in kept
    assert len(json.loads(kept)) == 2
    assert door._file.stat().st_mode & 0o077 == 0


def test_guessing_is_slowed_down(door: Door, clock: Clock) -> None:
    """Five wrong codes from one address, or thirty from all, and nobody there may try for a while."""
    door.code()
    for _ in range(5):
        assert door.enter("AAAA-AAAA", "a", "") is None
    with pytest.raises(TooMany):
        door.enter(door.code()[0], "a", "")
    assert door.enter(spoken(door.code()[0]).lower(), "b", "") is not None
    clock.now += 301
    assert door.enter(door.code()[0], "a", "") is not None
    before = door.code()[0]
    for n in range(30):
        door.enter("AAAAAAAA", f"c{n // 4}", "")
    with pytest.raises(TooMany):
        door.enter(door.code()[0], "fresh", "")
    clock.now += 301
    assert door.code()[0] != before


def test_the_page_tells_a_guesser_to_wait(app: Starlette, door: Door) -> None:
    """The sixth wrong code is answered with 429 and how long to wait, the right one too."""
    client = phone(app)
    door.code()
    codes = [client.post("/pair", data={"code": "x"}, headers=OWN).status_code for _ in range(6)]
    assert codes == [403] * 5 + [429]
    last = client.post("/pair", data={"code": door.code()[0]}, headers=OWN)
    assert last.status_code == 429
    assert 0 < int(last.headers["retry-after"]) <= 301


def test_a_code_grows_old(door: Door, clock: Clock) -> None:
    """After ten minutes a code lets nobody in, and another is shown."""
    code = door.code()[0]
    clock.now += LIFE + 1
    assert door.enter(code, "a", "") is None
    assert door.code()[0] != code


def test_a_device_is_remembered_and_can_be_shut_out(door: Door, clock: Clock, tmp_path: Path) -> None:
    """A restart forgets nobody; who is shut out, or was long away, pairs again; a damaged list is empty."""
    token = door.enter(door.code()[0], "a", "Wick")
    assert token
    again = Door(tmp_path, clock=clock)
    device = again.known(token)
    assert device
    assert device.name == "Wick"
    clock.now += STAYS + 1
    assert again.known(token) is None
    clock.now -= STAYS + 1
    again.forget(device.digest)
    assert again.known(token) is None
    assert Door(tmp_path, clock=clock).known(token) is None
    (tmp_path / FILE).write_text("[{]", "utf-8")
    assert Door(tmp_path, clock=clock).devices() == ()


@pytest.mark.parametrize(
    "headers",
    [{}, {"origin": "http://evil.example"}, {"sec-fetch-site": "cross-site"}, {"origin": THERE, "sec-fetch-site": "same-site"}],
)  # fmt: skip
def test_a_paired_device_cannot_be_made_to_act_by_another_page(
    app: Starlette, door: Door, tmp_path: Path, headers: dict[str, str]
) -> None:
    """From the network a change must say that it comes from this page itself."""
    client = phone(app)
    come_in(client, door)
    data = {"do": "remark", "text": "x", "at": "2026-09-14T09:00"}
    assert client.post("/record", data=data, headers=headers).status_code == 403
    assert book(tmp_path) == []


def test_only_its_own_names_are_answered(app: Starlette, door: Door) -> None:
    """A name that was rebound to this machine gets nothing, paired or not."""
    client = phone(app)
    come_in(client, door)
    assert client.get("/", headers={"host": "evil.example:8377"}).status_code == 421
    assert client.get("/", headers={"host": "bench.local:8377"}).status_code == 200


@pytest.mark.parametrize(
    ("base", "address", "headers"),
    [
        (HERE, "192.168.1.20", {}),  # from the network, claiming to ask for this machine
        (THERE, "127.0.0.1", {}),  # through something on this machine that passes it on
        (HERE, "127.0.0.1", {"x-forwarded-for": "192.168.1.20"}),
        (HERE, "127.0.0.1", {"forwarded": "for=192.168.1.20"}),
    ],
)
def test_nothing_passes_for_this_machine_that_is_not(
    app: Starlette, base: str, address: str, headers: dict[str, str]
) -> None:
    """Only a request that comes from here, asks for here and was passed on by nobody needs no code."""
    assert phone(app, base, address).get("/api/daybook", headers=headers).status_code == 401
    assert phone(app, HERE, "127.0.0.1").get("/api/daybook").status_code == 200


def test_the_code_is_shown_at_the_bench_alone(app: Starlette, door: Door) -> None:
    """The machine itself sees code, picture and devices, and shuts one out; a telephone sees none of it."""
    client, here = phone(app), phone(app, HERE, "127.0.0.1")
    come_in(client, door, "<b>Wick</b>")
    page = here.get("/network")
    assert spoken(door.code()[0]) in page.text
    assert "<svg" in page.text
    assert "not enciphered" in page.text
    assert "&lt;b&gt;Wick" in page.text
    assert client.get("/network").status_code == 404
    digest = door.devices()[0].digest
    assert client.post("/network/forget", data={"digest": digest}, headers=OWN).status_code == 404
    assert here.post("/network/forget", data={"digest": digest}).status_code == 303
    assert client.get("/").status_code == 303


def test_a_stranger_can_send_next_to_nothing(app: Starlette) -> None:
    """Before it is let in, a device may send a code and a name, and no more."""
    assert phone(app).post("/pair", data={"code": "x" * 5000}, headers=OWN).status_code == 413


def test_a_closed_bench_has_no_door(tmp_path: Path) -> None:
    """Unless told otherwise other devices get nothing at all, and this machine is told how to open it."""
    path = tmp_path / "saltmere"
    story(path)
    app = create_app(path, opener=lambda: FakeWorkshop.open(path))  # type: ignore[arg-type,return-value]
    assert phone(app).get("/").status_code == 421
    assert phone(app, HERE).get("/").status_code == 421
    here = phone(app, HERE, "127.0.0.1")
    assert here.get("/pair").status_code == 404
    assert "--network" in here.get("/network").text
    app.state.room.close()
    FakeWorkshop.folders.clear()


def test_the_picture_leads_to_the_door() -> None:
    """The QR code is a picture for page and terminal, and says the invitation whole."""
    import cv2
    import numpy as np
    import segno

    text = NETWORK.invitation("ABCDEFGH")
    assert text == f"{THERE}/pair?code=ABCDEFGH"
    assert drawn(text).startswith("<svg")
    assert "style=" not in drawn(text)
    assert printed(text).strip()
    rows = np.array([[0 if dark else 255 for dark in row] for row in segno.make(text, error="m", micro=False).matrix_iter(border=4, scale=8)], np.uint8)  # fmt: skip
    assert cv2.QRCodeDetector().detectAndDecode(rows)[0] == text


def test_own_names_are_never_the_loopback() -> None:
    """What a telephone is told is an address of the network, or nothing."""
    assert not [name for name in own_names() if name.startswith("127.") or name in {"localhost", "0.0.0.0"}]  # noqa: S104
