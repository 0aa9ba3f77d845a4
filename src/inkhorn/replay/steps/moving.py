"""Adding, pouring and discarding."""

from __future__ import annotations

import numpy as np

from inkhorn.daybook.entries import Add, Discard, Pour
from inkhorn.daybook.inventory import Inventory
from inkhorn.quantities import Quantity
from inkhorn.replay import composition, dissolve, spoil
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array
from inkhorn.replay.quiet import soak
from inkhorn.replay.steps.dispatch import apply, mixed, ml_asked, poured_into, vessel_at, withheld
from inkhorn.replay.steps.putting import KNOWN, NOT_YET, put
from inkhorn.replay.warmth import room
from inkhorn.replay.world import VesselState, World, but


@apply.register
def _(step: Add, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    if step.lot is not None:
        return _add_lot(step, number, world, draws)
    state, world = vessel_at(step.into, world, draws)
    if step.up_to is not None:
        wanted = ml_asked(step.up_to, number, "up_to", step.into, state, draws, shelf)
        ml = np.maximum(wanted - composition.volume(state.liquor, state.temperature), 0.0)
    else:
        ml = _liquid_amount(step.amount, number, draws)
    around = room(draws)
    poured = dissolve.liquid(str(step.liquid), ml, around, draws)
    return world.with_vessel(step.into, mixed(state, poured, around)).took_in(poured)


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
    state, world = vessel_at(step.into, world, draws)
    if step.amount is None or kind not in KNOWN:
        return withheld(world, step.into, f"{lot.material} in a liquor is {NOT_YET}", draws)
    grams, left = dissolve.grams_taken(step.amount, number, "amount", name, lot, draws)
    state, world = put(name, lot, grams, lot.pieces, state, world.with_lot(name, left), draws)
    if kind == "tannin":
        state = soak(state, np.zeros(draws.n), state.temperature, draws)
    return world.with_vessel(step.into, but(state, withheld=state.withheld or lot.withheld))


def _add_liquid_lot(step: Add, number: int, world: World, draws: Draws) -> World:
    """Add some of a gathered or bought liquid: a lot of vinegar, say."""
    lot = world.lots[str(step.lot)]
    state, world = vessel_at(step.into, world, draws)
    if step.amount is None or step.amount.dimension == "fraction":
        return withheld(world, step.into, f"a share of the lot {step.lot}, a liquid, is {NOT_YET}", draws)
    around = room(draws)
    poured = dissolve.liquid(lot.material, _liquid_amount(step.amount, number, draws), around, draws)
    return world.with_vessel(step.into, mixed(state, poured, around)).took_in(poured)


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
    source, world = vessel_at(step.from_, world, draws)
    moved = source.liquor * share_of(step.amount, number, step.from_, source, draws, shelf)
    there, world = vessel_at(step.into, world, draws)
    left = but(source, liquor=source.liquor - moved)
    beside = moved * spoil.spilt(number, draws)
    receiver = poured_into(there, source, moved - beside)
    return world.with_vessel(step.from_, left).with_vessel(step.into, receiver).gave_out(beside)


@apply.register
def _(step: Discard, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    state, world = vessel_at(step.vessel, world, draws)
    gone = state.liquor * share_of(step.amount, number, step.vessel, state, draws, shelf)
    return world.with_vessel(step.vessel, but(state, liquor=state.liquor - gone)).gave_out(gone)
