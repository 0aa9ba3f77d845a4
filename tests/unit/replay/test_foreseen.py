"""What each reading should have been, against values that can be worked out by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from inkhorn.colour.lab import lab_to_linear
from inkhorn.flow import cups
from inkhorn.handbook.load import row, value
from inkhorn.replay import ground, people
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import make_plan, play
from inkhorn.replay.scene import measure_of
from support.daybooks import recorded
from support.replays import medians

WATER = {"at": "2026-09-01T08:00", "kind": "add", "into": "pot", "liquid": "water", "amount": "1 L"}


def read(of: str, what: str, said: Any, *, at: str = "2026-09-01T09:00", **more: Any) -> dict[str, Any]:
    """Return a reading."""
    keys = {k.rstrip("_"): v for k, v in more.items()}
    return {"at": at, "kind": "reading", "of": of, "what": what, "value": said, **keys}


def foreseen(entries: list[dict[str, Any]], draws: Draws | None = None) -> np.ndarray:
    """Return what the last reading should have been, at the medians of every unknown."""
    plan = make_plan(recorded(entries))
    assert plan.evidence, "the reading is no evidence"
    return play(plan, draws or medians()).predicted[plan.evidence[-1].number][:, 0]


def test_a_pot_of_water_is_as_warm_as_the_room() -> None:
    """Where nobody heated it, a pot is as warm as the room."""
    assert foreseen([WATER, read("vessel:pot", "temperature", "18 degC")]) == pytest.approx(value("pot.room"))


@pytest.mark.parametrize(
    ("what", "said", "expected"),
    [("specific_gravity", "1.000", 1.0), ("barkometer", "0", 0.0), ("brix", "0", 0.0)],
)
def test_water_reads_nothing_on_every_scale(what: str, said: str, expected: float) -> None:
    """Water shows 1.000, 0 degrees barkometer and 0 Brix, but for its hardness."""
    assert foreseen([WATER, read("vessel:pot", what, said)]) == pytest.approx(expected, abs=0.06)


def test_a_barkometer_counts_thousandths_of_gravity() -> None:
    """Degrees barkometer are a thousand times the excess of specific gravity over one (Blair 1944)."""
    salted = [
        WATER,
        {"at": "2026-09-01T08:10", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "80 g"},
    ]
    gravity = foreseen([*salted, read("vessel:pot", "specific_gravity", "1.04")])[0]
    degrees = foreseen([*salted, read("vessel:pot", "barkometer", "40")])[0]
    assert degrees == pytest.approx(1000 * (gravity - 1))
    assert 30 < degrees < 50


def test_a_refractometer_sees_plant_matter_too_strong_and_gum_true() -> None:
    """Tannic acid shows by the handbook's factor too much; gum shows its share of the mass."""
    for lot, factor in (("tannic-acid", value("density.brix_over_read")), ("gum-arabic", 1.0)):
        grams = {"at": "2026-09-01T08:10", "kind": "add", "into": "pot", "lot": lot, "amount": "100 g"}
        shown = foreseen([WATER, grams, read("vessel:pot", "brix", "9")])[0]
        dry = {
            "tannic-acid": value("materials.tannic-acid.purity"),
            "gum-arabic": 1 - value("materials.gum-arabic.moisture"),
        }
        assert shown == pytest.approx(100 * factor * 100 * dry[lot] / (100 + 998.6), rel=0.01)


def test_a_drop_of_water_weighs_what_tate_and_harkins_say() -> None:
    """A slow drop of water at 18 degC from a tip of 1.5 mm: 2 pi r sigma / g times 0.678 is 47.5 mg.

    Tate's law with the correction of Harkins and Brown (1919); worked by hand
    with 73.05 mN/m (IAPWS R1-76) and f(0.414) = 0.678.
    """
    tate = 2 * np.pi * 1.5 * 73.05 / 9.80665
    one = foreseen([WATER, read("vessel:pot", "drop_mass", "0.048 g")])[0]
    assert np.exp(one) * 1000 == pytest.approx(tate * 0.678, rel=0.005)
    ten, beside = foreseen([WATER, read("vessel:pot", "ten_drops", "0.48 g", water="0.48 g")])
    assert ten == pytest.approx(one + np.log(10))
    assert ten == pytest.approx(beside, abs=0.002)


def test_ten_drops_by_volume_are_their_mass_over_the_density() -> None:
    """Ten drops told in ml are ten drops told in g over the density of water at 18 degC, 0.9986."""
    grams = foreseen([WATER, read("vessel:pot", "ten_drops", "0.48 g")])[0]
    ml = foreseen([WATER, read("vessel:pot", "ten_drops", "0.48 ml")])[0]
    assert grams - ml == pytest.approx(np.log(0.9986), abs=1e-4)


def test_an_ink_drips_smaller_than_water() -> None:
    """Tannin and gum lower the surface tension: ten drops of an ink weigh less than of water, by 10 to 25 %."""
    ink = [
        {"at": "2026-09-01T08:10", "kind": "add", "into": "pot", "lot": "tannic-acid", "amount": "40 g"},
        {"at": "2026-09-01T08:20", "kind": "add", "into": "pot", "lot": "gum-arabic", "amount": "30 g"},
    ]
    drops, water = foreseen([WATER, *ink, read("vessel:pot", "ten_drops", "0.4 g", water="0.48 g")])
    assert 0.75 < np.exp(drops - water) < 0.9


def test_water_runs_out_as_water_does() -> None:
    """Of a pot of water a device gives what it gave with water beside it, whatever the device."""
    ink, water = foreseen([WATER, read("vessel:pot", "discharge", "34 s", water="34 s", with_="syringe")])
    assert ink == pytest.approx(water, abs=1e-3)
    # At 20 degC it is the device's own time; at the room's 18 degC water is 5 % thicker (IAPWS).
    assert np.exp(water) / value("flow.discharge.water") == pytest.approx(1.04, abs=0.02)


def test_a_flow_cup_needs_no_water() -> None:
    """The 3 mm cup's constants are the standard's: water at 18 degC would run out in 22.4 s (ISO 2431)."""
    got = foreseen([WATER, read("vessel:pot", "discharge", "57 s", with_="3 mm cup")])[0]
    expected = float(cups.cup_time(1.0530 / 0.99859, a=0.443, b=200))
    assert np.exp(got) == pytest.approx(expected, rel=1e-3)
    assert expected == pytest.approx(22.4, abs=0.1)


def test_time_runs_with_thickness() -> None:
    """An ink twice as thick by its viscosity takes nearly twice as long where the exit loss is small."""
    gum = {"at": "2026-09-01T08:10", "kind": "add", "into": "pot", "lot": "gum-arabic", "amount": "100 g"}
    thick = foreseen([WATER, gum, read("vessel:pot", "viscosity", "2 mPa s")])[0]
    plain = foreseen([WATER, read("vessel:pot", "viscosity", "1 mPa s")])[0]
    ink, water = foreseen(
        [WATER, gum, read("vessel:pot", "discharge", "60 s", water="34 s", with_="syringe")]
    )
    assert 0.8 < (ink - water) / (thick - plain) <= 1.1


LINE = {
    "at": "2026-09-01T08:30", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-parchment", "method": "line", "pen": "reed-3mm",
}  # fmt: skip
PEN = {"at": "2026-09-01T08:05", "kind": "pen", "name": "reed-3mm", "cut": "reed", "width": "3 mm"}


def test_a_line_is_as_wide_as_the_pen_and_what_creeps() -> None:
    """At the medians a stroke is the pen's edge, a little more with water, and the creep of both edges."""
    got = np.exp(foreseen([WATER, PEN, LINE, read("trial:t1", "line_width", "3.1 mm")])[0])
    against = value("pens.all.reference_viscosity") / 1.0530
    expected = 3.0 * against ** value("line.run") + 2 * value("line.creep") / 1000 * np.sqrt(against)
    assert got == pytest.approx(expected, rel=1e-3)


def test_thirst_makes_a_line_wider_thinner_and_ragged() -> None:
    """On a thirstier support the same pen draws wider, more ragged and with a thinner film; the ink is the same."""
    draws = Draws({}, np.zeros((0, 2)))
    taken, mu = np.array([0.5, 4.0]), np.array([2.5, 2.5])
    edge = np.array([0.7, 0.7])
    wide = ground.line_width(tool="q", edge=edge, taken=taken, viscosity=mu, draws=draws)
    ragged = ground.raggedness(taken=taken, viscosity=mu, draws=draws)
    film = ground.thinning(0.7, taken)
    assert wide[1] > wide[0]
    assert ragged[1] > ragged[0]
    assert film[0] > 1 > film[1]
    # What the pen laid along a metre is the same on both.
    assert (film * wide)[0] == pytest.approx((film * wide)[1])


def test_a_stroke_of_water_has_the_colour_of_the_skin() -> None:
    """A stroke without ink reads the Lab of its support, as it was read."""
    skin = read("support:goat-parchment", "lab", {"L": 82.0, "a": 2.0, "b": 15.0}, at="2026-09-01T08:01")
    lab = {"L": 82.0, "a": 2.0, "b": 15.0}
    got = foreseen([WATER, skin, PEN, LINE, read("trial:t1", "lab", lab)])
    assert got == pytest.approx([82.0, 2.0, 15.0], abs=0.3)


def test_the_skin_of_a_colour_is_an_unknown() -> None:
    """Where a trial's Lab is read, the colour of its support is known only as well as it was read, or as the handbook has it."""
    told = read("support:goat-parchment", "lab", {"L": 82.0, "a": 2.0, "b": 15.0}, sd=0.5)
    seen = read("trial:t1", "lab", {"L": 40.0, "a": 0.0, "b": 1.0})
    for entries, sd in (
        ([WATER, PEN, LINE, told, seen], 0.5),
        ([WATER, PEN, LINE, seen], row("supports.goat-parchment.L").spread),
    ):
        plan = make_plan(recorded(entries))
        assert {f"support:goat-parchment/{axis}" for axis in "Lab"} <= set(plan.unknowns)
        assert plan.scene.grounds["goat-parchment"].lab_sd[0] == pytest.approx(sd)


@pytest.mark.parametrize(
    ("days", "with_iron", "word"),
    [(0.1, False, "clear"), (60, False, "mould skin"), (0.1, True, "clear"), (12, True, "film")],
)
def test_a_top_goes_from_clear_to_mould(days: float, with_iron: bool, word: str) -> None:
    """A bark liquor is clear on the first day and under a skin of mould in two months; a turned ink has a film in days."""
    steps = [
        WATER,
        {"at": "2026-09-01T08:10", "kind": "add", "into": "pot", "lot": "tannic-acid", "amount": "40 g"},
        *([{"at": "2026-09-01T08:20", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "20 g"}] if with_iron else []),
        {"at": "2026-09-01T08:30", "kind": "store", "vessel": "pot", "how": "open on the shelf"},
    ]  # fmt: skip
    at = (np.datetime64("2026-09-01T08:30") + np.timedelta64(int(days * 86400), "s")).item().isoformat()
    level = foreseen([*steps, read("vessel:pot", "surface", word, at=at)])[0]
    place = people.words("surface").index(word)
    edges = (-np.inf, *people.cuts("surface"), np.inf)
    assert edges[place] < level < edges[place + 1]


@pytest.mark.parametrize(
    ("material", "what", "said", "share"),
    [
        # FeSO4.7H2O is 278.01 g/mol, iron 55.845, the monohydrate that 105 degC leaves 169.92 (IUPAC masses).
        ("ferrous sulfate heptahydrate", "total_iron", "20 %", 55.845 / 278.01),
        ("ferrous sulfate heptahydrate", "dry_residue", "61 %", 169.92 / 278.01),
        # Gallic acid monohydrate, 188.13, holds gallic acid, 170.12.
        ("gallic acid monohydrate", "total_phenols", "90 %", 170.12 / 188.13),
        ("gallic acid", "total_phenols", "100 %", 1.0),
        # FeS2 is 119.97 g/mol.
        ("pyrite", "total_iron", "40 %", 55.845 / 119.97),
    ],
)  # fmt: skip
def test_a_lot_is_assayed_as_its_formula_says(material: str, what: str, said: str, share: float) -> None:
    """Of a pure substance an assay finds what the formula says, times how pure the handbook has it."""
    lot = {
        "at": "2026-09-01T08:00",
        "kind": "gather",
        "lot": "lot-1",
        "material": material,
        "amount": "200 g",
    }
    got = np.exp(foreseen([lot, read("lot:lot-1", what, said)])[0])
    purity = value("heap.pyrite.sulfide") if material == "pyrite" else 1.0
    assert got == pytest.approx(share * purity, rel=0.03)


def test_a_plant_is_assayed_by_its_phenols() -> None:
    """Sumac leaf at its medians: dry share times tannin, gallic acid beside it, both a group for 170 g, as gallic acid."""
    lot = {
        "at": "2026-09-01T08:00",
        "kind": "gather",
        "lot": "sumac-leaf",
        "material": "sumac leaf",
        "amount": "1 kg",
    }
    got = np.exp(foreseen([lot, read("lot:sumac-leaf", "total_phenols", "20 %")])[0])
    book = {
        k: value(f"materials.sumac-leaf.{k}")
        for k in ("moisture", "tannin", "pyrogallol_share", "gallo_share", "gallic")
    }
    group = {k: value(f"binding.groups.{k}") for k in ("gallotannin", "ellagitannin", "condensed", "gallic")}
    pyro, gallo = book["pyrogallol_share"], book["gallo_share"]
    mix = pyro * gallo * group["gallotannin"] + pyro * (1 - gallo) * group["ellagitannin"]
    mix += (1 - pyro) * group["condensed"] + book["gallic"] * group["gallic"]
    assert got == pytest.approx((1 - book["moisture"]) * book["tannin"] * mix * 170.12, rel=1e-3)


def test_a_liquid_lot_is_read_like_any_liquor() -> None:
    """Of a bought vinegar pH and gravity are foreseen; vinegar of 5 % is about pH 2.4 to 2.9."""
    lot = {
        "at": "2026-09-01T08:00",
        "kind": "gather",
        "lot": "vinegar-1",
        "material": "vinegar",
        "amount": "1 L",
    }
    assert 2.2 < foreseen([lot, read("lot:vinegar-1", "ph", "2.5")])[0] < 3.1
    assert 0.99 < foreseen([lot, read("lot:vinegar-1", "specific_gravity", "1.01")])[0] < 1.05


def test_a_measure_of_a_lot_is_its_mass_over_its_bulk() -> None:
    """A levelled volume of a solid lot is its mass over the bulk density of its material."""
    lot = {
        "at": "2026-09-01T08:00",
        "kind": "gather",
        "lot": "oak-galls",
        "material": "oak galls",
        "amount": "300 g",
    }
    got = np.exp(foreseen([lot, read("lot:oak-galls", "volume", "500 ml")])[0])
    assert got == pytest.approx(300 / value("materials.oak-galls.bulk_density"), rel=1e-6)


def test_the_colour_of_an_exemplar_is_a_density() -> None:
    """Lab of an exemplar's ink and skin give -log10 of their linear channels; a doubtful skin makes a doubtful density."""
    ink, bare = {"L": 35.0, "a": 1.0, "b": 2.0}, {"L": 86.0, "a": 1.0, "b": 13.0}
    seen = [read("exemplar:page", "lab", ink, sd=1.0), read("exemplar:page", "support_lab", bare, sd=1.0)]
    got = make_plan(recorded(seen)).scene.targets["page"]
    linear = [lab_to_linear(np.array(list(lab.values()))) for lab in (ink, bare)]
    assert got.density == pytest.approx(np.log10(linear[1] / linear[0]))
    blind = make_plan(recorded(seen[:1])).scene.targets["page"]
    assert np.trace(blind.covariance) > np.trace(got.covariance)


def test_a_lab_and_a_density_of_one_page_agree() -> None:
    """The same page measured both ways is known better than either way, and no two ways."""
    ink, bare = {"L": 35.0, "a": 1.0, "b": 2.0}, {"L": 86.0, "a": 1.0, "b": 13.0}
    seen = [read("exemplar:page", "lab", ink, sd=1.0), read("exemplar:page", "support_lab", bare, sd=1.0)]
    one = make_plan(recorded(seen)).scene.targets["page"]
    also = read(
        "exemplar:page", "optical_density", dict(zip("RGB", one.density.tolist(), strict=True)), sd=0.03
    )
    both = make_plan(recorded([*seen, also])).scene.targets["page"]
    assert both.density == pytest.approx(one.density, abs=1e-3)
    assert np.all(np.diag(both.covariance) < np.diag(one.covariance))
    last = make_plan(recorded([also])).entries[0]
    assert measure_of(last.number, last.entry, {}).density == pytest.approx(one.density)


def test_the_side_that_was_read_stands() -> None:
    """A reading of the side turns the support over: the hair side of a skin is less thirsty than the flesh side."""

    def thirst(side: str) -> float:
        turned = read("support:goat-parchment", "side", side)
        return foreseen([WATER, PEN, LINE, turned, read("support:goat-parchment", "absorbency", "takes")])[0]

    assert thirst("flesh") - thirst("hair") == pytest.approx(
        np.log(value("line.side.flesh") / value("line.side.hair"))
    )
