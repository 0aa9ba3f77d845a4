"""Amounts as a maker writes them."""

from __future__ import annotations

import math
from statistics import NormalDist

import pytest

from inkhorn.daybook.measures import measures
from inkhorn.errors import QuantityError
from inkhorn.quantities import Quantity, read_quantity
from inkhorn.units import PLAIN, by_library, fold

AMOUNT = ("mass", "volume", "fraction", "length")


def read(text: str | float, *expect: str, **more: object) -> Quantity:
    """Read an amount with the handbook's measures."""
    return read_quantity(text, expect=expect or AMOUNT, measures=measures(), **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("640 g", 640, "g"),
        ("0.5 kg", 500, "g"),
        ("1 Kg", 1000, "g"),
        ("500ml", 500, "ml"),
        ("5 l", 5000, "ml"),
        ("1,5 L", 1500, "ml"),
        ("½ L", 500, "ml"),
        ("1/2 L", 500, "ml"),
        ("2 1/2 L", 2500, "ml"),
        ("2½ L", 2500, "ml"),
        ("half a litre", 500, "ml"),
        ("two and a half litres", 2500, "ml"),
        ("a third of a litre", 1000 / 3, "ml"),
        ("2 kg 300 g", 2300, "g"),
        ("two teaspoons", 10, "ml"),
        ("3 cl", 30, "ml"),
        ("12 cm3", 12, "ml"),
        ("two fingers", 38, "mm"),
        ("80 µm", 0.08, "mm"),
    ],
)
def test_amounts_in_canonical_units(text: str, value: float, unit: str) -> None:
    """Figures, fractions and number words come out in g, ml or mm."""
    found = read(text)
    assert found.value == pytest.approx(value)
    assert found.unit == unit
    assert found.text == text


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("18 h", 64800),
        ("3 days", 259200),
        ("1 h 30 min", 5400),
        ("1h30", 5400),
        ("an hour and a half", 5400),
        ("a week", 604800),
        ("half an hour", 1800),
        ("90 min", 5400),
    ],
)
def test_lengths_of_time(text: str, seconds: float) -> None:
    """Hours, days and what is said of them come out in seconds."""
    assert read(text, "time").value == pytest.approx(seconds)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("17 degC", 17),
        ("17 °C", 17),
        ("17 C", 17),
        ("-3 °C", -3),
        ("minus 3 degC", -3),
        ("62.6 F", 17),
        ("-4 °F", -20),
        ("290.15 K", 17),
        ("14-20 C", 17),
    ],
)
def test_temperatures(text: str, celsius: float) -> None:
    """Every scale comes out in degrees Celsius and spreads evenly (0 C = 32 F = 273.15 K by definition)."""
    found = read(text, "temperature")
    assert found.value == pytest.approx(celsius)
    assert (found.unit, found.shape) == ("degC", "normal")


@pytest.mark.parametrize(
    ("text", "share"),
    [("about 2 L", 0.15), ("~2 L", 0.15), ("nearly 2 L", 0.15), ("2 L or so", 0.15), ("roughly 2 L", 0.30)],
)
def test_hedged_amounts_are_by_eye(text: str, share: float) -> None:
    """The word "about" is an sd of 15 %, "roughly" one of 30 % (common practice)."""
    found = read(text)
    assert found.how == "by eye"
    assert found.sd == pytest.approx(2000 * share)


def test_a_third_of_the_jar() -> None:
    """A share names what it is a share of, with an sd of 30 %."""
    found = read("roughly a third of the plum-gum jar")
    assert (found.dimension, found.of, found.how) == ("fraction", "plum-gum", "by eye")
    assert found.value == pytest.approx(1 / 3)
    assert found.sd == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("text", "value", "of"),
    [
        ("half", 0.5, None),
        ("half of it", 0.5, None),
        ("half the tub", 0.5, "tub"),
        ("two thirds of the sumac", 2 / 3, "sumac"),
        ("30 %", 0.3, None),
        ("30 % of the tub", 0.3, "tub"),
        ("all", 1, None),
        ("everything", 1, None),
        ("all of the plum gum", 1, "plum-gum"),
        ("1/3", 1 / 3, None),
    ],
)
def test_shares(text: str, value: float, of: str | None) -> None:
    """Shares in words, per cent and figures."""
    found = read(text)
    assert found.dimension == "fraction"
    assert found.value == pytest.approx(value)
    assert found.of == of


def test_all_is_exact() -> None:
    """All is all."""
    assert (read("all").sd, read("all").how) == (0, "exact")


@pytest.mark.parametrize(
    "text", ["40-60 ml", "40–60 ml", "40 to 60 ml", "between 40 and 60 ml", "40 ml to 60 ml"]
)
def test_a_range_is_five_to_ninety_five_per_cent(text: str) -> None:
    """The ends of a range are its 5 and 95 % points on the log scale."""
    found = read(text)
    z = NormalDist().inv_cdf(0.95)
    assert found.how == "range"
    assert found.beyond(z) == pytest.approx(60)
    assert found.beyond(-z) == pytest.approx(40)


def test_a_range_of_an_even_dimension() -> None:
    """A range of temperature or pH spreads evenly about its middle."""
    found = read("3-4", "ph")
    z = NormalDist().inv_cdf(0.95)
    assert found.value == pytest.approx(3.5)
    assert found.value + z * found.sd == pytest.approx(4)


def test_a_range_from_nought() -> None:
    """A range that begins at nought has no logarithm and spreads evenly."""
    found = read("0-5 ml")
    assert (found.shape, found.value) == ("normal", pytest.approx(2.5))


@pytest.mark.parametrize("text", ["200 ± 5 g", "200 g +/- 5 g", "200 +- 5 g"])
def test_plus_minus_is_one_standard_deviation(text: str) -> None:
    """What stands after plus-minus is the sd."""
    found = read(text)
    assert (found.value, found.sd) == (pytest.approx(200), pytest.approx(5))


def test_a_given_sd_is_in_the_written_unit() -> None:
    """A bare sd is in the unit of the text; one with a unit is converted."""
    assert read("2 L", sd=0.1).sd == pytest.approx(100)
    assert read("2 L", sd="50 ml").sd == pytest.approx(50)


def test_measured_amounts_carry_their_instrument() -> None:
    """A plain "200 g" has the error of a kitchen scale; a named balance has its own."""
    scale, balance = read("200 g"), read("200 g", instrument="pocket_scale")
    assert scale.how == balance.how == "measured"
    assert scale.sd == pytest.approx(math.hypot(1, 0.005 * 200))
    assert balance.sd < scale.sd


def test_written_decimals_say_which_scale_it_was() -> None:
    """A figure of "0.30 g" was not read from a scale that shows grams."""
    assert read("0.30 g").sd < 0.02
    assert read("3 g").sd >= 1


def test_spoons_are_by_eye() -> None:
    """A unit that is filled by hand has the spread of filling it, and hedging widens it."""
    plain, hedged = read("2 teaspoons"), read("about 2 teaspoons")
    assert plain.how == "by eye"
    assert plain.sd < hedged.sd


def test_a_pint_may_be_either() -> None:
    """A bare pint lies between the two that are defined, and reaches both within one sd or so."""
    bare, us, imperial = (read(f"1 {name}") for name in ("pint", "us pint", "imperial pint"))
    assert us.value < bare.value < imperial.value
    assert bare.beyond(-1.1) < us.value
    assert bare.beyond(1.1) > imperial.value


def test_thinned() -> None:
    """One in eight is an eighth."""
    assert read("1 in 8", "fraction").value == pytest.approx(1 / 8)


@pytest.mark.parametrize(
    ("text", "how"), [("overnight", "by eye"), ("18 h", "measured"), ("2-3 days", "range")]
)
def test_how_a_time_was_come_by(text: str, how: str) -> None:
    """Words are by eye, figures by clock."""
    assert read(text, "time").how == how


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("-5 g", "less than nothing"),
        ("minus 5 g", "less than nothing"),
        ("0 g", "is nothing"),
        ("5", "has no unit"),
        ("18 h", "a length of time"),
        ("5 flurbs", "no unit"),
        ("1,500 ml", "thousands or a decimal"),
        ("60-40 ml", "from less to more"),
        ("", "empty"),
        ("some of it", "not understood"),
        ("1e999 g", "not finite"),
        ("1/0 g", "divides by nothing"),
        ("3 kg 200 ml", "adds mass to volume"),
        ("x" * 200, "longer"),
        ("3 gr", "no unit"),
    ],
)
def test_refused(text: str, says: str) -> None:
    """What is not an amount of the wanted kind is refused, saying why."""
    with pytest.raises(QuantityError, match=says):
        read(text, "mass", "volume", "fraction")


@pytest.mark.parametrize("value", [True, None, [], {}, float("nan"), float("inf"), -(10**20)])
def test_what_is_no_text(value: object) -> None:
    """JSON that is neither text nor a number is refused."""
    with pytest.raises(QuantityError):
        read(value, "ph")  # type: ignore[arg-type]


def test_the_nearest_unit_is_named() -> None:
    """A misspelt unit names its neighbour."""
    with pytest.raises(QuantityError, match="nearest is spoonful"):
        read("5 spoonfull")


def test_nought_is_allowed_where_asked() -> None:
    """A reading may be nought; it then spreads evenly, for nought has no logarithm."""
    found = read("0 mmol/L", "amount_conc", nought=True)
    assert (found.value, found.shape) == (0, "normal")


def test_bare_numbers_only_where_they_mean_something() -> None:
    """A pH needs no unit, a mass does."""
    assert read(3.5, "ph").value == pytest.approx(3.5)
    assert read("pH 3.5", "ph").value == pytest.approx(3.5)
    with pytest.raises(QuantityError, match="has no unit"):
        read(3.5, "mass")


@pytest.mark.parametrize(
    ("a", "b"),
    [("Sumac leaves", "sumac-leaf"), ("OAK  GALLS", "oak gall"), ("pot_2", "Pot 2"), ("glass", "Glass")],
)
def test_fold(a: str, b: str) -> None:
    """Names are compared without case, plural, hyphen or doubled space."""
    assert fold(a) == fold(b)


@pytest.mark.parametrize("text", list(PLAIN))
def test_the_plain_table_is_what_the_units_library_says(text: str) -> None:
    """The short table of everyday units agrees with pint, which follows the SI brochure (BIPM 2019)."""
    dimension, factor, offset = PLAIN[text]
    theirs = by_library(text)
    assert theirs is not None
    assert theirs[0] == dimension
    assert theirs[1:] == pytest.approx((factor, offset), rel=1e-12, abs=1e-9)
