"""What boiling down leaves on the wall, in the mud, and in the colour of a liquor."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.daybook.measures import measures
from inkhorn.handbook.load import value
from inkhorn.quantities import read_quantity
from inkhorn.replay import composition
from inkhorn.replay.steps import heat
from support.replays import dated, medians, played

STEEP = {
    "kind": "steep", "lot": "blackthorn-bark", "amount": "200 g", "liquid": "water", "liquid_amount": "3 L",
    "into": "tub", "for": "24 h",
}  # fmt: skip
STRAIN = {"kind": "strain", "vessel": "tub", "into": "pot"}


def boil(to: str) -> dict[str, str]:
    """Return an entry that boils the pot down."""
    return {"kind": "reduce", "vessel": "pot", "to": to}


def pot_after(*steps: dict[str, str]):
    """Return the world after a steep, its straining and some steps."""
    hours = [(0, STEEP), (25, STRAIN), *((1, s) for s in steps)]
    return played(dated(*hours))


def brownness(world) -> float:
    """Return the brown colour of the pot over its plant matter."""
    liquor = world.vessels["pot"].liquor
    return float((liquor["brown"] / composition.plant_solids(liquor))[0])


def test_a_boiled_liquor_is_browner_than_one_of_its_strength_that_was_not() -> None:
    """Boiling browns: more colour for each gram, and more the longer it takes (common practice)."""
    cold, short, long = (brownness(pot_after(*s)[0]) for s in ([], [boil("1500 ml")], [boil("200 ml")]))
    assert 1.02 * cold < short < 0.98 * long


def test_water_does_not_change_the_colour_of_a_gram() -> None:
    """Colour goes with the matter that carries it."""
    water = {"kind": "add", "into": "pot", "liquid": "rainwater", "amount": "1 L"}
    assert brownness(pot_after(water)[0]) == pytest.approx(brownness(pot_after()[0]), rel=1e-9)


def test_a_dark_lot_gives_a_dark_liquor_and_no_more_tannin() -> None:
    """How brown a plant brews is its own: twice as brown a lot, twice the brown, the same weight."""
    world, draws = pot_after()
    of_lot = draws.of("lot:blackthorn-bark/brown", "extraction.brown")
    liquor = world.vessels["pot"].liquor
    plain = (liquor["condensed"] + liquor["solids"]) * of_lot
    assert np.allclose(liquor["brown"], plain, rtol=1e-6)


def test_crust_takes_iron_too_and_stands_in_the_account() -> None:
    """From 1 L to 368 ml, one e-fold, a share of `pot.crust` of the iron is lost beside what boils over, and the account says so."""
    iron = {"kind": "add", "into": "pot", "lot": "bought-green-vitriol", "amount": "10.0 g"}
    world, _ = played(
        dated((0, {"kind": "add", "into": "pot", "liquid": "water", "amount": "1000 ml"}), (1, iron), (1, boil("368 ml")))
    )  # fmt: skip
    left, lost = (composition.iron_total(x)[0] for x in (world.vessels["pot"].liquor, world.lost))
    assert lost / (lost + left) == pytest.approx(value("pot.crust") + value("pot.spilt"), rel=0.1)
    assert left + lost == pytest.approx(composition.iron_total(world.entered)[0], rel=1e-12)


def test_gall_liquor_throws_less_mud_than_bark_liquor() -> None:
    """Boiled down alike, bark leaves reds and rind ellagic acid; pure tannin stays clear (common practice)."""
    world, _ = pot_after(boil("300 ml"))
    assert world.vessels["pot"].liquor["insolubles"][0] > 0
    tannin = {"kind": "add", "into": "pot", "lot": "tannic-acid", "amount": "20.0 g"}
    water = {"kind": "add", "into": "pot", "liquid": "water", "amount": "1 L"}
    clear, _ = played(dated((0, water), (0.1, tannin), (1, boil("300 ml"))))
    assert clear.vessels["pot"].liquor["insolubles"][0] == 0


def test_a_cup_simmers_on_a_cups_share_of_the_heat() -> None:
    """An eighth of the liquor has a quarter of the surface, by which steam leaves (vessels of one shape)."""
    pot = value("boiling.power.pot")
    assert heat.simmer_rate(pot / 8) == pytest.approx(heat.simmer_rate(pot) / 4)
    assert heat.simmer_rate(3 * pot) == heat.simmer_rate(pot)


@pytest.mark.parametrize(("told", "share"), [("simmer", 0.25), ("40 W", 1.0), ("half a kilowatt", 1.0)])
def test_heat_in_words_is_by_the_liquor_and_watts_are_as_told(told: str, share: float) -> None:
    """Who says 40 W has measured it; who says that it simmers has looked at the pot."""
    draws = medians()
    whole, eighth = (
        heat.boil_off_rate(
            read_quantity(told, expect=("power",), measures=measures(), where="test"),
            1,
            np.array([ml]),
            draws,
        )
        for ml in (value("boiling.power.pot"), value("boiling.power.pot") / 8)
    )
    assert eighth / whole == pytest.approx(share)


def test_a_cup_boiled_to_half_browns_as_a_pot_does_and_is_not_done_in_no_time() -> None:
    """The time goes as the depth: a cup of a thirtieth still browns by nearly a third of what the pot does."""

    def browned(ml: float) -> float:
        poured = {"kind": "pour", "from": "pot", "into": "cup", "amount": f"{ml:g} ml"}
        boiled = {"kind": "reduce", "vessel": "cup", "to": f"{ml / 2:g} ml"}
        before, after = (pot_after(*steps)[0].vessels["cup"].liquor for steps in ([poured], [poured, boiled]))
        return float(
            np.log(after["brown"] / after["solids"])[0] - np.log(before["brown"] / before["solids"])[0]
        )

    # More than the cube root: for each e-fold mud takes of the tannin as well, whatever the size.
    assert 0.25 < browned(60.0) / browned(1800.0) < 1.0


def test_an_empty_cup_put_on_the_fire_is_still_a_cup() -> None:
    """No liquor takes no heat, and no number is lost over it."""
    none = np.zeros(2)
    assert np.all(heat.reached(none) >= 0)
    assert np.all(np.isfinite(none / heat.boil_off_rate(None, 1, none, medians())))
