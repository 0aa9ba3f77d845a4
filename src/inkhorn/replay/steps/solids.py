"""Gathering, preparing, steeping and straining."""

from __future__ import annotations

import numpy as np

from inkhorn.daybook.entries import Bring, Gather, Prepare, Steep, Strain
from inkhorn.daybook.inventory import Inventory
from inkhorn.handbook.load import value
from inkhorn.quantities import Quantity
from inkhorn.replay import composition, dissolve, harvest
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.quiet import stand
from inkhorn.replay.steps.dispatch import apply, kelvin, mixed, poured_into, seconds_of, vessel_at, withheld
from inkhorn.replay.steps.putting import KNOWN, NOT_YET, joined, put
from inkhorn.replay.world import LotState, VesselState, World, but

_PIECES = {"dry": None, "wash": None, "crush": "crushed", "grind": "powder"}
_BROUGHT = {"iron salt": "pot.brought_salt", "gum": "pot.brought_gum"}


@apply.register
def _(step: Gather, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    material = step.material
    mass = draws.amount(number, "amount", step.amount)
    if not dissolve.is_material(material):
        return world.with_lot(step.lot, LotState(material=material))
    if step.amount.dimension == "volume" and dissolve.has_bulk(material):
        mass = mass * dissolve.lot_number(draws, step.lot, material, "bulk_density")
    before = world.lots.get(step.lot)
    if before is not None and before.mass is not None:
        return world.with_lot(step.lot, but(before, mass=before.mass + mass))
    fresh: bool | None = None
    if dissolve.role(material) == "tannin":
        # Asked for here, with what the entry says of it, it keeps this prior wherever it is asked for later.
        draws.of(f"lot:{step.lot}/tannin", harvest.tannin_prior(step, dissolve.form(material)))
        fresh = harvest.freshness(step)
    return world.with_lot(step.lot, LotState(material=material, mass=mass, fresh=fresh))


@apply.register
def _(step: Prepare, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    lot = world.lots[step.lot]
    stated = step.to if step.to is not None and step.to.dimension == "mass" else None
    if lot.holds is not None:
        return world if stated is None else _dried_crystals(step.lot, lot, stated, number, world, draws)
    mass, fresh = lot.mass, lot.fresh
    if stated is not None:
        mass = draws.amount(number, "to", stated)
    elif step.how == "dry" and mass is not None and fresh is not False and _is_plant(lot):
        wet = dissolve.water_share(step.lot, lot.material, draws, fresh=True)
        dry = dissolve.water_share(step.lot, lot.material, draws, fresh=False)
        mass = mass * (1.0 - wet) / (1.0 - dry)
    if step.how == "dry":
        fresh = False
    pieces = _PIECES.get(step.how) or lot.pieces
    return world.with_lot(step.lot, but(lot, pieces=pieces, mass=mass, fresh=fresh))


def _is_plant(lot: LotState) -> bool:
    return dissolve.is_material(lot.material) and dissolve.role(lot.material) == "tannin"


def _dried_crystals(
    name: str, lot: LotState, stated: Quantity, number: int, world: World, draws: Draws
) -> World:
    """Dry crystals that the bench grew to a stated mass: they lose water and nothing else."""
    if lot.mass is None or lot.holds is None:
        return world
    content = lot.holds * lot.mass
    off = np.clip(lot.mass - draws.amount(number, "to", stated), 0.0, content["water"])
    steam = Liquor.of(draws.n, water=off)
    mass = lot.mass - off
    holds = (content - steam) * (1.0 / np.maximum(mass, NOTHING))
    return world.with_lot(name, but(lot, mass=mass, holds=holds)).gave_out(steam)


@apply.register
def _(step: Bring, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    material = step.material
    state, world = vessel_at(step.vessel, world, draws)
    ml = draws.amount(number, "amount", step.amount)
    if not dissolve.is_material(material):
        poured = dissolve.liquid(material, ml, state.temperature, draws)
        return world.with_vessel(step.vessel, mixed(state, poured)).took_in(poured)
    kind, source = dissolve.role(material), f"{step.vessel}@{number}"
    water = dissolve.liquid("water", ml, state.temperature, draws)
    if kind == "tannin":
        strength = draws.of(f"entry:{number}/solids", "pot.brought_solids") * ml * dissolve.LITRES_PER_ML
        inside, _, _ = dissolve.soluble_of_plant(source, material, draws.full(1.0), draws)
        solutes = inside * (strength / np.maximum(composition.plant_solids(inside), NOTHING))
    elif kind in _BROUGHT:
        grams = draws.of(f"entry:{number}/solids", _BROUGHT[kind]) * ml * dissolve.LITRES_PER_ML
        solutes = dissolve.dissolved_lot(source, material, grams, draws)
    else:
        return withheld(world, step.vessel, f"a liquor of {material} of unknown strength is {NOT_YET}", draws)
    brought = solutes + water
    return world.with_vessel(step.vessel, mixed(state, brought)).took_in(brought)


@apply.register
def _(step: Steep, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del shelf
    state, world = vessel_at(step.into, world, draws)
    temperature = kelvin(number, "temperature", step.temperature, draws)
    poured = dissolve.liquid(
        step.liquid, draws.amount(number, "liquid_amount", step.liquid_amount), temperature, draws
    )
    world = world.took_in(poured)
    if step.marc_of is not None:
        marc = world.marcs[step.marc_of]
        world = world.with_marc(step.marc_of, None)
        poured = poured + marc.held
        state = but(state, marc=joined(state.marc, but(marc, held=Liquor.empty(draws.n), given=0.0)))
    else:
        name = str(step.lot)
        lot = world.lots[name]
        if not dissolve.is_material(lot.material) or dissolve.role(lot.material) not in KNOWN:
            return withheld(world, step.into, f"{lot.material} steeped in {step.liquid} is {NOT_YET}", draws)
        grams, left = dissolve.grams_taken(step.amount, number, "amount", name, lot, draws)
        state, world = put(name, lot, grams, _pieces(step.pieces, lot), state, world, draws)
        world = world.with_lot(name, left)
    filled = mixed(state, poured, temperature)
    seconds = seconds_of(number, step.for_, draws)
    soaked, world = stand(step.into, filled, seconds, temperature, world, draws)
    ended = but(soaked, at=world.now + seconds, temperature=temperature)
    return world.with_vessel(step.into, ended)


def _pieces(stated: object, lot: LotState) -> str:
    """Return the size of the pieces as a handbook word; one told in mm falls in the nearest."""
    if stated is None:
        return lot.pieces
    if isinstance(stated, Quantity):
        half_metres = stated.value / 2 / 1000
        words = ("whole", "chips", "crushed", "powder")
        return min(words, key=lambda w: abs(np.log(half_metres / value(f"extraction.radius.{w}"))))
    return str(stated)


@apply.register
def _(step: Strain, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    del number, shelf
    state, world = vessel_at(step.vessel, world, draws)
    if state.marc is None:
        return _moved_whole(step, state, world, draws)
    held, drained = kept_back(state, draws)
    marc = but(state.marc, held=state.marc.held + held)
    # Marc set aside from this vessel before is not thrown away: the new joins it.
    world = world.with_marc(step.vessel, joined(world.marcs.get(step.vessel), marc))
    return _run_off(step, but(state, marc=None), drained, world, draws)


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
    return _run_off(step, state, state.liquor - lost, world.gave_out(lost), draws)


def _run_off(step: Strain, state: VesselState, clear: Liquor, world: World, draws: Draws) -> World:
    """Move the strained liquor on. Metal and ore stay where they lay; into the same vessel, they are taken out."""
    # Some clings to the cloth, the sieve and the walls.
    stuck = clear * np.minimum(draws.of("bench/stuck", "pot.stuck"), 1.0)
    clear, world = clear - stuck, world.gave_out(stuck)
    if step.into == step.vessel:
        cleared = but(state, liquor=clear, metal=None, ore=None)
        return world.with_vessel(step.vessel, cleared)
    there, world = vessel_at(step.into, world, draws)
    receiver = poured_into(there, state, clear)
    emptied = but(state, liquor=Liquor.empty(draws.n), growth=0.0)
    return world.with_vessel(step.vessel, emptied).with_vessel(step.into, receiver)
