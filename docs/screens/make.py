"""Photograph every place of a served bench, at the width of a telephone and of a desk.

Serve the invented roll (``inkhorn demo saltmere``) and an empty workshop (``inkhorn bench empty --port 8378``), then
``python docs/screens/make.py http://127.0.0.1:8377 http://127.0.0.1:8378``. Needs Chromium and the extra ``dev``.
"""

from __future__ import annotations

import io
import shutil
import sys
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

HERE = Path(__file__).parent
SIZES = {"phone": (390, 844), "desk": (1280, 900)}
TALLEST = 2200
KEPT_WIDTH = 800
PLACES = {
    "bench": "/",
    "soak": "/?do=steep",
    "daybook": "/daybook",
    "entry": "/entry/18",
    "trials": "/trials",
    "trial": "/trial/t3",
    "page": "/page/saltmere-roll",
    "materials": "/materials",
    "evening": "/evening",
    "network": "/network",
    "not-found": "/nowhere",
}


def settled(page: Page, url: str) -> None:
    """Open a place and wait until nothing is being worked out."""
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
        cut.quantize(64).save(HERE / f"{name}.png", optimize=True)


def main(demo: str, empty: str) -> None:
    """Photograph all."""
    with sync_playwright() as play:
        found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
        chrome = play.chromium.launch(executable_path=found, args=["--no-sandbox"])
        for size, (width, height) in SIZES.items():
            window = chrome.new_context(viewport={"width": width, "height": height})
            page = window.new_page()
            for name, path in PLACES.items():
                settled(page, demo + path)
                keep(page, f"{name}-{size}")
            settled(page, f"{empty}/")
            keep(page, f"first-{size}")
            settled(page, f"{demo}/")
            page.get_by_role("button", name="Lamplight").click()
            settled(page, f"{demo}/")
            keep(page, f"lamplight-{size}")
            window.close()
        chrome.close()


if __name__ == "__main__":
    main(*sys.argv[1:3])
