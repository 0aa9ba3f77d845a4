"""An iron sulfide kept wet: salts that rinse off at once, crusts that grow as it dries, slow weathering.

FeS2 + 3.5 O2 + H2O -> Fe2+ + 2 SO4-2 + 2 H+; part of the iron is lost as
ferric hydroxysulfate. What the mineral gives enters the account of the bench
as it dissolves.
"""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry import weathering
from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.replay import warmth
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.world import Ore, VesselState, World, but


def fresh_ore(lot: str, material: str, grams: Array, draws: Draws) -> tuple[Ore, Liquor]:
    """Return a sulfide lot as it is put down, and the salts already on it, which rinse off at once."""
    pure = draws.of(f"lot:{lot}/sulfide", f"heap.{material}.sulfide")
    moles = grams * np.minimum(pure, 1.0) / molar_mass("FeS2")
    ready = draws.of(f"lot:{lot}/ready", "iron.weathering.ready") * moles
    ferric = draws.of(f"lot:{lot}/ferric", "heap.ferric")
    sour = draws.of(f"lot:{lot}/ready_acid", "heap.acid")
    # Half a sulfate more for each iron(III) keeps the charges even.
    salts = Liquor.of(
        draws.n,
        iron2=ready * (1.0 - ferric),
        iron3=ready * ferric,
        sulfate=ready * (1.0 + 0.5 * ferric + sour),
    )
    return Ore(sulfide=moles - ready, wet=np.zeros(draws.n), source=lot, material=material), salts


def weathered(
    state: VesselState, seconds: Array | float, temperature: Array, world: World, draws: Draws
) -> tuple[VesselState, World]:
    """Let the sulfide in a vessel weather on for ``seconds``, (N,).

    Bacteria work at first order after a lag; where there is little water the
    air gets at it and salts crust it from the first day. Warmth speeds both.
    """
    ore = state.ore
    if ore is None:
        return state, world
    passed = warmth.speed("heap.energy", "heap.reference", temperature, draws) * seconds
    keen = draws.of(f"lot:{ore.source}/weathering", f"heap.{ore.material}.speed")
    lag = draws.of("heap/lag", "iron.weathering.lag")
    active = np.maximum(ore.wet + passed - lag, 0.0) - np.maximum(ore.wet - lag, 0.0)
    grams = np.maximum(ore.sulfide * molar_mass("FeS2"), NOTHING)
    airy = 1.0 / (1.0 + state.liquor["water"] / (grams * draws.of("heap/drowned", "heap.drowned")))
    bacteria = draws.of("heap/rate", "iron.weathering.season_rate") * active
    crusting = draws.of("heap/crust", "heap.crust") * airy * passed
    gone = ore.sulfide * -np.expm1(-keen * (bacteria + crusting))
    gained, sunk = products(gone, ore.source, draws)
    left = but(ore, sulfide=ore.sulfide - gone, wet=ore.wet + passed)
    state = but(state, liquor=state.liquor + gained, ore=left)
    return state, world.took_in(gained + sunk).gave_out(sunk)


def products(sulfide: Array, lot: str, draws: Draws) -> tuple[Liquor, Liquor]:
    """Return what oxidised sulfide (mol) gives to the liquor, and the ochre that falls out of it."""
    made = weathering.leached(sulfide, lost=draws.of("heap/lost", "iron.weathering.lost"))
    ferric = draws.of(f"lot:{lot}/ferric", "heap.ferric")
    with_ochre = made.ochre * draws.of("heap/ochre_sulfate", "heap.ochre_sulfate")
    gained = Liquor.of(
        draws.n,
        iron2=made.iron * (1.0 - ferric),
        iron3=made.iron * ferric,
        sulfate=made.sulfate - with_ochre,
    )
    return gained, Liquor.of(draws.n, iron3=made.ochre, sulfate=with_ochre)
