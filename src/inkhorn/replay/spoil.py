"""What time and heat do to tannin: mould, hydrolysis, browning. Lost phenol groups go to the account."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry import extraction, spoilage
from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.handbook.load import value
from inkhorn.replay import composition, warmth
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.world import VesselState, World, but

SECONDS_A_DAY = 86400.0
_GO_AS_STEAM = ("water", "ethanol", "acetate")
_MUDDY = ("ellagitannin", "condensed")


def hydrolyse(liquor: Liquor, seconds: Array | float, rate: Array) -> Liquor:
    """Free gallic acid from gallotannin, first order; gram for gram, so no galloyl group is lost.

    C76H52O46 + 10 H2O gives 10 C7H6O5 and one sugar: a gram gives a gram of
    gallic acid and a tenth of a gram of sugar, and takes up as much water.
    """
    if not liquor.has("gallotannin"):
        return liquor
    uptake = value("pot.sugar_of_gallotannin")
    possible = np.minimum(liquor["gallotannin"], liquor["water"] / uptake)
    freed = possible * extraction.decayed(rate, seconds)
    groups = value("binding.groups.gallotannin") / value("binding.groups.gallic")
    gallic = freed * groups
    sugar = freed * uptake
    return liquor.changed(
        gallotannin=liquor["gallotannin"] - freed,
        gallic=liquor["gallic"] + gallic,
        solids=liquor["solids"] + sugar,
        water=liquor["water"] - (gallic + sugar - freed),
    )


def cooked(
    state: VesselState, seconds: Array | float, temperature: Array, world: World, draws: Draws
) -> tuple[VesselState, World]:
    """Let a hot liquor cook for ``seconds``: gallotannin opens, tannin browns; nothing at room temperature.

    Both rates are those of a simmer, carried to the temperature by Arrhenius.
    The brown matter stays in the liquor, which grows darker by it; part of
    what condensed tannin gives falls out as phlobaphene.
    """
    liquor = state.liquor
    if temperature is warmth.room(draws) or not liquor.has(*composition.TANNINS):
        return state, world
    opening = draws.of("pot/boiling_hydrolysis", "extraction.hydrolysis.boiling")
    browning = draws.of("pot/browning", "extraction.browning.boiling")
    red = draws.of("pot/phlobaphene", "pot.browning.insoluble")
    if temperature.max() < value("pot.lukewarm"):
        return state, world
    boil = value("boiling.point")
    # Scaled time rather than scaled rate: seconds at a simmer that do the same.
    for_gallic = seconds * extraction.arrhenius(1.0, value("extraction.hydrolysis.energy"), temperature, boil)
    for_brown = seconds * extraction.arrhenius(1.0, value("pot.browning.energy"), temperature, boil)
    liquor = hydrolyse(liquor, for_gallic, opening)
    gone = liquor.only(*composition.TANNINS) * extraction.decayed(browning, for_brown)
    insoluble = gone["condensed"] * red
    brown = sum(gone.rows.values(), np.zeros(draws.n)) - insoluble
    darker = brown * draws.of("pot/browned", "pot.browning.colour")
    made = Liquor.of(draws.n, insolubles=insoluble, brown=darker)
    liquor = liquor - gone + made + Liquor.of(draws.n, solids=brown)
    return but(state, liquor=liquor), world.gave_out(gone).took_in(made)


def spilt(number: int, draws: Draws) -> Array:
    """Return the share of a liquor that is lost in pouring or boiling it, unnoticed, (N,): mostly next to nothing."""
    return np.asarray(np.minimum(draws.of(f"entry:{number}/spilt", "pot.spilt"), 1.0))


def boiled_down(liquor: Liquor, kept: Array, draws: Draws) -> tuple[Liquor, Liquor, Liquor]:
    """Return a boiled-down liquor without crust and mud, what was lost of it, and the mud, still in it.

    Both go with how far it was boiled down: the same share for each e-fold of
    the water driven off. Gallotannin leaves no mud; ellagitannin leaves ellagic
    acid, condensed tannin reds. ``kept`` is the share of water and spirit left, (N,).
    """
    folds = -np.log(np.maximum(kept, NOTHING))
    crust = -np.expm1(-folds * draws.of("pot/crust", "pot.crust"))
    lost = Liquor(
        {name: row * crust for name, row in liquor.rows.items() if name not in _GO_AS_STEAM}, draws.n
    )
    left = liquor - lost
    mud = left.only(*_MUDDY) * -np.expm1(-folds * draws.of("pot/deposit", "pot.deposit"))
    fallen = Liquor.of(draws.n, insolubles=sum(mud.rows.values(), np.zeros(draws.n)))
    return left - mud + fallen, lost + mud, fallen


def moulded(
    state: VesselState, seconds: Array | float, temperature: Array, world: World, draws: Draws
) -> tuple[VesselState, World]:
    """Let mould have its way with a standing liquor for ``seconds``.

    It needs air and some days before it shows, fewer on a warm liquor without
    iron; spirit and vinegar hold it off. Once there it turns gallotannin to
    gallic acid and eats phenol for good.
    """
    liquor = state.liquor
    if not liquor.has(*composition.TANNINS):
        return state, world
    rate = draws.of("pot/mould", "extraction.hydrolysis.mould")
    appetite = draws.of("pot/mould_loss", "spoilage.loss")
    speed = _speed(state.cover, temperature, draws)
    if liquor.has("ethanol", "acetate"):
        speed = speed * (1.0 - _kept(liquor, temperature))
    grown = seconds * speed
    grown += state.growth
    if not (grown > _soonest(draws)).any():
        return but(state, growth=grown), world
    showing = onset(liquor, draws)
    mouldy = np.maximum(grown - showing, 0.0) - np.maximum(state.growth - showing, 0.0)
    state = but(state, growth=grown)
    if not mouldy.any():
        return state, world
    liquor = hydrolyse(liquor, mouldy, rate)
    eaten = liquor.only(*composition.TANNINS) * extraction.decayed(appetite, mouldy)
    return but(state, liquor=liquor - eaten), world.gave_out(eaten)


def _plain_onset(draws: Draws) -> Array:
    days = draws.of("pot/mould_onset", "spoilage.onset.bark")
    return draws.once("mould onset", lambda: days * SECONDS_A_DAY)


def _inky_onset(draws: Draws) -> Array:
    days = draws.of("pot/mould_onset.ink", "spoilage.onset.ink")
    return draws.once("mould onset of ink", lambda: days * SECONDS_A_DAY)


def _soonest(draws: Draws) -> Array:
    """Return the seconds before which no liquor moulds, with iron or without, (N,)."""
    plain, inky = _plain_onset(draws), _inky_onset(draws)
    return draws.once("mould at the soonest", lambda: np.minimum(plain, inky))


def onset(liquor: Liquor, draws: Draws) -> Array:
    """Return the seconds at 20 degC in the open before mould shows, (N,): longer where there is iron."""
    if not liquor.has("iron2", "iron3", "complex_iron"):
        return _plain_onset(draws)
    return np.where(composition.iron_total(liquor) > 0, _inky_onset(draws), _plain_onset(draws))


def _speed(cover: str, temperature: Array, draws: Draws) -> Array:
    """Return the growth of mould against that at 20 degC in the open, (N,): none in a hot pot."""
    air = draws.full(1.0) if cover == "open" else draws.of(f"pot/mould_{cover}", f"pot.mould.{cover}")

    def reckoned() -> Array:
        warm = np.minimum(temperature, value("pot.mould.best"))
        speed = extraction.arrhenius(1.0, value("spoilage.energy"), warm, value("pot.mould.reference"))
        return np.where(temperature < value("pot.mould.too_hot"), speed, 0.0) * air

    return draws.once(f"mould speed {cover}", reckoned) if temperature is warmth.room(draws) else reckoned()


def _kept(liquor: Liquor, temperature: Array) -> Array:
    """Return how far spirit and vinegar hold mould off, (N,): 0 to 1."""
    ml = np.maximum(composition.volatile_volume(liquor, temperature), NOTHING)
    grams = np.maximum(liquor["water"] + liquor["ethanol"], NOTHING)
    return spoilage.preserved(
        ethanol=liquor["ethanol"] * value("density.specific_volume.ethanol") / ml,
        acetic=liquor["acetate"] * molar_mass("C2H4O2") / grams,
        ethanol_needed=value("spoilage.preserve.ethanol"),
        acetic_needed=value("spoilage.preserve.acetic"),
    )
