"""Benches as fixtures: a real empty workshop, one in which a few days were recorded in memory, and who visits them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser
from starlette.testclient import TestClient

from inkhorn.web.app import create_app
from support.browser import browser, served
from support.fake_workshop import FakeWorkshop, few_days
from support.real_bench import empty, visited


@pytest.fixture
def saltmere(tmp_path: Path) -> Path:
    """Return the folder of a real, empty workshop; a file of tests may put something into it by a fixture of this name."""
    return empty(tmp_path)


@pytest.fixture
def visitor(saltmere: Path) -> Iterator[TestClient]:
    """Return a browser's stand-in on the bench of that workshop."""
    with visited(saltmere) as out:
        yield out


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Return the folder of a workshop in memory in which a few days were recorded."""
    with few_days(tmp_path, monkeypatch) as path:
        yield path


@pytest.fixture
def address(bench: Path) -> Iterator[str]:
    """Return the address of that workshop's bench, really served."""
    app = create_app(bench, opener=lambda: FakeWorkshop.open(bench))  # type: ignore[arg-type,return-value]
    with served(app) as out:
        yield out


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    """Return one browser for all tests of a file."""
    with browser() as out:
        yield out
