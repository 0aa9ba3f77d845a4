"""Amounts in a maker's words: the spoon named holds what was asked for, to within what is said of it."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inkhorn.counsel import plain
from inkhorn.daybook.measures import measures
from inkhorn.handbook.load import group, value
from inkhorn.quantities import read_quantity
from support.plain_words import vessel

_POWDERS = sorted(
    key
    for key, node in group("materials").items()
    if "bulk_density" in node and node["role"] not in ("tannin", "metallic iron", "sulfide")
)


def _ml_of(words: str) -> float:
    """Return the volume of a phrase of spoons and cups, each by the daybook's own reader of measures."""
    plain_text = re.sub(r"^(about|nearly|a little over) ", "", words)
    total = 0.0
    for part in re.split(r" and (?=a )(?!a half)", plain_text):
        half = part.endswith(" and a half")
        size = re.sub(r" and a half$", "", part).replace("litre jug", "litre")
        read = read_quantity(size, expect=("volume",), measures=measures()).value
        total += read * (1.5 if half else 1)
    return total


@given(st.floats(0.1, 60), st.sampled_from(_POWDERS))
def test_spoons_hold_the_mass(grams: float, material: str) -> None:
    """Read back as a daybook reads spoons, a powder's spoons weigh what was asked, within what nearly may hide."""
    words = plain.spoon_words(grams, material)
    if words is not None:
        back = _ml_of(words) * value(f"materials.{material}.bulk_density")
        limit = value("writing.eye.spoon")
        assert abs(back / grams - 1) < 1.2 * limit


@given(st.floats(1, 12_000))
def test_cups_hold_the_volume(ml: float) -> None:
    """Read back as a daybook reads cups and spoons, a volume comes out as it was, within what is said of it."""
    words = plain.nearest_measure(ml, dry=False)
    if words is not None:
        size = _ml_of(words.replace("drops", "drop"))
        assert abs(size / ml - 1) < 1.2 * value("writing.eye.spoon")
        assert words.startswith("nearly ") == (size > ml * 2.718281828 ** value("writing.eye.near"))


@pytest.mark.parametrize(
    ("amount", "unit", "material", "words"),
    [
        # FDANLEA (21 CFR 101.9(b)(5)(viii)): a teaspoon is 5 ml, a tablespoon 15 ml, a cup 240 ml.
        (15, "ml", None, "15 ml (a tablespoon)"),
        (240, "ml", None, "240 ml (a cup)"),
        (2500, "ml", None, "2.5 litres (two and a half litre jugs)"),
        (50, "g", "iron-nails", "50 g"),
        (1200, "g", None, "1.2 kg"),
        (0.2, "1", None, "a fifth"),
        (1800, "s", None, "about 30 minutes"),
        (259_200, "s", None, "about three days"),
        (37, "degC", None, "37 °C (hand-warm)"),
    ],
)
def test_in_a_makers_words(amount: float, unit: str, material: str | None, words: str) -> None:
    """A figure keeps its unit, and the words beside it are those of a kitchen."""
    assert plain.amount_words(amount, unit, material) == words


def test_loose_leaf_is_never_told_to_a_spoon() -> None:
    """How loosely leaf lies is unsure, so its cups are about so many; crystals are told plainly."""
    assert plain.amount_words(640, "g", "sumac-leaf") == "640 g (about three litre jugs)"
    assert "about" not in plain.amount_words(24, "g", "bought-green-vitriol")


def test_fingers_where_the_shape_is_known() -> None:
    """Half of a pot ten fingers deep stands five fingers deep; without a depth no finger is named."""
    finger = value("measures.unit.finger.size")
    assert plain.amount_words(1000, "ml", vessel=vessel(2000, 10 * finger)) == "1 litre (five fingers deep)"
    assert "finger" not in plain.amount_words(1000, "ml", vessel=vessel(2000, None))


def test_share_of_what_the_pot_holds() -> None:
    """With what the pot holds known, a volume is told as a share of it."""
    assert plain.amount_words(120, "ml", held=600) == "120 ml (a fifth of what is there)"


def test_laboratory_units_on_demand_only() -> None:
    """Thickness and iron come without mPa s and mmol unless they are asked for."""
    for unit in ("mPa s", "mmol/L"):
        assert unit not in plain.amount_words(2.6, unit)
        assert unit in plain.amount_words(2.6, unit, chemistry=True)
    # Water is 1.0016 mPa s at 20 degC (IAPWS SR6-08): twice that is twice as thick.
    assert plain.amount_words(2.0032, "mPa s") == "2 times as thick as water"
    # FeSO4.7H2O is 278.01 g/mol (IUPAC 2021): 100 mmol of it are 28 g.
    assert plain.amount_words(100, "mmol/L") == "as 28 g of green vitriol in a litre"


def test_pages_left() -> None:
    """Ink of a hundred pages is said to be that; a wider pen with the same film writes fewer lines, as much ink."""
    page = plain.ink_a_page(film=20.0, width=0.7)
    assert plain.pages_words(100 * page, page) == "about 100 pages"
    assert plain.pages_words(0.3 * page, page) == "less than half a page"
    assert plain.ink_a_page(film=20.0, width=1.4) == pytest.approx(page)
    assert plain.ink_a_page(film=40.0, width=0.7) == pytest.approx(2 * page)


def test_a_page_takes_what_others_have_measured() -> None:
    """A page by quill takes as much ink as a fine fountain pen needs for a thousand characters, or a few times that.

    Outside check: 1.4 ml of an iron-gall ink wrote 15 000 characters with a fine steel nib until it ran dry (a pen shop's
    trial of May 2020, duomo-pen.com/2020/05/19/ink-howmuch), 0.093 ml for a thousand. A page of this size holds about a
    thousand letters (from memory), and a quill lays more than a steel nib does.
    """
    measured = 1.4 / 15.0
    for pen in ("goose-quill", "reed"):
        page = float(plain.ink_a_page(film=value(f"pens.{pen}.film"), width=value(f"pens.{pen}.width")))
        assert measured < page < 4 * measured


def test_pages_are_counted_no_finer_than_they_are_known() -> None:
    """One figure up to a thousand, and beyond that no figure at all."""
    told = {1.0: "about a page", 12.0: "about 10 pages", 47.0: "about 50 pages", 640.0: "about 600 pages",
            970.0: "about a thousand pages", 7700.0: "thousands of pages"}  # fmt: skip
    for pages, words in told.items():
        assert plain.pages_words(pages, 1.0) == words


@given(st.floats(0, 60))
def test_steps_of_colour_are_said_to_half_a_step(steps: float) -> None:
    """The words never say more than half a step too much or too little, and say what a step is."""
    words = plain.steps_words(steps)
    assert "just visible step" in words
    if words.startswith("less"):
        assert steps < 1
        return
    count = {"one": 1.0, "one and a half": 1.5}
    said = words.removeprefix("about ").partition(" just")[0]
    assert abs((count.get(said) or float(said)) - steps) <= 0.5


@given(st.floats(1, 3e7))
def test_time_is_never_far_off(seconds: float) -> None:
    """Round words say a time to within a third; none says nothing."""
    words = plain.time_words(seconds)
    sizes = {"second": 1, "minute": 60, "hour": 3600, "day": 86_400, "week": 604_800, "month": 2_592_000}
    unit = next(u for u in sizes if u in words)
    numbers = {w: i for i, w in enumerate(plain._WORDS)} | {"a": 1, "an": 1}
    first = words.removeprefix("about ").split()[0]
    count = float(numbers.get(first, 0) or first) + ("half" in words) * 0.5
    assert count * sizes[unit] == pytest.approx(seconds, rel=0.34, abs=2.6)


def test_no_figure_is_said_in_powers_of_ten() -> None:
    """A strong iron liquor and a jelly: hundreds are written out."""
    assert plain.iron_words(540.0) == "as 150 g of green vitriol in a litre"
    assert plain.iron_words(540.0, chemistry=True).endswith("(540 mmol/L)")
    assert plain.thickness_words(250.0).startswith("250 times")
    assert plain.two_digits(0.0123) == "0.012"
