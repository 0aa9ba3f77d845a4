"""Adding, pouring and discarding."""

from __future__ import annotations

import attrs
import numpy as np

from inkhorn.daybook.entries import Add, Crystallise, Discard, Neutralise, Pour, Weather
from inkhorn.daybook.inventory import Inventory
from inkhorn.quantities import Quantity
from inkhorn.replay import composition, dissolve
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import Array
from inkhorn.replay.quiet import soak
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS, apply, mixed, vessel_at, withheld
from inkhorn.replay.steps.solids import NOT_YET, joined
from inkhorn.replay.world import VesselState, World

_DISSOLVING = ("iron salt", "gum", "pure tannin", "gallic acid", "acid", "chalk")


@apply.register
def _(step: Add, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    if step.lot is not None:
        return _add_lot(step, number, world, draws)
    state = vessel_at(step.into, world, draws)
    if step.up_to is not None:
        wanted = draws.amount(number, "up_to", step.up_to)
        ml = np.maximum(wanted - composition.volume(state.liquor, state.temperature), 0.0)
    else:
        ml = _liquid_amount(step.amount, number, draws)
    room = draws.of("bench/room", "pot.room") + ZERO_CELSIUS
    poured = dissolve.liquid(str(step.liquid), ml, room, draws)
    return world.with_vessel(step.into, mixed(state, poured, room)).took_in(poured)


def _liquid_amount(amount: Quantity | None, number: int, draws: Draws) -> Array:
    if amount is None:
        return np.zeros(draws.n)
    return draws.amount(number, "amount", amount)


def _add_lot(step: Add, number: int, world: World, draws: Draws) -> World:
    name = str(step.lot)
    lot = world.lots[name]
    kind = dissolve.role(lot.material)
    state = vessel_at(step.into, world, draws)
    if step.amount is None or kind not in (*_DISSOLVING, "tannin"):
        return withheld(world, step.into, f"{lot.material} in a liquor is {NOT_YET}", draws)
    grams, left = dissolve.grams_taken(step.amount, number, "amount", name, lot, draws)
    world = world.with_lot(name, left)
    if lot.withheld:
        world = withheld(world, step.into, lot.withheld, draws)
    if kind == "tannin":
        marc, damp = dissolve.marc_of_plant(name, lot, grams, lot.pieces, draws)
        soaking = mixed(attrs.evolve(state, marc=joined(state.marc, marc)), damp)
        rinsed = soak(soaking, np.zeros(draws.n), state.temperature, draws)
        return world.with_vessel(step.into, rinsed).took_in(damp + marc.inside)
    dissolved = dissolve.dissolved_lot(name, lot.material, grams, draws)
    return world.with_vessel(step.into, mixed(state, dissolved)).took_in(dissolved)


def share_of(amount: Quantity, number: int, state: VesselState, draws: Draws) -> Array:
    """Return the share of a vessel's liquor that an amount (a volume, mass or share) is, (N,)."""
    wanted = draws.amount(number, "amount", amount)
    if amount.dimension == "fraction":
        return np.clip(wanted, 0.0, 1.0)
    if amount.dimension == "mass":
        whole = composition.mass(state.liquor)
    else:
        whole = composition.volume(state.liquor, state.temperature)
    return np.clip(wanted / np.maximum(whole, np.finfo(float).tiny), 0.0, 1.0)


@apply.register
def _(step: Pour, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    source = vessel_at(step.from_, world, draws)
    moved = source.liquor * share_of(step.amount, number, source, draws)
    receiver = mixed(vessel_at(step.into, world, draws), moved, source.temperature)
    receiver = attrs.evolve(receiver, withheld=receiver.withheld or source.withheld)
    left = attrs.evolve(source, liquor=source.liquor - moved)
    return world.with_vessel(step.from_, left).with_vessel(step.into, receiver)


@apply.register
def _(step: Discard, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state = vessel_at(step.vessel, world, draws)
    gone = state.liquor * share_of(step.amount, number, state, draws)
    return world.with_vessel(step.vessel, attrs.evolve(state, liquor=state.liquor - gone)).gave_out(gone)


@apply.register
def _(step: Weather, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del number, shelf
    return withheld(world, step.into, f"weathering of a sulfide is {NOT_YET}", draws)


@apply.register
def _(step: Neutralise, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del number, shelf
    return withheld(world, step.vessel, f"neutralising with metallic iron is {NOT_YET}", draws)


@apply.register
def _(step: Crystallise, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del number, shelf
    world = withheld(world, step.vessel, f"crystallising is {NOT_YET}", draws)
    lot = world.lots.get(step.lot)
    if lot is None:
        return world
    return world.with_lot(step.lot, attrs.evolve(lot, withheld=f"crystallising is {NOT_YET}"))

