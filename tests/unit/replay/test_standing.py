"""What time, warmth, mould and bare metal do to a pot that is left to itself."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.handbook.load import value
from inkhorn.replay import composition, metal
from support.replays import dated, drawn, played

TANNIN = {"kind": "add", "into": "pot", "lot": "tannic-acid", "amount": "20.0 g"}


def water(amount: str = "1 L", into: str = "pot") -> dict[str, str]:
    """Return an entry that pours water."""
    return {"kind": "add", "into": into, "liquid": "water", "amount": amount}


def rest(days: float, *, covered: bool = False) -> dict[str, object]:
    """Return an entry that leaves the pot standing."""
    return {"kind": "rest", "vessel": "pot", "for": f"{days} days", "covered": covered}


def gallic_after(*steps: tuple[float, dict[str, object]]) -> float:
    """Return the gallic acid in the pot, g."""
    world, _ = played(dated((0, water()), (0.1, TANNIN), *steps))
    return float(world.vessels["pot"].liquor["gallic"][0])


class TestMould:
    """Mould that lives on tannin splits galloyl esters, then eats phenol (Lewis and Starkey, Soil Science 106(4), 1968)."""

    def test_it_takes_days_to_show(self) -> None:
        """Before a skin forms nothing is split; some weeks later a good part is."""
        early = gallic_after((0.1, rest(4)))
        late = gallic_after((0.1, rest(40)))
        assert early < 0.01
        assert late > 5

    @pytest.mark.parametrize(
        "keeper",
        [
            {"kind": "add", "into": "pot", "liquid": "vinegar", "amount": "400 ml"},
            {"kind": "add", "into": "pot", "lot": "bought-green-vitriol", "amount": "20.0 g"},
        ],
    )
    def test_vinegar_and_iron_hold_it_off(self, keeper: dict[str, str]) -> None:
        """Twelve days in the open do much less to a liquor with vinegar or with iron (common practice)."""
        plain = gallic_after((0.1, rest(12)))
        assert gallic_after((0.1, keeper), (0.1, rest(12))) < 0.1 * plain

    def test_a_stopper_and_a_boil_help(self) -> None:
        """A full stoppered bottle keeps for weeks; a boil half way is a fresh start."""
        stored = gallic_after(
            (0.1, {"kind": "store", "vessel": "pot", "how": "full, stoppered"}), (24 * 40, water("1 ml"))
        )
        covered = gallic_after((24 * 40, water("1 ml")))
        assert stored < 0.05 * covered
        boil = {"kind": "reduce", "vessel": "pot", "to": "950 ml"}
        boiled = gallic_after((0.1, rest(5)), (24 * 5 + 1, boil), (6, rest(5)))
        assert boiled < gallic_after((0.1, rest(10)))

    def test_groups_that_were_eaten_stand_in_the_account(self) -> None:
        """Phenol groups in the pot and in the account add up to those put in."""
        world, _ = played(dated((0, water()), (0.1, TANNIN), (0.1, rest(60))))
        left, eaten = world.vessels["pot"].liquor, world.lost
        assert eaten["gallic"][0] + eaten["gallotannin"][0] > 0.3
        total = sum(composition.groups(part)[0][0] for part in (left, eaten))
        assert total == pytest.approx(composition.groups(world.entered)[0][0], rel=1e-12)


class TestHeat:
    """Simmering opens gallotannin and browns tannin; warmth below does less (Arrhenius)."""

    @staticmethod
    def after(celsius: float, hours: float) -> tuple[float, float, float]:
        """Return gallic acid, brown solids and tannin lost, g, after hours at a warmth."""
        warm = {"kind": "warm", "vessel": "pot", "to": f"{celsius} degC", "for": f"{hours} h"}
        world, _ = played(dated((0, water()), (0.1, TANNIN), (0.1, warm)))
        liquor = world.vessels["pot"].liquor
        return float(liquor["gallic"][0]), float(liquor["solids"][0]), float(world.lost["gallotannin"][0])

    def test_an_hour_at_the_simmer(self) -> None:
        """One hour near 100 C frees about 1 % of the gallotannin and browns about 4 % (rates of the handbook)."""
        gallic, brown, lost = self.after(99.9, 1)
        tannin = 20 * value("materials.tannic-acid.purity")
        opened, browned = (
            -np.expm1(-3600 * value(f"extraction.{k}.boiling")) for k in ("hydrolysis", "browning")
        )
        assert gallic == pytest.approx(tannin * opened * (1 - browned), rel=0.02)
        assert lost == pytest.approx(tannin * (1 - opened) * browned, rel=0.02)
        assert brown == pytest.approx(lost, rel=0.1)

    def test_cooler_is_slower(self) -> None:
        """The same hours do less at 80 C and all but nothing in the cold."""
        hot, warm, cold = (self.after(c, 5)[0] for c in (99, 80, 18))
        assert cold < 0.01 * warm < 0.01 * 0.5 * hot

    def test_a_hot_pot_cools(self) -> None:
        """A pot left to itself is at the warmth of the room a day later."""
        world, draws = played(
            dated((0, water()), (0.1, {"kind": "warm", "vessel": "pot", "to": "80 degC"}), (24, rest(1)))
        )
        assert world.vessels["pot"].temperature[0] == pytest.approx(
            draws.of("r", "pot.room")[0] + 273.15, abs=0.5
        )

    def test_bark_liquor_leaves_phlobaphene(self) -> None:
        """Boiling a bark liquor makes insoluble matter of its condensed tannin; a gall liquor makes less for its strength."""
        grit = {}
        for lot in ("blackthorn-bark", "oak-galls"):
            steep = {"kind": "steep", "lot": lot, "amount": "200 g", "liquid": "water", "liquid_amount": "3 L",
                     "into": "pot", "for": "12 h"}  # fmt: skip
            boil = {"kind": "reduce", "vessel": "pot", "to": "500 ml"}
            world, _ = played(
                dated((0, steep), (13, {"kind": "strain", "vessel": "pot", "into": "pot"}), (1, boil))
            )
            liquor = world.vessels["pot"].liquor
            grit[lot] = float((liquor["insolubles"] / composition.plant_solids(liquor))[0])
        assert grit["blackthorn-bark"] > 0.005
        assert grit["oak-galls"] < 0.5 * grit["blackthorn-bark"]


class TestVessels:
    """Bare iron and aluminium give to an acid liquor; enamel, glass and stoneware do not."""

    @staticmethod
    def stood(made_of: str) -> tuple[np.ndarray, np.ndarray]:
        """Return iron and aluminium, mol, that a sour plant liquor took up in two days."""
        steep = {"kind": "steep", "lot": "sumac-leaf", "amount": "100 g", "liquid": "water", "liquid_amount": "1 L",
                 "into": "pot", "for": "2 days"}  # fmt: skip
        world, _ = drawn(dated((0, {"kind": "vessel", "name": "pot", "made_of": made_of}), (0, steep)))
        liquor = world.vessels["pot"].liquor
        return composition.iron_total(liquor), liquor["aluminium"]

    def test_cast_iron_gives_iron(self) -> None:
        """An iron pot gives some milligrams to some grams a litre in two days, and blackens the liquor."""
        iron, aluminium = self.stood("cast iron")
        assert 0.005 < np.median(iron) * 55.845 < 1.0
        assert not aluminium.any()

    def test_aluminium_gives_aluminium(self) -> None:
        """An aluminium pot gives aluminium and no iron; nothing only where the water's chalk outdoes the acid."""
        iron, aluminium = self.stood("aluminium saucepan")
        assert np.all(aluminium >= 0)
        assert np.mean(aluminium > 0) > 0.95
        assert not iron.any()

    @pytest.mark.parametrize(
        "made_of", ["enamelled steel", "stoneware", "glass", "stainless steel", "glazed iron"]
    )
    def test_what_is_lined_gives_nothing(self, made_of: str) -> None:
        """Enamel, glaze, glass and stainless steel give neither."""
        iron, aluminium = self.stood(made_of)
        assert not iron.any()
        assert not aluminium.any()

    def test_zinc_is_said_not_to_be_modelled(self) -> None:
        """A galvanised bucket withholds the estimate and says why."""
        world, _ = played(
            dated((0, {"kind": "vessel", "name": "pot", "made_of": "galvanised iron"}), (0, water()))
        )
        assert "zinc" in world.vessels["pot"].withheld
        assert metal.wall_of("galvanised steel bucket") == metal.ZINC


class TestHeap:
    """A sulfide kept wet: salts at once, crusts in days where it dries, liquor in weeks."""

    @staticmethod
    def iron(amount_of_water: str, days: float, celsius: str = "18 degC") -> float:
        """Return the iron that 300 g of marcasite gave, mmol."""
        weather = {"kind": "weather", "lot": "marcasite", "amount": "300 g", "liquid": "rainwater",
                   "liquid_amount": amount_of_water, "into": "pot", "for": f"{days} days", "temperature": celsius}  # fmt: skip
        world, _ = played(dated((0, weather)))
        return 1e3 * float(composition.iron_total(world.vessels["pot"].liquor)[0])

    def test_the_first_rinse_gives_what_is_there(self) -> None:
        """An hour gives the ready salts: a hundredth of the iron (handbook)."""
        there = 1e3 * 300 * value("heap.marcasite.sulfide") / 119.97 * value("iron.weathering.ready")
        assert self.iron("500 ml", 1 / 24) == pytest.approx(there, rel=0.01)

    def test_days_matter_where_it_dries(self) -> None:
        """Ten days damp and airy give more than ten days drowned, by crusts alone: bacteria have not begun."""
        damp, drowned, start = self.iron("20 ml", 10), self.iron("2 L", 10), self.iron("2 L", 0.01)
        assert damp > 1.05 * drowned
        assert drowned == pytest.approx(start, rel=0.02)

    def test_weeks_matter_everywhere_and_warmth_helps(self) -> None:
        """After the lag even a drowned heap works, and a warm one works more."""
        start, cool, warm = self.iron("2 L", 0.01), self.iron("2 L", 150), self.iron("2 L", 150, "28 degC")
        assert cool > 1.5 * start
        assert warm - start > 1.5 * (cool - start)

    def test_acid_and_sulfate_come_with_it(self) -> None:
        """The liquor of a season is an acid one: more than one sulfate for each iron, and pH below 2.5."""
        weather = {"kind": "weather", "lot": "pyrite", "amount": "500 g", "liquid": "rainwater",
                   "liquid_amount": "500 ml", "into": "pot", "for": "200 days"}  # fmt: skip
        world, draws = played(dated((0, weather)))
        state = world.vessels["pot"]
        assert state.liquor["sulfate"][0] > 1.4 * composition.iron_total(state.liquor)[0]
        assert composition.acidity(state.liquor, state.temperature, draws)[0] < 2.5
