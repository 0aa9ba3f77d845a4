"""A headless Chromium for the tests of pages, and a real server for it to visit."""

from __future__ import annotations

import os
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
import uvicorn
from playwright.sync_api import Browser, sync_playwright
from starlette.applications import Starlette

from inkhorn.web.serve import LOOPBACK, listen

_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def chromium() -> str:
    """Return the path of a Chromium; skip the test loudly, or fail where one is required."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        found = shutil.which(name)
        if found:
            return found
    if os.environ.get("INKHORN_REQUIRE_BROWSER") == "1":
        pytest.fail("no Chromium on this machine, and INKHORN_REQUIRE_BROWSER=1 asks for one")
    pytest.skip("NO BROWSER: the page was not looked at; install chromium to run this test")


@contextmanager
def browser() -> Iterator[Browser]:
    """Start a browser, and end it."""
    path = chromium()
    with sync_playwright() as play:
        out = play.chromium.launch(executable_path=path, args=_FLAGS)
        yield out
        out.close()


@contextmanager
def served(app: Starlette) -> Iterator[str]:
    """Serve an application on a free loopback port; yield its address."""
    sock = listen(0)
    server = uvicorn.Server(
        uvicorn.Config(app, log_level="error", access_log=False, timeout_graceful_shutdown=1)
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [sock]}, daemon=True)
    thread.start()
    until(lambda: server.started)
    yield f"http://{LOOPBACK}:{sock.getsockname()[1]}"
    server.should_exit = True
    thread.join(10)
    sock.close()


def until(done: Callable[[], bool], *, seconds: float = 20) -> None:
    """Wait until something is so; fail after a while."""
    end = time.monotonic() + seconds
    while not done():
        if time.monotonic() > end:
            pytest.fail("it never came to pass")
        time.sleep(0.05)
