"""A real workshop in a folder: made empty, visited as by a browser, served as from a terminal, and read back."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape
from pathlib import Path
from typing import Any

import attrs
from starlette.testclient import TestClient

import inkhorn
from inkhorn.web.app import create_app

HERE = "http://127.0.0.1:8377"
_MAIN = "from inkhorn.cli.main import main; main()"


def empty(place: Path) -> Path:
    """Return the folder of an empty workshop that was made there."""
    inkhorn.Workshop.create(place / "saltmere").close()
    return place / "saltmere"


@contextmanager
def visited(folder: Path) -> Iterator[TestClient]:
    """Yield a browser's stand-in on the bench of a workshop."""
    with TestClient(create_app(folder), base_url=HERE) as out:
        yield out


def answered(visitor: TestClient, address: str, while_working: str) -> str:
    """Return a page once its answer is worked out: as long as it is, the page says ``while_working``."""
    end = time.monotonic() + 60
    while while_working in (page := visitor.get(address).text):
        assert time.monotonic() < end
        time.sleep(0.1)
    return unescape(page)


def book(folder: Path) -> list[dict[str, Any]]:
    """Return every entry as it was recorded."""
    with inkhorn.Workshop.open(folder) as workshop:
        return [dict(line.to_dict()) for line in workshop.daybook]


def served_by(folder: Path, *more: str) -> list[str]:
    """Return the command that serves a workshop's bench on a free port, without opening a browser."""
    return [sys.executable, "-u", "-c", _MAIN, "bench", str(folder), "--port", "0", "--no-browser", *more]


@attrs.frozen
class Running:
    """A bench that was started from a terminal: its process, and the address that it printed."""

    process: subprocess.Popen[str]
    address: str

    def stopped(self) -> str:
        """Stop it as by Ctrl-C; return what it complained of, "" where it ended quietly and well."""
        self.process.send_signal(signal.SIGINT)
        code = self.process.wait(20)
        complaint = self.process.stderr.read() if self.process.stderr else ""
        return complaint if code == 0 else f"exit {code}: {complaint}"


@contextmanager
def running(folder: Path, *more: str) -> Iterator[Running]:
    """Yield the bench of a workshop as it is started from a terminal, once it has said where it is."""
    command = served_by(folder, *more)
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        line = process.stdout.readline()
        found = re.search(r"https?://127\.0\.0\.1:\d+/", line)
        assert found, line + process.stderr.read()
        yield Running(process, found[0])
        if process.poll() is None:
            process.kill()
