"""The make-believe workshop: it does what entries say, a little otherwise, and always the same under a seed."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from inkhorn.errors import (
    EntryError,
    HandbookError,
    MissingKeyError,
    QuantityError,
    TimeError,
    UnknownNameError,
)
from inkhorn.simulate.liquor import PARTS
from inkhorn.simulate.maker import Maker
from inkhorn.simulate.truth import Truth

BREW: list[dict[str, Any]] = [
    {"at": "2026-09-12T09:00", "kind": "gather", "lot": "leaf", "material": "sumac leaf", "amount": "900 g"},
    {"kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "200 g"},
    {"kind": "gather", "lot": "plum-gum", "material": "plum gum", "amount": "60 g"},
    {
        "at": "2026-09-12T10:15", "kind": "steep", "lot": "leaf", "amount": "200 g", "liquid": "spring water",
        "liquid_amount": "about 3 L", "into": "tub", "for": "18 h", "temperature": "17 degC", "pieces": "crushed",
    },
    {"at": "2026-09-13T08:00", "kind": "strain", "vessel": "tub", "into": "pot"},
    {"at": "2026-09-13T09:00", "kind": "reduce", "vessel": "pot", "to": "about 1 L"},
    {"at": "2026-09-13T15:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "12 g"},
    {"at": "2026-09-13T15:10", "kind": "add", "into": "pot", "lot": "plum-gum", "amount": "a third of the plum-gum jar"},
    {"at": "2026-09-13T15:20", "kind": "rest", "vessel": "pot", "for": "12 h", "covered": True},
    {
        "at": "2026-09-14T09:00", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1",
        "method": "pen", "pen": "reed-3mm",
    },
]  # fmt: skip


def brewed(seed: int = 3, **how: Any) -> Truth:
    """Return a truth to which the short brew has happened."""
    truth = Truth(seed, **how)
    for entry in BREW:
        truth.apply(entry)
    return truth


def test_same_seed_same_truth() -> None:
    """Two workshops of one seed hold the same, and another seed's holds something else."""
    assert brewed(3).true("pot") == brewed(3).true("pot")
    assert brewed(4).true("pot")["iron_total"] != brewed(3).true("pot")["iron_total"]


def test_draws_do_not_depend_on_what_else_is_there() -> None:
    """A lot declared after all the others leaves their strengths alone."""
    one, two = Truth(5), Truth(5)
    two.apply({"kind": "gather", "lot": "bark", "material": "oak bark", "amount": "1 kg"})
    for truth in (one, two):
        truth.apply(BREW[0])
    assert one.bench.lots["leaf"].holds == two.bench.lots["leaf"].holds


def test_copy_is_independent() -> None:
    """What is done to a copy does not happen to the workshop."""
    truth = brewed()
    before = truth.true("pot")
    what_if = truth.copy()
    what_if.apply({"kind": "reduce", "vessel": "pot", "to": "500 ml"})
    assert truth.true("pot") == before
    assert what_if.true("pot")["volume"] < 0.7 * before["volume"]


@pytest.mark.parametrize(
    "action",
    [
        {"kind": "add", "into": "pot", "lot": "vitriol", "amount": "5 g"},
        {"kind": "add", "into": "pot", "liquid": "rainwater", "amount": "100 ml"},
        {"kind": "add", "into": "pot", "liquid": "water", "up_to": "1.4 L"},
        {"kind": "reduce", "vessel": "pot", "to": "600 ml"},
        {"kind": "pour", "from": "pot", "into": "jar", "amount": "half"},
        {"kind": "warm", "vessel": "pot", "to": "40 degC"},
        {
            "kind": "mark",
            "vessel": "pot",
            "trial": "t9",
            "support": "goat-1",
            "method": "dip",
            "thinned": "1 in 8",
        },
    ],
)
def test_counsel_actions_need_no_time(action: dict[str, Any]) -> None:
    """A complete entry without ``at`` is done after what came before."""
    truth = brewed()
    before = truth.now
    truth.apply(action)
    assert truth.now > before


def test_pouring_conserves_every_part() -> None:
    """What leaves one vessel arrives in the other or stays on the walls."""
    truth = brewed()
    pot = truth.bench.vessels["pot"]
    # Settle first, so that the pour itself is all that happens between the two sums.
    truth.apply({"at": "2026-09-14T12:00", "kind": "rest", "vessel": "pot", "for": "1 min"})
    before = dict(pot.liquor.amounts)
    truth.apply({"at": "2026-09-14T12:01", "kind": "pour", "from": "pot", "into": "jar", "amount": "300 ml"})
    after = {p: pot.liquor[p] + truth.bench.vessels["jar"].liquor[p] for p in PARTS}
    np.testing.assert_allclose([after[p] for p in PARTS], [before[p] for p in PARTS], rtol=1e-12, atol=1e-15)


def test_boiling_down_loses_no_iron_but_froth() -> None:
    """Boiling to half keeps the iron, less a few per cent in froth and crust."""
    truth = brewed()
    iron = truth.bench.vessels["pot"].liquor.iron()
    truth.apply({"kind": "reduce", "vessel": "pot", "to": "half"})
    left = truth.bench.vessels["pot"].liquor.iron()
    assert 0.9 * iron < left < iron


def test_a_steep_gives_more_hot_and_fine() -> None:
    """Hotter water and finer pieces give more tannin in the same hours."""
    out = []
    for warm, pieces in (
        ("12 degC", "whole"),
        ("12 degC", "crushed"),
        ("60 degC", "crushed"),
        ("60 degC", "powder"),
    ):
        truth = Truth(8)
        truth.apply(BREW[0])
        truth.apply(BREW[3] | {"temperature": warm, "pieces": pieces, "for": "2 h"})
        out.append(truth.true("tub")["tannin"])
    assert out == sorted(out)


def test_marc_can_be_steeped_again_and_never_gives_more_than_it_had() -> None:
    """A second draw gives something, and both together less than the lot held."""
    truth = Truth(9)
    truth.apply(BREW[0])
    truth.apply(BREW[3])
    held = sum(truth.bench.vessels["tub"].marc.total.values())  # type: ignore[union-attr]
    truth.apply({"kind": "strain", "vessel": "tub", "into": "pot"})
    truth.apply(
        {
            "kind": "steep",
            "marc_of": "tub",
            "liquid": "water",
            "liquid_amount": "2 L",
            "into": "pan",
            "for": "20 h",
        }
    )
    organic = sum(truth.bench.vessels[v].liquor.organic() for v in ("tub", "pot", "pan"))
    assert truth.true("pan")["tannin"] > 0
    assert organic < held


def test_iron_darkens_and_water_pales() -> None:
    """More vitriol below the balance makes a stroke darker, water makes it paler."""
    plain, iron, water = brewed(), brewed(), brewed()
    iron.apply({"kind": "add", "into": "pot", "lot": "vitriol", "amount": "6 g"})
    water.apply({"kind": "add", "into": "pot", "liquid": "water", "amount": "1 L"})
    depth = [t.stroke("vessel:pot", "goat-1").optical_density["G"] for t in (water, plain, iron)]
    assert depth == sorted(depth)


def test_strokes_darken_with_time() -> None:
    """A stroke is palest when fresh and comes to its dry colour."""
    truth = brewed()
    by_age = [truth.stroke("trial:t1", hours=h).optical_density["R"] for h in (0, 1, 24, 1000)]
    assert by_age == sorted(by_age)
    assert by_age[-1] == pytest.approx(truth.stroke("trial:t1").optical_density["R"], abs=1e-6)


def test_distance_to_an_unaged_original_of_the_same_ink_is_nought() -> None:
    """An original written today with the pot's own ink and pen is no distance away; a boiled-down one is."""
    truth = brewed()
    truth.exemplar("twin", "pot", ageing=0.0, pen="reed-3mm")
    assert truth.distance("pot", "twin", pen="reed-3mm") == pytest.approx(0.0, abs=1e-9)
    truth.apply({"kind": "reduce", "vessel": "pot", "to": "300 ml"})
    assert truth.distance("pot", "twin", pen="reed-3mm") > 2


def test_exemplar_facts_are_what_a_maker_could_measure() -> None:
    """The facts of an original lie within a few sd of its true intact ink."""
    truth = brewed()
    facts = truth.exemplar("page", "pot")
    true = truth.original("page").optical_density
    for channel, seen in facts["optical_density"].items():
        assert abs(seen - true[channel]) < 5 * facts["sd"]
    assert set(facts["support_lab"]) == {"L", "a", "b"}


@pytest.mark.parametrize(
    "what",
    [
        "mass", "volume", "temperature", "ph", "specific_gravity", "barkometer", "brix", "dry_residue", "viscosity",
        "drop_mass", "ten_drops", "discharge", "total_iron", "total_phenols", "gum", "body", "surface",
    ],
)  # fmt: skip
def test_every_reading_of_a_vessel_can_be_noticed(what: str) -> None:
    """A reading request comes back whole, with a value."""
    seen = brewed().notice({"at": "2026-09-15T09:00", "kind": "reading", "of": "vessel:pot", "what": what})
    assert seen["at"] == "2026-09-15T09:00"
    assert seen["value"]


@pytest.mark.parametrize(
    "what", ["optical_density", "lab", "line_width", "raggedness", "depth", "hue", "flow"]
)
def test_every_reading_of_a_trial_can_be_noticed(what: str) -> None:
    """So does one of a trial, against the page where it needs one."""
    truth = brewed()
    truth.exemplar("page", "pot")
    assert truth.notice({"of": "trial:t1", "what": what, "against": "exemplar:page"})["value"]


def test_one_trial_against_another() -> None:
    """A trial thinned one in eight is paler than the full one."""
    truth = brewed()
    truth.apply(
        {
            "kind": "mark",
            "vessel": "pot",
            "trial": "t2",
            "support": "goat-1",
            "method": "pen",
            "thinned": "1 in 8",
        }
    )
    assert truth.notice({"of": "trial:t2", "what": "than", "value": "than t1"})["value"] == "paler t1"


def test_strips_are_read_to_the_half_unit() -> None:
    """A pH strip says no more than halves; a meter does."""
    truth = brewed()
    seen = [
        float(truth.notice({"of": "vessel:pot", "what": "ph", "with": "strip"})["value"]) for _ in range(8)
    ]
    assert all(2 * x == round(2 * x) for x in seen)
    meter = [
        float(truth.notice({"of": "vessel:pot", "what": "ph", "with": "meter"})["value"]) for _ in range(8)
    ]
    assert any(2 * x != round(2 * x) for x in meter)


def test_by_eye_is_worse_than_by_jug() -> None:
    """Over many makers "about 2 L" varies far more than "2 L", and neither is ever exact."""

    def litres(text: str) -> np.ndarray:
        out = []
        for seed in range(60):
            truth = Truth(seed)
            truth.apply({"kind": "add", "into": "pot", "liquid": "water", "amount": text})
            out.append(truth.true("pot")["volume"] / 2000.0)
        return np.log(out)

    eye, jug = litres("about 2 L"), litres("2 L")
    assert 0.1 < eye.std() < 0.25
    assert 0.01 < jug.std() < 0.05


def test_a_careful_maker_is_never_off() -> None:
    """With no clumsiness an amount is what was said."""
    truth = Truth(1, maker=Maker(clumsiness=0.0))
    truth.apply({"kind": "add", "into": "pot", "liquid": "water", "amount": "about 2 L"})
    assert truth.true("pot")["volume"] == pytest.approx(2000.0, rel=2e-3)


def test_wrong_entries_come_at_the_rate_asked_for() -> None:
    """One entry in twenty is off by far more than the scale; without the option none is."""

    def slips(share: float) -> int:
        count = 0
        for seed in range(200):
            truth = Truth(seed, maker=Maker(wrong_entries=share))
            truth.apply(BREW[1])
            count += abs(np.log(truth.bench.lots["vitriol"].mass / 200.0)) > 0.1
        return count

    assert slips(0.0) == 0
    assert 3 <= slips(0.05) <= 20


def test_variants_change_one_part_of_nature() -> None:
    """A loose isotherm leaves more iron free; an unknown variant is refused by name."""
    usual = brewed().true("pot")
    loose = brewed(variant="loose").true("pot")
    assert loose["free_iron"] > usual["free_iron"]
    with pytest.raises(HandbookError, match="no variant"):
        Truth(1, variant="lunar")


def test_bad_entries_are_refused() -> None:
    """Unknown kinds, missing keys, unreadable amounts and times, unknown names raise the package's errors."""
    truth = brewed()
    with pytest.raises(EntryError, match="no kind"):
        truth.apply({"kind": "juggle"})
    with pytest.raises(MissingKeyError, match="amount"):
        truth.apply({"kind": "add", "into": "pot", "lot": "vitriol"})
    with pytest.raises(QuantityError):
        truth.apply({"kind": "add", "into": "pot", "lot": "vitriol", "amount": "some gizmos"})
    with pytest.raises(TimeError):
        truth.apply({"at": "next Tuesday", "kind": "warm", "vessel": "pot", "to": "30 degC"})
    with pytest.raises(UnknownNameError):
        truth.true("cauldron")
    with pytest.raises(UnknownNameError):
        truth.notice({"of": "vessel:pot", "what": "smell"})


ACIDS: list[dict[str, Any]] = [
    {"kind": "gather", "lot": "pyrite", "material": "pyrite", "amount": "500 g"},
    {"kind": "gather", "lot": "nails", "material": "iron nails", "amount": "100 g"},
    {
        "kind": "weather", "lot": "pyrite", "amount": "400 g", "liquid": "rainwater", "liquid_amount": "1 L",
        "into": "heap", "for": "120 d", "temperature": "20 degC",
    },
    {"kind": "strain", "vessel": "heap", "into": "crock"},
]  # fmt: skip


def test_a_sulfide_heap_gives_acid_iron_that_metal_sweetens_and_crystals_carry_away() -> None:
    """Weathering gives iron and acid; nails raise the pH and the iron; crystals make a lot that can be added."""
    truth = Truth(12)
    for entry in ACIDS:
        truth.apply(entry)
    sour = truth.true("crock")
    truth.apply({"kind": "neutralise", "vessel": "crock", "lot": "nails", "amount": "20 g", "for": "4 d"})
    sweet = truth.true("crock")
    assert sour["ph"] < 3
    assert sweet["ph"] > sour["ph"]
    assert sweet["iron_total"] > sour["iron_total"] > 0
    truth.apply({"kind": "crystallise", "vessel": "crock", "lot": "own-vitriol"})
    assert truth.bench.lots["own-vitriol"].mass > 0
    truth.apply({"kind": "add", "into": "bowl", "liquid": "water", "amount": "100 ml"})
    truth.apply({"kind": "add", "into": "bowl", "lot": "own-vitriol", "amount": "1 g"})
    assert truth.true("bowl")["iron_total"] == pytest.approx(1000 / 278.0 / 0.1, rel=0.2)


def test_the_other_kinds_have_their_effect() -> None:
    """Bringing, preparing, skimming, storing, discarding and chalk each do something sensible."""
    truth = Truth(13)
    truth.apply({"kind": "bring", "vessel": "flask", "material": "oak galls", "amount": "300 ml"})
    assert truth.true("flask")["tannin"] > 5
    truth.apply({"kind": "gather", "lot": "leaf", "material": "sumac leaf", "amount": "900 g"})
    before = truth.bench.lots["leaf"].mass
    truth.apply({"kind": "prepare", "lot": "leaf", "how": "dry"})
    assert truth.bench.lots["leaf"].mass < before
    acid = truth.true("flask")["ph"]
    truth.apply({"kind": "add", "into": "flask", "lot": "chalk", "amount": "3 g"})
    assert truth.true("flask")["ph"] > acid
    truth.apply({"kind": "skim", "vessel": "flask"})
    truth.apply({"kind": "store", "vessel": "flask", "how": "bottled"})
    truth.apply({"kind": "discard", "vessel": "flask", "amount": "100 ml"})
    assert truth.true("flask")["volume"] == pytest.approx(200, rel=0.15)


def test_open_pots_dry_and_bottled_ones_do_not() -> None:
    """A week in the open costs water; in a bottle hardly any."""
    open_, shut = brewed(), brewed()
    shut.apply({"kind": "store", "vessel": "pot", "how": "bottled"})
    for truth in (open_, shut):
        truth.apply(
            {"at": "2026-09-21T09:00", "kind": "mark", "vessel": "pot", "trial": "x", "support": "goat-1"}
        )
    assert open_.true("pot")["volume"] < shut.true("pot")["volume"]
    assert open_.bench.vessels["pot"].liquor["iron3"] > shut.bench.vessels["pot"].liquor["iron3"]


def test_a_liquid_may_be_a_lot_or_be_brought() -> None:
    """Bought vinegar kept as a lot sours a pot as the same vinegar poured in does."""
    lot, brought = Truth(14), Truth(14)
    lot.apply({"kind": "gather", "lot": "sour", "material": "vinegar", "amount": "1 L"})
    lot.apply({"kind": "add", "into": "pot", "lot": "sour", "amount": "300 ml"})
    brought.apply({"kind": "bring", "vessel": "pot", "material": "vinegar", "amount": "300 ml"})
    assert lot.true("pot")["ph"] == pytest.approx(brought.true("pot")["ph"], abs=0.02)
    assert lot.true("pot")["ph"] < 3.5
