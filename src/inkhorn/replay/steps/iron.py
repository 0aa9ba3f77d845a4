"""Iron from the ground up: weathering a sulfide, neutralising with metal or chalk, growing crystals."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry import hydrates
from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.daybook.entries import Crystallise, Neutralise, Weather
from inkhorn.daybook.inventory import Inventory
from inkhorn.handbook.load import value
from inkhorn.quantities import Quantity
from inkhorn.replay import composition, dissolve
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.quiet import stand
from inkhorn.replay.steps.dispatch import apply, kelvin, mixed, seconds_of, vessel_at, withheld
from inkhorn.replay.steps.putting import NOT_YET, put
from inkhorn.replay.world import LotState, World, but

#: What crystals grown at home are taken as where their lot's name says nothing else.
GROWN = "scraped-green-vitriol"
_EATS_ACID = ("metallic iron", "chalk")


@apply.register
def _(step: Weather, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state, world = vessel_at(step.into, world, draws)
    lot = world.lots[step.lot]
    if not dissolve.is_material(lot.material) or dissolve.role(lot.material) != "sulfide":
        return withheld(world, step.into, f"weathering {lot.material or step.lot} is {NOT_YET}", draws)
    temperature = kelvin(number, "temperature", step.temperature, draws)
    grams, left = dissolve.grams_taken(step.amount, number, "amount", step.lot, lot, draws)
    ml = draws.amount(number, "liquid_amount", step.liquid_amount)
    poured = dissolve.liquid(step.liquid, ml, temperature, draws)
    filled = mixed(state, poured, temperature)
    state, world = put(step.lot, lot, grams, lot.pieces, filled, world.took_in(poured), draws)
    seconds = seconds_of(number, step.for_, draws)
    state, world = stand(step.into, state, seconds, temperature, world, draws)
    ended = but(state, at=world.now + seconds, temperature=temperature)
    return world.with_lot(step.lot, left).with_vessel(step.into, ended)


@apply.register
def _(step: Neutralise, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state, world = vessel_at(step.vessel, world, draws)
    lot = world.lots[step.lot]
    if not dissolve.is_material(lot.material) or dissolve.role(lot.material) not in _EATS_ACID:
        return withheld(
            world, step.vessel, f"neutralising with {lot.material or step.lot} is {NOT_YET}", draws
        )
    grams, left = dissolve.grams_taken(step.amount, number, "amount", step.lot, lot, draws)
    state, world = put(step.lot, lot, grams, lot.pieces, state, world.with_lot(step.lot, left), draws)
    # The metal stays where it lies until the liquor is strained off: without a stated time it works on.
    seconds = seconds_of(number, step.for_, draws)
    state, world = stand(step.vessel, state, seconds, state.temperature, world, draws)
    return world.with_vessel(step.vessel, but(state, at=world.now + seconds))


@apply.register
def _(step: Crystallise, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state, world = vessel_at(step.vessel, world, draws)
    before = world.lots.get(step.lot, LotState(material=GROWN))
    if state.withheld:
        return world.with_lot(step.lot, but(before, withheld=state.withheld))
    liquor = state.liquor
    wet = draws.of(f"lot:{step.lot}/mother_liquor", "pot.crystals.mother")
    dried = draws.of(f"lot:{step.lot}/tetrahydrate", "pot.crystals.tetrahydrate")
    # Water that a gram of crystals loses where the 7-hydrate falls to the 4-hydrate.
    lost = dried * (1.0 - molar_mass("FeSO4.4H2O") / molar_mass("FeSO4.7H2O"))
    crystals = _formed(liquor, state.temperature)
    if step.amount is not None:
        crystals = _weighed(step.amount, step.lot, number, draws) / (1.0 + wet - lost)
    crystals = np.minimum(crystals, _most(liquor))
    pure = _heptahydrate(crystals)
    rest = liquor - pure
    share = np.minimum(wet * crystals / np.maximum(composition.mass(rest), NOTHING), 1.0)
    carried = rest * share
    steam = Liquor.of(draws.n, water=lost * crystals)
    content = pure + carried - steam
    world = world.with_vessel(step.vessel, but(state, liquor=rest - carried)).gave_out(steam)
    return world.with_lot(step.lot, _harvested(step.lot, before, content, draws))


def _formed(liquor: Liquor, temperature: Array) -> Array:
    """Return the grams of 7-hydrate that fall out of a liquor at a temperature, (N,), by measured solubility."""
    salt = np.minimum(liquor["iron2"], liquor["sulfate"]) * molar_mass("FeSO4")
    return hydrates.crystal_yield(salt=salt, water=liquor["water"], temperature=temperature).crystals


def _most(liquor: Liquor) -> Array:
    """Return the most crystals that could ever come of a liquor that dries up, g, (N,)."""
    salt = np.minimum(liquor["iron2"], liquor["sulfate"])
    water = liquor["water"] / (7.0 * molar_mass("H2O"))
    return np.minimum(salt, water) * molar_mass("FeSO4.7H2O") * value("pot.crystals.most")


def _weighed(amount: Quantity, lot: str, number: int, draws: Draws) -> Array:
    """Return the crystals as the maker weighed or measured them, g, (N,)."""
    taken = draws.amount(number, "amount", amount)
    if amount.dimension == "volume":
        taken = taken * draws.of(f"lot:{lot}/bulk_density", f"materials.{GROWN}.bulk_density")
    return taken


def _heptahydrate(grams: Array) -> Liquor:
    moles = grams / molar_mass("FeSO4.7H2O")
    water = 7.0 * molar_mass("H2O") * moles
    return Liquor.of(len(grams), iron2=moles, sulfate=moles, water=water)


def _harvested(name: str, before: LotState, content: Liquor, draws: Draws) -> LotState:
    """Return the lot that crystals make (with what was in it before), and note what it is made of."""
    material = before.material or GROWN
    if before.holds is not None and before.mass is not None:
        content = content + before.holds * before.mass
    mass = composition.mass(content)
    holds = content * (1.0 / np.maximum(mass, NOTHING))
    iron = composition.iron_total(holds)
    draws.note(f"lot:{name}/iron", iron * molar_mass("Fe"))
    draws.note(f"lot:{name}/ferric", holds["iron3"] / np.maximum(iron, NOTHING))
    draws.note(f"lot:{name}/inert", holds["insolubles"])
    sour = holds["sulfate"] - holds["iron2"] - (1.0 + 0.5) * holds["iron3"]
    draws.note(f"lot:{name}/acid", np.maximum(sour, 0.0) / np.maximum(iron, NOTHING))
    return but(before, material=material, mass=mass, holds=holds)
