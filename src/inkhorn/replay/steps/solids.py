"""Gathering, preparing, steeping and straining."""

from __future__ import annotations

import attrs
import numpy as np

from inkhorn.daybook.entries import Bring, Gather, Prepare, Steep, Strain
from inkhorn.daybook.inventory import Inventory
from inkhorn.handbook.load import group, value
from inkhorn.quantities import Quantity
from inkhorn.replay import composition, dissolve
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.quiet import soak
from inkhorn.replay.steps.dispatch import apply, kelvin, mixed, seconds_of, vessel_at, withheld
from inkhorn.replay.world import LotState, Marc, VesselState, World

NOT_YET = "not modelled yet: the estimate of this vessel is withheld"
_PIECES = {"dry": None, "wash": None, "crush": "crushed", "grind": "powder"}


@apply.register
def _(step: Gather, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    material = step.material
    mass = draws.amount(number, "amount", step.amount)
    if not dissolve.is_material(material):
        return world.with_lot(step.lot, LotState(material=material))
    if step.amount.dimension == "volume" and "bulk_density" in group(f"materials.{material}"):
        mass = mass * dissolve.lot_number(draws, step.lot, material, "bulk_density")
    before = world.lots.get(step.lot)
    if before is not None and before.mass is not None:
        return world.with_lot(step.lot, attrs.evolve(before, mass=before.mass + mass))
    return world.with_lot(step.lot, LotState(material=material, mass=mass))


@apply.register
def _(step: Prepare, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    lot = world.lots[step.lot]
    pieces = _PIECES.get(step.how) or lot.pieces
    mass = lot.mass
    if step.to is not None and step.to.dimension == "mass":
        mass = draws.amount(number, "to", step.to)
    return world.with_lot(step.lot, attrs.evolve(lot, pieces=pieces, mass=mass))


@apply.register
def _(step: Bring, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    material = step.material
    state = vessel_at(step.vessel, world, draws)
    ml = draws.amount(number, "amount", step.amount)
    if not dissolve.is_material(material):
        poured = dissolve.liquid(material, ml, state.temperature, draws)
        return world.with_vessel(step.vessel, mixed(state, poured)).took_in(poured)
    if dissolve.role(material) != "tannin":
        return withheld(world, step.vessel, f"a liquor of {material} of unknown strength is {NOT_YET}", draws)
    strength = draws.of(f"entry:{number}/solids", "pot.brought_solids") * ml * dissolve.LITRES_PER_ML
    inside, _, _ = dissolve.soluble_of_plant(f"{step.vessel}@{number}", material, draws.full(1.0), draws)
    per_gram = inside * (1.0 / np.maximum(composition.plant_solids(inside), NOTHING))
    brought = per_gram * strength + dissolve.liquid("water", ml, state.temperature, draws)
    return world.with_vessel(step.vessel, mixed(state, brought)).took_in(brought)


@apply.register
def _(step: Steep, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state = vessel_at(step.into, world, draws)
    temperature = kelvin(number, "temperature", step.temperature, draws)
    poured = dissolve.liquid(
        step.liquid, draws.amount(number, "liquid_amount", step.liquid_amount), temperature, draws
    )
    world = world.took_in(poured)
    if step.marc_of is not None:
        marc = world.marcs[step.marc_of]
        world = world.with_marc(step.marc_of, None)
        poured = poured + marc.held
        marc = attrs.evolve(marc, held=Liquor.empty(draws.n))
    else:
        lot = world.lots[str(step.lot)]
        if not dissolve.is_material(lot.material) or dissolve.role(lot.material) != "tannin":
            return withheld(world, step.into, f"{lot.material} steeped in {step.liquid} is {NOT_YET}", draws)
        grams, left = dissolve.grams_taken(step.amount, number, "amount", str(step.lot), lot, draws)
        marc, damp = dissolve.marc_of_plant(str(step.lot), lot, grams, _pieces(step.pieces, lot), draws)
        poured = poured + damp
        world = world.with_lot(str(step.lot), left).took_in(damp + marc.inside)
    filled = mixed(attrs.evolve(state, marc=joined(state.marc, marc)), poured, temperature)
    seconds = seconds_of(number, step.for_, draws)
    soaked = soak(filled, seconds, temperature, draws)
    return world.with_vessel(step.into, attrs.evolve(soaked, at=world.now + seconds))


def _pieces(stated: object, lot: LotState) -> str:
    """Return the size of the pieces as a handbook word; one told in mm falls in the nearest."""
    if stated is None:
        return lot.pieces
    if isinstance(stated, Quantity):
        half_metres = stated.value / 2 / 1000
        words = ("whole", "chips", "crushed", "powder")
        return min(words, key=lambda w: abs(np.log(half_metres / value(f"extraction.radius.{w}"))))
    return str(stated)


def joined(old: Marc | None, new: Marc) -> Marc:
    """Return two marcs in one pot as one; the later one's pieces and source decide how it soaks."""
    if old is None:
        return new
    return attrs.evolve(
        new, inside=old.inside + new.inside, solid=old.solid + new.solid, held=old.held + new.held
    )


@apply.register
def _(step: Strain, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del number, shelf
    state = vessel_at(step.vessel, world, draws)
    if state.marc is None:
        return _moved_whole(step, state, world, draws)
    held, drained = kept_back(state, draws)
    marc = attrs.evolve(state.marc, held=state.marc.held + held)
    # Marc set aside from this vessel before is not thrown away: the new joins it.
    world = world.with_marc(step.vessel, joined(world.marcs.get(step.vessel), marc))
    if step.into == step.vessel:
        return world.with_vessel(step.vessel, attrs.evolve(state, liquor=drained, marc=None))
    emptied = attrs.evolve(state, liquor=Liquor.empty(draws.n), marc=None)
    receiver = mixed(vessel_at(step.into, world, draws), drained, state.temperature)
    receiver = attrs.evolve(receiver, withheld=receiver.withheld or state.withheld)
    return world.with_vessel(step.vessel, emptied).with_vessel(step.into, receiver)


def kept_back(state: VesselState, draws: Draws) -> tuple[Liquor, Liquor]:
    """Return the liquor that the marc keeps on draining and the liquor that runs off."""
    if state.marc is None:
        return Liquor.empty(draws.n), state.liquor
    kind = "galls" if state.marc.form == "gall" else "bark"
    grams = draws.of(f"lot:{state.marc.source}/held", f"extraction.held.{kind}") * state.marc.solid
    share = np.minimum(
        grams / np.maximum(composition.mass(state.liquor), NOTHING), value("pot.drained_at_most")
    )
    held = state.liquor * share
    return held, state.liquor - held


def _moved_whole(step: Strain, state: VesselState, world: World, draws: Draws) -> World:
    """Strain a liquor without marc: it loses its insoluble matter and moves."""
    grit: Array = state.liquor["insolubles"]
    lost = Liquor.of(draws.n, insolubles=grit)
    clear = state.liquor - lost
    world = world.gave_out(lost)
    if step.into == step.vessel:
        return world.with_vessel(step.vessel, attrs.evolve(state, liquor=clear))
    receiver = mixed(vessel_at(step.into, world, draws), clear, state.temperature)
    receiver = attrs.evolve(receiver, withheld=receiver.withheld or state.withheld)
    emptied = attrs.evolve(state, liquor=Liquor.empty(draws.n))
    return world.with_vessel(step.vessel, emptied).with_vessel(step.into, receiver)
