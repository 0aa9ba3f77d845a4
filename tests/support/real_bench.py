"""A real workshop in a folder: made empty, visited as by a browser, served as from a terminal, and read back."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

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


def book(folder: Path) -> list[dict[str, Any]]:
    """Return every entry as it was recorded."""
    with inkhorn.Workshop.open(folder) as workshop:
        return [dict(line.to_dict()) for line in workshop.daybook]


def served_by(folder: Path, *more: str) -> list[str]:
    """Return the command that serves a workshop's bench on a free port, without opening a browser."""
    return [sys.executable, "-u", "-c", _MAIN, "bench", str(folder), "--port", "0", "--no-browser", *more]
