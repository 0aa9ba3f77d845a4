"""Readings: what may be read of what, in which units it comes out, and with which sd."""

from __future__ import annotations

from typing import Any

import pytest

from inkhorn.daybook.readings import FORMS, channel_sd
from inkhorn.daybook.wire import decode
from inkhorn.daybook.words import resolve_word, scale
from inkhorn.errors import EntryErrors, UnknownNameError
from inkhorn.quantities import Quantity


def read(of: str, what: str, value: Any, **more: Any) -> Any:
    """Decode one reading."""
    keys = {key.rstrip("_"): v for key, v in more.items()}
    return decode(
        {"at": "2026-09-13T15:00", "kind": "reading", "of": of, "what": what, "value": value, **keys}
    )


@pytest.mark.parametrize(
    ("what", "text", "value", "unit"),
    [
        ("mass", "1.2 kg", 1200, "g"),
        ("volume", "0.7 L", 700, "ml"),
        ("temperature", "62.6 F", 17, "degC"),
        ("ph", "3.5", 3.5, "1"),
        ("ph", 3.5, 3.5, "1"),
        ("specific_gravity", "1.045", 1.045, "1"),
        ("specific_gravity", "0.998207 g/ml", 1, "1"),
        ("barkometer", "20", 20, "degBk"),
        ("brix", "6 %", 6, "degBx"),
        ("dry_residue", "5.5 g/100 ml", 55, "g/L"),
        ("dry_residue", "5.5 %", 0.055, "1"),
        ("viscosity", "2.4 cP", 2.4, "mPa s"),
        ("viscosity", "0.0024 Pa s", 2.4, "mPa s"),
        ("drop_mass", "45 mg", 0.045, "g"),
        ("discharge", "1 min 5 s", 65, "s"),
        ("total_iron", "5.5845 g/L", 100, "mmol/L"),
        ("total_iron", "5584.5 mg/L", 100, "mmol/L"),
        ("total_iron", "100 mmol/L", 100, "mmol/L"),
        ("total_phenols", "12 g/L", 12, "g/L"),
        ("total_phenols", "1000 mmol/L", 170.12, "g/L"),
        ("gum", "30 g/L", 30, "g/L"),
    ],
)
def test_canonical_units(what: str, text: Any, value: float, unit: str) -> None:
    """Each figure comes out in one unit (iron by its atomic weight 55.845, phenols as gallic acid 170.12)."""
    found = read("vessel:tub", what, text).value
    assert isinstance(found, Quantity)
    assert found.value == pytest.approx(value)
    assert found.unit == unit
    assert found.sd > 0


def test_relative_spread_survives_the_change_of_unit() -> None:
    """Turning g/L into mmol/L leaves the relative sd as it was."""
    found = read("vessel:tub", "total_iron", "5.5845 g/L", sd=0.55845).value
    assert found.sd / found.value == pytest.approx(0.1)


def test_a_lot_is_assayed_by_mass() -> None:
    """Of a solid lot, iron is a share of its mass."""
    for text in ("19.5 %", "195 mg/g"):
        found = read("lot:bought-green-vitriol", "total_iron", text).value
        assert (found.dimension, found.value) == ("fraction", pytest.approx(0.195))


def test_the_instrument_sets_the_sd() -> None:
    """A strip reads to half a unit of pH, a glass electrode to a twentieth (common practice)."""
    assert read("vessel:tub", "ph", "3.5", with_="strip").value.sd == pytest.approx(0.5)
    assert read("vessel:tub", "ph", "3.5", with_="pH meter").value.sd == pytest.approx(0.05)
    assert read("vessel:tub", "ph", "3.5", with_="strip", sd=0.2).value.sd == pytest.approx(0.2)


def test_channels() -> None:
    """Three channels with one sd, or one each, or that of the instrument."""
    rgb = {"R": 0.82, "G": 0.88, "B": 0.86}
    one = read("trial:t1", "optical_density", rgb, sd=0.03)
    assert one.value == rgb
    assert channel_sd(one) == {"R": 0.03, "G": 0.03, "B": 0.03}
    each = read("trial:t1", "optical_density", rgb, sd={"R": 0.03, "G": 0.04, "B": 0.05})
    assert channel_sd(each)["B"] == 0.05
    bare = read("trial:t1", "optical_density", rgb)
    fine = read("trial:t1", "optical_density", rgb, with_="densitometer")
    assert channel_sd(bare)["R"] > channel_sd(fine)["R"] > 0
    assert channel_sd(read("exemplar:page", "lab", {"L": 31, "a": 1, "b": 2}))["L"] > 0


def test_an_exemplar() -> None:
    """Of an exemplar a photograph, densities, Lab and the Lab of its support are read."""
    assert set(FORMS["exemplar"]) == {"photo", "optical_density", "lab", "support_lab"}
    assert read("exemplar:Folio 3", "support_lab", {"l": 85, "a": 3, "b": 15}).of == "exemplar:folio-3"


def test_than() -> None:
    """A trial is held against another in one word."""
    entry = read("trial:t1", "than", "Darker t3")
    assert entry.value == "darker t3"
    assert entry.compared == ("darker", "t3")
    assert read("trial:t1", "than", "paler than t3").compared == ("paler", "t3")


@pytest.mark.parametrize(
    ("of", "what", "word"),
    [
        ("vessel:tub", "body", "Flows Well"),
        ("vessel:tub", "surface", "mould spots"),
        ("trial:t1", "depth", "a little pale"),
        ("trial:t1", "hue", "much browner"),
        ("trial:t1", "flow", "skips"),
        ("support:goat-1", "absorbency", "drinks"),
        ("support:goat-1", "side", "hair"),
    ],
)
def test_words(of: str, what: str, word: str) -> None:
    """Words of a scale are understood in any case."""
    assert read(of, what, word).value == word.casefold()


@pytest.mark.parametrize(
    ("of", "what", "value", "says"),
    [
        ("vessel:tub", "depth", "right", "not read of a vessel"),
        ("trial:t1", "ph", "3.5", "not read of a trial"),
        ("vessel:tub", "viscosty", "3.5", "nearest is viscosity"),
        ("vessel:tub", "body", "flows wel", "nearest is flow"),
        ("tub", "ph", "3.5", "what was read"),
        ("vesel:tub", "ph", "3.5", "nearest is vessel"),
        ("vessel:", "ph", "3.5", "name of a thing"),
        ("vessel:tub", "ph", "3.5 g", "a mass"),
        ("vessel:tub", "volume", "-2 L", "less than nothing"),
        ("vessel:tub", "viscosity", "3", "no unit"),
        ("trial:t1", "optical_density", 0.8, "three channels"),
        ("trial:t1", "optical_density", {"R": 1, "G": 1}, "B is not given"),
        ("trial:t1", "optical_density", {"R": 1, "G": 1, "B": "1"}, "no number"),
        ("trial:t1", "optical_density", {"R": 1, "G": 1, "B": 1, "K": 1}, "no channel"),
        ("trial:t1", "lab", {"L": 131, "a": 1, "b": 1}, "outside 0 to 100"),
        ("trial:t1", "than", "bigger t3", "no word of than"),
        ("trial:t1", "than", "darker", "name of a thing"),
        ("trial:t1", "photo", 5, "text"),
    ],
)
def test_refused(of: str, what: str, value: Any, says: str) -> None:
    """What does not fit the subject is refused, naming the nearest that would."""
    with pytest.raises(EntryErrors, match=says):
        read(of, what, value)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"with_": "kitchen scale"}, "not read with"),
        ({"with_": "crystal ball"}, "no instrument"),
        ({"against": "page"}, "not held against"),
        ({"water": "7"}, "no figure for water"),
        ({"sd": 0}, "not more than nothing"),
        ({"sd": "1 g"}, "another kind"),
        ({"sd": []}, "no number"),
    ],
)
def test_what_does_not_go_with_a_reading(more: dict[str, Any], says: str) -> None:
    """An instrument, exemplar, water figure or sd that does not fit is refused."""
    with pytest.raises(EntryErrors, match=says):
        read("vessel:tub", "ph", "3.5", **more)


def test_ten_drops_beside_water() -> None:
    """The same device's figure for water stands beside it, measured the same way."""
    assert read("vessel:tub", "ten_drops", "0.45 g", water="0.5 g").water.value == pytest.approx(0.5)
    with pytest.raises(EntryErrors, match="as the ink was"):
        read("vessel:tub", "ten_drops", "0.45 g", water="0.5 ml")


def test_scales_rise() -> None:
    """The cut points of a scale rise, one fewer than its words, each with a spread between people."""
    for name in ("body", "surface", "depth", "hue", "flow", "absorbency"):
        chosen = scale(name)
        cuts = [cut.value for cut in chosen.cuts]
        assert len(cuts) == len(chosen.words) - 1
        assert cuts == sorted(cuts)
        assert all(cut.spread > 0 for cut in chosen.cuts)
        assert chosen.blur is not None
    assert scale("body").rank("watery") < scale("body").rank("drags")
    assert scale("side").cuts == ()


def test_the_words_are_named() -> None:
    """A word of no scale is refused with the words there are."""
    with pytest.raises(UnknownNameError, match="watery, thin, flows well, thick, drags"):
        resolve_word("gloopy", "body")


@pytest.mark.parametrize(
    ("what", "text", "how", "value"),
    [
        ("viscosity", "more than 10 mPa s", "above", 10),
        ("ph", "< 2", "below", 2),
        ("volume", "at least 2 L", "above", 2000),
        ("volume", "no more than 2 L", "below", 2000),
        ("volume", "2 L", "measured", 2000),
    ],
)
def test_a_limit_is_told_as_one(what: str, text: str, how: str, value: float) -> None:
    """A reading may say only "more than" or "less than"; its words are kept as written."""
    found = read("vessel:tub", what, text).value
    assert (found.how, found.value, found.text) == (how, pytest.approx(value), text)


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("18 %", 0.18),
        ("180 mg/g as gallic acid", 0.18),
        # Decagalloyl glucose, 1701.2 g/mol, has ten galloyl groups; gallic acid, 170.12 g/mol, is one.
        ("180 mg/g as tannic acid", 0.18 * (10 / 1701.2) / (1 / 170.12)),
        ("180 mg/g TAE", 0.18 * (10 / 1701.2) / (1 / 170.12)),
        # Catechin, 290.27 g/mol, has one catechol group; the handbook counts a unit of condensed tannin, 288.26.
        ("18 % (as catechin)", 0.18 * (1 / 288.26) / (1 / 170.12)),
    ],
)
def test_phenols_are_told_against_a_standard(text: str, share: float) -> None:
    """Phenols told against tannic acid or catechin are turned into gallic acid by their phenol groups."""
    assert read("lot:sumac-leaf", "total_phenols", text).value.value == pytest.approx(share, rel=2e-3)
