"""Photograph every place of the bench, at the width of a telephone and of a desk, some of a wide desk: ``python docs/screens/make.py``.

Serves the invented roll, an empty workshop, and a bench open to a network of the documentation addresses (RFC 5737).
Needs Chromium and the extra ``dev``.
"""

from __future__ import annotations

import io
import re
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import uvicorn
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright
from starlette.applications import Starlette

import inkhorn
from inkhorn.demo import roll
from inkhorn.web.app import create_app
from inkhorn.web.network import Open
from inkhorn.web.serve import LOOPBACK, listen

HERE = Path(__file__).parent
SIZES = {"phone": (390, 844), "desk": (1280, 900)}
WIDE = (1600, 1000)
TALLEST = 2200
KEPT_WIDTH = 800
COLOURS = 128
STYLE = Path(inkhorn.__file__).parent / "web/static/bench.css"
PLACES = {
    "bench": "/",
    "soak": "/?do=steep",
    "daybook": "/daybook",
    "entry": "/entry/18",
    "trials": "/trials",
    "trial": "/trial/t3",
    "page": "/page/saltmere-roll",
    "materials": "/materials",
    "recipe": "/recipe/pot",
    "wrong": "/wrong?say=pale-and-watery&of=trial:t3",
    "morning": "/morning?like=t3&vessel=pot&warmth=12",
    "evening": "/evening",
    "not-found": "/nowhere",
}


@contextmanager
def served(app: Starlette) -> Iterator[str]:
    """Serve an application on a free port of this machine; yield its address."""
    sock = listen(0)
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", timeout_graceful_shutdown=1))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [sock]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.05)
    yield f"http://{LOOPBACK}:{sock.getsockname()[1]}"
    server.should_exit = True
    thread.join(10)
    sock.close()


def settled(page: Page, url: str) -> None:
    """Open a place and wait until nothing is being worked out."""
    page.goto(url)
    page.wait_for_function(
        "() => fetch('/api/status').then(a => a.json()).then(s => !s.working)", timeout=120_000
    )
    page.goto(url)
    page.locator("[data-working]").wait_for(state="detached", timeout=120_000)
    page.wait_for_timeout(300)


def keep(page: Page, name: str) -> None:
    """Keep a picture of the page, in few colours."""
    with Image.open(io.BytesIO(page.screenshot(full_page=True))) as shot:
        cut = shot.convert("RGB").crop((0, 0, shot.width, min(shot.height, TALLEST)))
        if cut.width > KEPT_WIDTH:
            cut = cut.resize(
                (KEPT_WIDTH, round(cut.height * KEPT_WIDTH / cut.width)), Image.Resampling.LANCZOS
            )
        few_colours(cut).save(HERE / f"{name}.png", optimize=True)


def few_colours(picture: Image.Image) -> Image.Image:
    """Return a picture in few colours, the page's own among them: a few words of warning stay as red as they are."""
    own = sorted(set(re.findall(r"#([0-9a-f]{6})\b", STYLE.read_text("utf-8"))))
    likely = picture.quantize(COLOURS - len(own)).getpalette() or []
    palette = Image.new("P", (1, 1))
    palette.putpalette([*(part for hue in own for part in bytes.fromhex(hue)), *likely])
    return picture.quantize(palette=palette, dither=Image.Dither.NONE)


def photograph(chrome: Browser, demo: str, empty: str, network: str) -> None:
    """Photograph all, at each size."""
    for size, (width, height) in SIZES.items():
        window = chrome.new_context(viewport={"width": width, "height": height})
        page = window.new_page()
        for name, path in PLACES.items():
            settled(page, demo + path)
            keep(page, f"{name}-{size}")
        settled(page, f"{empty}/")
        keep(page, f"first-{size}")
        settled(page, f"{network}/network")
        keep(page, f"network-{size}")
        settled(page, f"{network}/pair")
        keep(page, f"door-{size}")
        for light, name in (("Lamplight", "lamplight"), ("Bright sun", "sun")):
            settled(page, f"{demo}/")
            page.get_by_role("button", name=light).click()
            settled(page, f"{demo}/")
            keep(page, f"{name}-{size}")
        window.close()
    page = chrome.new_context(viewport={"width": WIDE[0], "height": WIDE[1]}).new_page()
    for name in ("bench", "trial"):
        settled(page, demo + PLACES[name])
        keep(page, f"{name}-wide")


def main() -> None:
    """Serve what is photographed, and photograph it."""
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    with TemporaryDirectory() as place, sync_playwright() as play:
        saltmere, empty = Path(place) / "saltmere", Path(place) / "empty" / "saltmere"
        roll.build(saltmere).close()
        empty.parent.mkdir()
        inkhorn.Workshop.create(empty).close()
        reached = Open(names=("192.0.2.7", "saltmere.local"), port=8377)
        chrome = play.chromium.launch(executable_path=found, args=["--no-sandbox"])
        with (
            served(create_app(saltmere)) as demo,
            served(create_app(empty)) as nothing,
            served(create_app(empty, network=reached)) as network,
        ):
            photograph(chrome, demo, nothing, network)
        chrome.close()


if __name__ == "__main__":
    main()
