"""The page of a recipe: each step once, each caution in full once and in short after that, figures behind a tap."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from inkhorn.web.app import create_app
from support.browser import until
from support.fake_workshop import FakeWorkshop


@pytest.fixture
def client(bench: Path) -> Iterator[TestClient]:
    """Return a browser's stand-in on a workshop in which a few days were recorded."""
    app = create_app(bench, opener=lambda: FakeWorkshop.open(bench))  # type: ignore[arg-type,return-value]
    with TestClient(app, base_url="http://127.0.0.1:8377") as out:
        yield out


@pytest.fixture
def page(client: TestClient) -> str:
    """Return the page of a recipe, once it is worked out."""
    until(lambda: "Soak 300 g" in client.get("/recipe/horn").text)
    return client.get("/recipe/horn").text


def test_the_recipe_is_written_down(page: str) -> None:
    """What to keep, the steps in order with their cautions, what to expect, and the figures after that."""
    parts = [
        "Keep a spoonful", "Soak 300 g", "Boil it down till", "Boiling liquor scalds: stir it.", "Last, try it",
        "Seven new lots in ten come to a match.",
    ]  # fmt: skip
    places = [page.index(part) for part in parts]
    assert places == sorted(places)
    assert "Cannot be made again: what was drawn from the old jar." in page
    assert page.index("<summary>By weight alone") < page.index("By weight alone four in ten.")


def test_a_caution_is_said_in_full_once_and_in_short_where_it_comes_back(page: str) -> None:
    """It stays in its place; only what was read already is shorter, with the way back to it. The general one ends all."""
    assert page.count("Boiling liquor scalds: stir it.") == 1
    again = re.search(r'<li>Boiling liquor scalds \(see <a href="#(\w+)">step 2</a>\)\.</li>', page)
    assert again
    assert page.index("Last, try it") < again.start()
    assert re.search(rf'<li id="{again[1]}"><p class="sentence">Boil it down till', page)
    assert page.count("local codes") == 1


def test_the_first_sentence_of_what_to_expect_stands_open(page: str) -> None:
    """The chance is read at once; how near and how much is behind a tap."""
    fold = page.index("<summary>How near, and how much")
    assert page.index("Seven new lots in ten come to a match.") < fold < page.index("It gives half a litre.")


def test_no_such_vessel_has_no_recipe(client: TestClient) -> None:
    """A name that nothing has is not found; one without ink says so."""
    assert client.get("/recipe/nothing").status_code == 404
