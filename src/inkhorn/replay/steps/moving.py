"""Adding, pouring and discarding."""

from __future__ import annotations

import attrs
import numpy as np

from inkhorn.daybook.entries import Add, Crystallise, Discard, Neutralise, Pour, Weather
from inkhorn.daybook.inventory import Inventory
from inkhorn.quantities import Quantity
from inkhorn.replay import composition, dissolve
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array
from inkhorn.replay.quiet import soak
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS, apply, ml_asked, mixed, vessel_at, withheld
from inkhorn.replay.steps.solids import NOT_YET, joined
from inkhorn.replay.world import VesselState, World

_DISSOLVING = ("iron salt", "gum", "pure tannin", "gallic acid", "acid", "chalk")


@apply.register
def _(step: Add, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    if step.lot is not None:
        return _add_lot(step, number, world, draws)
    state = vessel_at(step.into, world, draws)
    if step.up_to is not None:
        wanted = ml_asked(step.up_to, number, "up_to", step.into, state, draws, shelf)
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
    if not dissolve.is_material(lot.material):
        return _add_liquid_lot(step, number, world, draws)
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


def _add_liquid_lot(step: Add, number: int, world: World, draws: Draws) -> World:
    """Add some of a gathered or bought liquid: a lot of vinegar, say."""
    lot = world.lots[str(step.lot)]
    state = vessel_at(step.into, world, draws)
    if step.amount is None or step.amount.dimension == "fraction":
        return withheld(world, step.into, f"a share of the lot {step.lot}, a liquid, is {NOT_YET}", draws)
    room = draws.of("bench/room", "pot.room") + ZERO_CELSIUS
    poured = dissolve.liquid(lot.material, _liquid_amount(step.amount, number, draws), room, draws)
    return world.with_vessel(step.into, mixed(state, poured, room)).took_in(poured)


def share_of(
    amount: Quantity, number: int, name: str, state: VesselState, draws: Draws, shelf: Inventory
) -> Array:
    """Return the share of a vessel's liquor that an amount is, (N,), never more than all."""
    if amount.dimension == "fraction":
        return np.clip(draws.amount(number, "amount", amount), 0.0, 1.0)
    wanted = ml_asked(amount, number, "amount", name, state, draws, shelf)
    whole = composition.volume(state.liquor, state.temperature)
    return np.clip(wanted / np.maximum(whole, NOTHING), 0.0, 1.0)


@apply.register
def _(step: Pour, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    source = vessel_at(step.from_, world, draws)
    moved = source.liquor * share_of(step.amount, number, step.from_, source, draws, shelf)
    receiver = mixed(vessel_at(step.into, world, draws), moved, source.temperature)
    receiver = attrs.evolve(receiver, withheld=receiver.withheld or source.withheld)
    left = attrs.evolve(source, liquor=source.liquor - moved)
    return world.with_vessel(step.from_, left).with_vessel(step.into, receiver)


@apply.register
def _(step: Discard, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    state = vessel_at(step.vessel, world, draws)
    gone = state.liquor * share_of(step.amount, number, step.vessel, state, draws, shelf)
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

