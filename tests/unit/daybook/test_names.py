"""Names of the handbook and of things."""

from __future__ import annotations

import pytest

from inkhorn.daybook.measures import measures, resolve_instrument
from inkhorn.daybook.names import (
    find,
    guess,
    resolve_liquid,
    resolve_material,
    resolve_pen,
    resolve_support,
    thing_name,
)
from inkhorn.errors import UnknownNameError
from inkhorn.handbook.load import group


@pytest.mark.parametrize("text", ["sumac leaf", "Sumac Leaves", "sumac-leaf", "SUMAC_LEAF", "sumac"])
def test_one_material_many_ways(text: str) -> None:
    """Case, plural and hyphens do not matter."""
    assert resolve_material(text) == "sumac-leaf"


@pytest.mark.parametrize(
    "name",
    ["oak galls", "marble galls", "oak bark", "alder bark", "alder cones", "blackthorn bark", "chestnut wood",
     "sumac leaf", "myrobalan", "pomegranate rind", "tea", "tannic acid", "gallic acid", "gallic acid monohydrate",
     "ferrous sulfate heptahydrate", "bought green vitriol", "scraped green vitriol", "pyrite", "marcasite",
     "iron filings", "iron nails", "gum arabic", "plum gum", "cherry gum", "hydrochloric acid 10 %", "sulfuric acid",
     "chalk"],
)  # fmt: skip
def test_every_material_of_the_trade_is_known(name: str) -> None:
    """Each raw material that the manual lists is in the handbook."""
    assert resolve_material(name) in group("materials")


@pytest.mark.parametrize(
    "name", ["water", "spring water", "rainwater", "tap water", "wine", "vinegar", "beer"]
)
def test_every_liquid_is_known(name: str) -> None:
    """Each liquid that needs no gathering is in the handbook."""
    assert resolve_liquid(name) in group("liquids")


def test_supports_and_pens() -> None:
    """Skins, paper and pens are known by name; a way of marking is no pen."""
    assert resolve_support("goat parchment") == "goat-parchment"
    assert {resolve_pen(name) for name in ("goose quill", "reed", "metal nib")} == {
        "goose-quill",
        "reed",
        "metal-nib",
    }
    with pytest.raises(UnknownNameError):
        resolve_pen("dip")


def test_every_key_is_its_own_name() -> None:
    """What is written into JSON is read again as the same."""
    for table in ("materials", "liquids", "supports"):
        for key, node in group(table).items():
            if "names" in node:
                assert find(key, table) == key


def test_no_name_stands_for_two_materials() -> None:
    """Each folded name belongs to one key of its table."""
    for table in ("materials", "liquids", "supports", "pens"):
        for key, node in group(table).items():
            for name in node.get("names", ()):
                if node.get("role") != "method":
                    assert find(name, table) == key, name


@pytest.mark.parametrize(
    ("text", "near"),
    [("sumak leaf", "sumac leaf"), ("alder cone bark", "alder"), ("gum arabik", "gum arabic")],
)
def test_the_nearest_is_named(text: str, near: str) -> None:
    """An unknown material names its neighbour."""
    with pytest.raises(UnknownNameError, match=near):
        resolve_material(text)


@pytest.mark.parametrize(
    ("text", "tables", "key"),
    [
        ("sumac-leaf-2027", ("materials",), "sumac-leaf"),
        ("goat-1", ("supports",), "goat-parchment"),
        ("reed-3mm", ("pens",), "reed"),
        ("reed 3 mm", ("pens",), "reed"),
        ("oak-bark-b", ("materials",), "oak-bark"),
        ("oak-chest", ("materials",), None),
        ("tea-chest", ("materials",), None),
        ("goat-shed", ("supports",), None),
        ("12", ("materials",), None),
    ],
)
def test_what_a_name_says(text: str, tables: tuple[str, ...], key: str | None) -> None:
    """A number or letter after a handbook name is left out of account, a word is not."""
    assert guess(text, *tables) == key


@pytest.mark.parametrize("text", ["", " ", "a:b", "a/b", "-", "x" * 61, "a\nb c;", "<b>"])
def test_no_name_of_a_thing(text: str) -> None:
    """A name of a thing is letters, digits and hyphens."""
    with pytest.raises(UnknownNameError):
        thing_name(text)


@pytest.mark.parametrize(
    ("text", "name"), [("Small Crock", "small-crock"), ("t1", "t1"), ("Krug Ä", "krug-ä")]
)
def test_names_of_things(text: str, name: str) -> None:
    """Names are stored in lower case with hyphens."""
    assert thing_name(text) == name


def test_instruments() -> None:
    """Instruments are known by several names; the usual one of each dimension can measure it."""
    assert resolve_instrument("pH strips") == "strip"
    book = measures()
    for dimension, instrument in book.usual.items():
        assert dimension in book.instruments[instrument]
    with pytest.raises(UnknownNameError, match="nearest is hydrometer"):
        resolve_instrument("hydrometre")
