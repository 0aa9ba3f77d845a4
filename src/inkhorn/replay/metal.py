"""Metal in an acid liquor: filings and nails that dissolve, pots of bare iron or aluminium that give.

Fe + 2 H+ -> Fe2+ + H2, Fe + 2 Fe3+ -> 3 Fe2+, 2 Al + 6 H+ -> 2 Al3+ + 3 H2.
"""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry import extraction
from inkhorn.replay import acid, warmth
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.world import Metal, VesselState, World, but

IRON, ALUMINIUM, ZINC = "iron", "aluminium", "zinc"
_LINED = ("enamel", "glaz", "tinned", "lined", "stainless", "coated")
_WORDS = {
    "zinc": ZINC,
    "galvani": ZINC,
    "aluminium": ALUMINIUM,
    "aluminum": ALUMINIUM,
    "iron": IRON,
    "steel": IRON,
}


def wall_of(made_of: str | None) -> str:
    """Return the bare metal that a vessel offers its liquor: iron, aluminium, zinc, or nothing."""
    text = (made_of or "").lower()
    if any(word in text for word in _LINED):
        return ""
    return next((metal for word, metal in _WORDS.items() if word in text), "")


def dissolved(
    state: VesselState, wall: str, seconds: Array | float, temperature: Array, world: World, draws: Draws
) -> tuple[VesselState, World]:
    """Let the acid of a liquor work on the metal in it and on its wall for ``seconds``, (N,)."""
    metal = state.metal
    if metal is not None:
        state, world = _eaten(state, seconds, temperature, world, draws)
    if wall in (IRON, ALUMINIUM):
        state, world = _from_wall(state, wall, seconds, temperature, world, draws)
    return state, world


def _eaten(
    state: VesselState, seconds: Array | float, temperature: Array, world: World, draws: Draws
) -> tuple[VesselState, World]:
    """Dissolve loose iron: mineral acid and iron(III) quickly, the weak acid of vinegar or plants slowly.

    How slowly goes with the surface of the metal, filings or nails, so that it is the lot's own.
    """
    metal, liquor = state.metal, state.liquor
    if metal is None:
        return state, world
    faster = warmth.speed("vessel.energy", "vessel.reference", temperature, draws) * seconds
    quick = extraction.decayed(draws.of("metal/quick", "iron.neutralise.rate"), faster)
    slow = extraction.decayed(_slow_rate(metal, world, draws), faster)
    mineral, weak = acid.usable(liquor, draws)
    used, turned = mineral * quick + weak * slow, liquor["iron3"] * quick
    wanted = 0.5 * (used + turned)
    fits = np.minimum(metal.iron / np.maximum(wanted, NOTHING), 1.0)
    iron, turned = wanted * fits, turned * fits
    liquor = liquor.changed(iron2=liquor["iron2"] + iron + turned, iron3=liquor["iron3"] - turned)
    world = but(world, hydrogen=world.hydrogen + 0.5 * used * fits)
    left = but(metal, iron=np.maximum(metal.iron - iron, 0.0))
    return but(state, liquor=liquor, metal=left), world.took_in(Liquor.of(draws.n, iron2=iron))


def _slow_rate(metal: Metal, world: World, draws: Draws) -> Array:
    """Return the rate at which weak acid eats a lot of metal, 1/s, (N,): it goes with the surface."""
    rate = draws.of(f"lot:{metal.source}/slow", "iron.vinegar.rate")
    lot = world.lots.get(metal.source)
    if lot is None or lot.material != "iron-filings":
        return rate
    return rate * draws.of(f"lot:{metal.source}/surface", "iron.vinegar.filings")


def _from_wall(
    state: VesselState, wall: str, seconds: Array | float, temperature: Array, world: World, draws: Draws
) -> tuple[VesselState, World]:
    """Take metal up from the pot itself; there is always enough of it."""
    faster = warmth.speed("vessel.energy", "vessel.reference", temperature, draws) * seconds
    mineral, weak = acid.usable(state.liquor, draws)
    used = (mineral + weak) * extraction.decayed(draws.of(f"pot/{wall}_wall", f"vessel.{wall}.rate"), faster)
    gained = Liquor.of(draws.n, iron2=used / 2) if wall == IRON else Liquor.of(draws.n, aluminium=used / 3)
    world = but(world, hydrogen=world.hydrogen + 0.5 * used)
    return but(state, liquor=state.liquor + gained), world.took_in(gained)
