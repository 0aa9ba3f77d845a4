"""Boiling down, warming, resting, skimming and storing."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry import boiling
from inkhorn.daybook.entries import Reduce, Rest, Skim, Store, Warm
from inkhorn.daybook.inventory import Inventory
from inkhorn.daybook.measures import measures
from inkhorn.handbook.load import row, value
from inkhorn.quantities import Quantity
from inkhorn.replay import composition, metal, spoil
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.quiet import soak, stand
from inkhorn.replay.steps.dispatch import apply, kelvin, ml_asked, seconds_of, vessel_at
from inkhorn.replay.steps.putting import degassed
from inkhorn.replay.warmth import boiling as boiling_point
from inkhorn.replay.warmth import left_alone, room
from inkhorn.replay.world import World, but
from inkhorn.units import fold


@apply.register
def _(step: Reduce, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    state, world = vessel_at(step.vessel, world, draws)
    hot = boiling_point(draws)
    held = composition.volume(state.liquor, state.temperature)
    rate = boil_off_rate(step.heat, number, held, draws)
    asked = None
    if step.to is not None:
        asked = ml_asked(step.to, number, "to", step.vessel, state, draws, shelf)
        asked = asked * read_hot(draws) * draws.of(f"entry:{number}/level", "pot.level")
        boils = asked < held
    else:
        seconds = seconds_of(number, step.for_, draws)
        boils = seconds > 0
    # What boils over takes of everything, before the level is come to.
    over = state.liquor * (boils * spoil.spilt(number, draws))
    liquor, world = state.liquor - over, world.gave_out(over)
    if asked is not None:
        off = np.maximum(composition.volume(liquor, state.temperature) - asked, 0.0)
        seconds = off * composition.water_density(state.temperature) / rate
    else:
        off = rate * seconds / composition.water_density(state.temperature)
    before = composition.volatile_volume(liquor, state.temperature)
    kept = np.clip(1.0 - off / np.maximum(before, NOTHING), value("pot.boil_dry"), 1.0)
    reduced, steam = boiled(liquor, kept, state.temperature)
    reduced, lost, mud = spoil.boiled_down(reduced, kept, draws)
    world = world.gave_out(lost).took_in(mud)
    # A boil is a fresh start for mould. The pot is as good as open, but steam keeps the air off.
    state = soak(but(state, liquor=reduced, growth=0.0), seconds, hot, draws)
    state, world = spoil.cooked(state, seconds, hot, world.gave_out(steam), draws)
    state, world = metal.dissolved(state, world.made_of.get(step.vessel, ""), seconds, hot, world, draws)
    state, world = degassed(state, world, draws)
    # The pot has cooled when next it is touched: nobody adds to or marks from a boiling pot.
    done = but(state, temperature=room(draws), at=world.now + seconds)
    return world.with_vessel(step.vessel, done)


def read_hot(draws: Draws) -> Array:
    """Return what a level of a boiled pot comes to once it is cold, over what was read, (N,).

    Some makers stop at the mark in the boiling pot, some let it cool and look
    again: boiling water takes up a twenty-fifth more room than cold. How far
    towards the one or the other is a habit of the bench.
    """
    cold, hot = (composition.water_density(t) for t in (room(draws), boiling_point(draws)))
    return np.asarray(1.0 - draws.of("bench/read_hot", "pot.read_hot") * (1.0 - hot / cold))


def boil_off_rate(heat: Quantity | None, number: int, ml: Array, draws: Draws) -> Array:
    """Return the water that a heat drives off a liquor of ``ml``, g/s, (N,); a simmer where nobody said.

    A heat told in words is what looks so on the liquor: little of it takes less (`reached`). Watts are as they were told.
    """
    if heat is None:
        power = draws.of("heat/simmer", "boiling.power.simmer") * reached(ml)
    else:
        power = draws.amount(number, "heat", heat)
        if fold(heat.text) in measures().phrases:
            power = power * reached(ml)
    return np.asarray(power / boiling.latent_heat(value("boiling.point")))


def reached(ml: Array | float) -> Array:
    """Return how much of a pot's heat a liquor of ``ml`` takes at the same simmer.

    Steam leaves by the surface, and vessels of one shape have surfaces as the two-thirds power of what they hold.
    More than a pot takes no more: the fire is what it is.
    """
    share = np.clip(ml / value("boiling.power.pot"), NOTHING, 1.0)
    return np.asarray(share ** (2 / 3))


def simmer_rate(ml: float) -> float:
    """Return the ml of water that a usual simmer drives off a liquor of ``ml`` in a second."""
    return (
        value("boiling.power.simmer")
        * float(reached(ml))
        / float(boiling.latent_heat(value("boiling.point")))
    )


def boiled(liquor: Liquor, kept: Array, temperature: Array) -> tuple[Liquor, Liquor]:
    """Return a liquor with a share of its water and spirit left, and what went off.

    Spirit and acetic acid follow Rayleigh's law of simple distillation: what
    is left of them is the share of the volatile volume left, to the power of
    their relative volatility.
    """
    left = composition.volatile_volume(liquor, temperature) * kept
    after = {}
    if liquor.has("ethanol"):
        after["ethanol"] = liquor["ethanol"] * kept ** value("pot.ethanol_volatility")
        left -= after["ethanol"] * value("density.specific_volume.ethanol")
    if liquor.has("acetate"):
        after["acetate"] = liquor["acetate"] * kept ** value("pot.acetic_volatility")
    # At every point less than what was there: a pot does not gain water by boiling.
    after["water"] = np.clip(left * composition.water_density(temperature), 0.0, liquor["water"])
    steam = Liquor({name: liquor[name] - row for name, row in after.items()}, liquor.n)
    return liquor.changed(**after), steam


@apply.register
def _(step: Warm, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state, world = vessel_at(step.vessel, world, draws)
    warm = kelvin(number, "to", step.to, draws)
    if step.for_ is None:
        return world.with_vessel(step.vessel, but(state, temperature=warm))
    seconds = seconds_of(number, step.for_, draws)
    state, world = stand(step.vessel, state, seconds, warm, world, draws)
    return world.with_vessel(step.vessel, but(state, temperature=warm, at=world.now + seconds))


@apply.register
def _(step: Rest, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state, world = vessel_at(step.vessel, world, draws)
    seconds = seconds_of(number, step.for_, draws)
    usual = state.cover
    cover = usual if step.covered is None else ("covered" if step.covered else "open")
    mean, end = left_alone(state.temperature, seconds, draws)
    state, world = stand(step.vessel, but(state, cover=cover), seconds, mean, world, draws)
    ended = but(state, at=world.now + seconds, temperature=end, cover=usual)
    return world.with_vessel(step.vessel, ended)


@apply.register
def _(step: Skim, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state, world = vessel_at(step.vessel, world, draws)
    share = draws.of(f"entry:{number}/skimmed", row("pot.skimmed"))
    off = Liquor.of(draws.n, insolubles=state.liquor["insolubles"] * share)
    return world.with_vessel(step.vessel, but(state, liquor=state.liquor - off)).gave_out(off)


_TIGHT = ("stopper", "bottle", "cork", "seal", "full", "airtight")


@apply.register
def _(step: Store, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del number, shelf
    how = step.how.casefold()
    cover = "stoppered" if any(word in how for word in _TIGHT) else "open" if "open" in how else "covered"
    state, world = vessel_at(step.vessel, world, draws)
    return world.with_vessel(step.vessel, but(state, cover=cover))
