"""What a gather entry says of a plant, and what drying does."""

from __future__ import annotations

import pytest

from inkhorn.daybook.wire import decode
from inkhorn.handbook.load import row, value
from inkhorn.replay import harvest
from support.replays import dated, played


def gathered(material: str = "oak bark", **said: str):
    """Return a gather entry."""
    return decode(
        {
            "at": "2026-05-02T08:00",
            "kind": "gather",
            "lot": "l",
            "material": material,
            "amount": "1 kg",
            **said,
        }
    )


@pytest.mark.parametrize(
    ("said", "form", "expected"),
    [
        ({"source": "cut in spring, below the weir"}, "bark", ("spring",)),
        ({"source": "autumn felling", "age": "old trunk"}, "bark", ("autumn", "old")),
        ({"age": "young coppice"}, "bark", ("young",)),
        ({"part": "inner bark", "note": "rained on for a week"}, "bark", ("inner", "weathered")),
        ({"part": "closed galls"}, "gall", ("green_gall",)),
        ({"part": "pale galls with holes"}, "gall", ("white_gall",)),
        ({"age": "young", "source": "autumn"}, "leaf", ()),
        ({"source": "an old friend's wood, in spring and autumn"}, "gall", ()),
        ({}, "bark", ()),
    ],
)
def test_words_stand_for_factors(said, form, expected) -> None:
    """Season and age speak of bark, holes of galls; what was not said shifts nothing."""
    assert harvest.factors(gathered(**said), form) == expected


def test_a_shift_moves_the_middle_and_widens() -> None:
    """The prior's middle is the handbook's times the factors, and its spread on the logarithm is larger."""
    plain, shifted = (
        row("materials.oak-bark.tannin"),
        harvest.tannin_prior(gathered(source="spring", age="coppice"), "bark"),
    )
    assert shifted.value == pytest.approx(plain.value * value("harvest.spring") * value("harvest.young"))
    assert shifted.scale() > plain.scale()
    assert harvest.tannin_prior(gathered(), "bark") is plain


@pytest.mark.parametrize(
    ("said", "fresh"),
    [("fresh bark", True), ("air-dry", False), ("fresh, then dried", False), ("bark", None)],
)
def test_fresh_and_dry_are_heard(said, fresh) -> None:
    """A fresh plant is known from a dry one; where nobody said, nothing is assumed."""
    assert harvest.freshness(gathered(part=said)) is fresh


def test_drying_a_fresh_lot_takes_its_water() -> None:
    """A kilogram of bark as stripped weighs what its dry matter weighs with the water of an air-dry lot."""
    gather = {"kind": "gather", "lot": "bark", "material": "oak bark", "amount": "1 kg", "part": "fresh bark"}
    world, _ = played(dated((0, gather), (1, {"kind": "prepare", "lot": "bark", "how": "dry"})))
    wet, dry = value("harvest.fresh.bark"), value("materials.oak-bark.moisture")
    assert world.lots["bark"].mass[0] == pytest.approx(1000 * (1 - wet) / (1 - dry))


def test_fresh_and_dried_give_the_same_tannin() -> None:
    """All of a lot gives as much whether it is steeped as gathered or dried first."""
    found = []
    for dry_first in (False, True):
        gather = {
            "kind": "gather",
            "lot": "bark",
            "material": "oak bark",
            "amount": "1 kg",
            "part": "fresh bark",
        }
        dry = [(1, {"kind": "prepare", "lot": "bark", "how": "dry"})] if dry_first else []
        steep = {"kind": "steep", "lot": "bark", "amount": "all", "liquid": "water", "liquid_amount": "10 L",
                 "into": "tub", "for": "12 h"}  # fmt: skip
        world, _ = played(dated((0, gather), *dry, (1, steep)))
        found.append(float(world.entered["condensed"][0]))
    assert found[0] == pytest.approx(found[1], rel=1e-9)
