"""Boiling down, warming, resting, skimming and storing."""

from __future__ import annotations

import attrs
import numpy as np

from inkhorn.chemistry import boiling
from inkhorn.daybook.entries import Reduce, Rest, Skim, Store, Warm
from inkhorn.daybook.inventory import Inventory
from inkhorn.flow import water as water_flow
from inkhorn.handbook.load import row, value
from inkhorn.quantities import Quantity
from inkhorn.replay import composition
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.quiet import hydrolyse, soak, still
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS, apply, kelvin, ml_asked, seconds_of, vessel_at
from inkhorn.replay.world import VesselState, World


@apply.register
def _(step: Reduce, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    state = vessel_at(step.vessel, world, draws)
    hot = np.full(draws.n, value("boiling.point"))
    liquor = state.liquor
    before = composition.volatile_volume(liquor, state.temperature)
    rate = boil_off_rate(step.heat, number, draws)
    if step.to is not None:
        now = composition.volume(liquor, state.temperature)
        off = np.maximum(now - ml_asked(step.to, number, "to", step.vessel, state, draws, shelf), 0.0)
        seconds = off * water_flow.density(state.temperature) / rate
    else:
        seconds = seconds_of(number, step.for_, draws)
        off = rate * seconds / water_flow.density(state.temperature)
    kept = np.clip(1.0 - off / np.maximum(before, NOTHING), value("pot.boil_dry"), 1.0)
    reduced, steam = boiled(liquor, kept, state.temperature)
    state = soak(attrs.evolve(state, liquor=reduced), seconds, hot, draws)
    cooked = hydrolyse(
        state.liquor, seconds, draws.of("pot/boiling_hydrolysis", "extraction.hydrolysis.boiling")
    )
    # The pot has cooled when next it is touched: nobody adds to or marks from a boiling pot.
    cooled = draws.of("bench/room", "pot.room") + ZERO_CELSIUS
    done = attrs.evolve(state, liquor=cooked, temperature=cooled, at=world.now + seconds)
    return world.with_vessel(step.vessel, done).gave_out(steam)


def boil_off_rate(heat: Quantity | None, number: int, draws: Draws) -> Array:
    """Return the water a heat drives off, g/s, (N,); a simmer where nobody said."""
    if heat is None:
        power = draws.of("heat/simmer", "boiling.power.simmer")
    else:
        power = draws.amount(number, "heat", heat)
    return np.asarray(power / boiling.latent_heat(value("boiling.point")))


def simmer_rate() -> float:
    """Return the ml of water that a usual simmer drives off in a second."""
    return value("boiling.power.simmer") / float(boiling.latent_heat(value("boiling.point")))


def boiled(liquor: Liquor, kept: Array, temperature: Array) -> tuple[Liquor, Liquor]:
    """Return a liquor with a share of its water and spirit left, and what went off.

    Spirit and acetic acid follow Rayleigh's law of simple distillation: what
    is left of them is the share of the volatile volume left, to the power of
    their relative volatility.
    """
    ethanol = liquor["ethanol"] * kept ** value("pot.ethanol_volatility")
    acetate = liquor["acetate"] * kept ** value("pot.acetic_volatility")
    left = composition.volatile_volume(liquor, temperature) * kept
    water = (left - ethanol * value("density.specific_volume.ethanol")) * water_flow.density(temperature)
    # At every point less than what was there: a pot does not gain water by boiling.
    water = np.clip(water, 0.0, liquor["water"])
    after = liquor.changed(ethanol=ethanol, acetate=acetate, water=water)
    return after, liquor - after


@apply.register
def _(step: Warm, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state = vessel_at(step.vessel, world, draws)
    return world.with_vessel(
        step.vessel, attrs.evolve(state, temperature=kelvin(number, "to", step.to, draws))
    )


@apply.register
def _(step: Rest, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state = vessel_at(step.vessel, world, draws)
    seconds = seconds_of(number, step.for_, draws)
    is_open = step.covered is False
    state = still(state, seconds, 1.0 if is_open else value("oxidation.covered"), draws)
    steam = Liquor.empty(draws.n)
    if is_open:
        state, steam = dried(state, seconds, draws)
    ended = attrs.evolve(state, at=world.now + seconds)
    return world.with_vessel(step.vessel, ended).gave_out(steam)


def dried(state: VesselState, seconds: Array, draws: Draws) -> tuple[VesselState, Liquor]:
    """Return an open vessel after evaporation in the room, and what went off."""
    flux = draws.of("bench/evaporation", "boiling.flux.room") * draws.of("bench/open_area", "pot.open_area")
    water = state.liquor["water"]
    kept = np.clip(
        1.0 - flux * seconds / np.maximum(water, NOTHING), value("pot.boil_dry"), 1.0
    )
    after = state.liquor.changed(water=water * kept)
    return attrs.evolve(state, liquor=after), state.liquor - after


@apply.register
def _(step: Skim, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state = vessel_at(step.vessel, world, draws)
    share = draws.of(f"entry:{number}/skimmed", row("pot.skimmed"))
    off = Liquor.of(draws.n, insolubles=state.liquor["insolubles"] * share)
    return world.with_vessel(step.vessel, attrs.evolve(state, liquor=state.liquor - off)).gave_out(off)


@apply.register
def _(step: Store, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del number, shelf
    return world.with_vessel(step.vessel, vessel_at(step.vessel, world, draws))
