"""One function a kind of step: ``apply(step, number, world, draws, shelf) -> world``.

The function is chosen by the step's type. A step asks the draws for what it
needs, reads no clock and draws no random number of its own.
"""

from __future__ import annotations

import functools
from typing import Any

import numpy as np

from inkhorn.daybook.inventory import Inventory, volume_of_depth
from inkhorn.quantities import Quantity
from inkhorn.replay import composition
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.metal import ZINC
from inkhorn.replay.quiet import settle
from inkhorn.replay.warmth import ZERO_CELSIUS, room
from inkhorn.replay.world import VesselState, World, but

__all__ = ["ZERO_CELSIUS", "apply"]

ZINC_WALL = "zinc from a zinc-coated vessel is not modelled: the estimate of this vessel is withheld"


@functools.singledispatch
def apply(step: Any, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    """Return the bench after one step; a kind with no physics of its own changes nothing."""
    del step, number, draws, shelf
    return world


def kelvin(number: int, key: str, quantity: Quantity | None, draws: Draws) -> Array:
    """Return a stated temperature, or that of the room where nobody said, K, (N,)."""
    if quantity is None:
        return room(draws)
    return draws.amount(number, key, quantity) + ZERO_CELSIUS


def seconds_of(number: int, quantity: Quantity | None, draws: Draws) -> Array:
    """Return the length of a step, s, (N,); nothing said is no time."""
    if quantity is None:
        return np.zeros(draws.n)
    return draws.amount(number, "for", quantity)


def vessel_at(name: str, world: World, draws: Draws) -> tuple[VesselState, World]:
    """Return a vessel with its quiet changes reckoned up to now, and the bench with them; an unused one is empty."""
    world = settle(name, world, world.now, draws)
    found = world.vessels.get(name)
    if found is not None:
        return found, world
    why = ZINC_WALL if world.made_of.get(name) == ZINC else ""
    state = VesselState(liquor=Liquor.empty(draws.n), temperature=room(draws), at=world.now, withheld=why)
    return state, world


def mixed(state: VesselState, liquor: Liquor, temperature: Array | None = None) -> VesselState:
    """Return a vessel into which a liquor was stirred, temperatures mixing as water masses do."""
    warm = state.temperature
    if temperature is not None and temperature is not warm:
        here, there = state.liquor["water"], liquor["water"]
        share = np.divide(there, here + there, out=np.zeros_like(here), where=here + there > 0)
        warm = warm + share * (temperature - warm)
    return but(state, liquor=state.liquor + liquor, temperature=warm)


def poured_into(receiver: VesselState, source: VesselState, moved: Liquor) -> VesselState:
    """Return a vessel into which liquor of another was poured: warmth, mould and doubts go with it."""
    into = mixed(receiver, moved, source.temperature)
    growth = receiver.growth
    if source.growth is not growth:
        growth = np.maximum(growth, source.growth)
    return but(into, growth=growth, withheld=into.withheld or source.withheld)


def withheld(world: World, name: str, why: str, draws: Draws) -> World:
    """Return the bench with one vessel's estimate withheld, and why."""
    state, world = vessel_at(name, world, draws)
    return world.with_vessel(name, but(state, withheld=state.withheld or why))


def ml_asked(
    amount: Quantity, number: int, key: str, name: str, state: VesselState, draws: Draws, shelf: Inventory
) -> Array:
    """Return an amount of a vessel's liquor as ml, (N,), however it was told.

    A volume, a share of what is there, a mass, or a depth in a vessel whose
    capacity and inner depth are known.
    """
    if amount.dimension == "length":
        amount = volume_of_depth(amount, shelf.vessels[name], where=f"entry {number}, {key}")
    wanted = draws.amount(number, key, amount)
    if amount.dimension == "volume":
        return wanted
    whole = composition.volume(state.liquor, state.temperature)
    if amount.dimension == "fraction":
        return np.asarray(np.clip(wanted, 0.0, 1.0) * whole)
    grams = np.maximum(composition.mass(state.liquor), NOTHING)
    return np.asarray(whole * wanted / grams)
