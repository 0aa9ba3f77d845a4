"""Putting some of a lot into a vessel, whatever it is: plants, metal, ore, and all that dissolves."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.replay import acid, dissolve, heap
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import Array, Liquor
from inkhorn.replay.steps.dispatch import mixed
from inkhorn.replay.world import LotState, Marc, Metal, Ore, VesselState, World, but

NOT_YET = "not modelled yet: the estimate of this vessel is withheld"
DISSOLVING = ("iron salt", "gum", "pure tannin", "gallic acid", "acid", "chalk")
KNOWN = (*DISSOLVING, "tannin", "metallic iron", "sulfide")
_DRIVES_OUT_CARBONATE = ("acid", "chalk")


def put(
    name: str, lot: LotState, grams: Array, pieces: str, state: VesselState, world: World, draws: Draws
) -> tuple[VesselState, World]:
    """Return a vessel with so much of a lot in it, and the account with it; nothing soaks or reacts yet."""
    kind = dissolve.role(lot.material)
    if kind == "tannin":
        marc, damp = dissolve.marc_of_plant(name, lot, grams, pieces, draws)
        state = mixed(but(state, marc=joined(state.marc, marc)), damp)
        return state, world.took_in(damp + marc.inside)
    if kind == "metallic iron":
        return but(state, metal=_more_metal(name, lot.material, grams, state.metal, draws)), world
    if kind == "sulfide":
        ore, salts = heap.fresh_ore(name, lot.material, grams, draws)
        state = mixed(but(state, ore=_more_ore(ore, state.ore)), salts)
        return state, world.took_in(salts)
    dissolved = dissolve.dissolved_from(name, lot, grams, draws)
    state = mixed(state, dissolved)
    if lot.holds is None:
        world = world.took_in(dissolved)
    if kind in _DRIVES_OUT_CARBONATE:
        state, world = degassed(state, world, draws)
    return state, world


def _more_metal(name: str, material: str, grams: Array, there: Metal | None, draws: Draws) -> Metal:
    kind = material.removeprefix("iron-")
    iron = grams * draws.of(f"lot:{name}/iron", f"vessel.{kind}.iron") / molar_mass("Fe")
    return Metal(iron=iron if there is None else iron + there.iron, source=name)


def _more_ore(ore: Ore, there: Ore | None) -> Ore:
    """Return two heaps in one vessel as one; the time that each was wet counts by its mass."""
    if there is None:
        return ore
    both = ore.sulfide + there.sulfide
    share = np.divide(there.sulfide, both, out=np.zeros_like(both), where=both > 0)
    return but(ore, sulfide=both, wet=there.wet * share)


def joined(old: Marc | None, new: Marc) -> Marc:
    """Return two marcs in one pot as one; the later one's pieces and source decide how it soaks."""
    if old is None:
        return new
    return but(new, inside=old.inside + new.inside, solid=old.solid + new.solid, held=old.held + new.held)


def degassed(state: VesselState, world: World, draws: Draws) -> tuple[VesselState, World]:
    """Let carbonic acid go: what no base holds leaves an open pot as gas."""
    liquor = state.liquor
    if not liquor.has("carbonate"):
        return state, world
    _, weak = acid.usable(liquor, draws)
    held = np.minimum(liquor["carbonate"], np.maximum(-acid.excess(liquor) - weak, 0.0))
    gas = Liquor.of(draws.n, carbonate=liquor["carbonate"] - held)
    return but(state, liquor=liquor.changed(carbonate=held)), world.gave_out(gas)
