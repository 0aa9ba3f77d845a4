"""What happens in a pot by itself: soaking, oxidation, and all that heat, mould, metal and ore do."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry import extraction
from inkhorn.handbook.load import value
from inkhorn.replay import composition, heap, metal, spoil, uptake, warmth
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.spoil import hydrolyse
from inkhorn.replay.world import Marc, VesselState, World, but

__all__ = ["hydrolyse", "oxidise", "settle", "soak", "stand"]

GRAMS_PER_LITRE = 1000.0
_SOLUBLE = (*composition.TANNINS, "solids", "brown")


def soak(state: VesselState, seconds: Array | float, temperature: Array, draws: Draws) -> VesselState:
    """Draw soluble matter out of the marc into the liquor for ``seconds``, (N,).

    A share rinses off broken cells at once, the rest follows the long-time
    limit of diffusion from spheres, first order with rate pi^2 D / a^2; D goes
    with temperature as Arrhenius says. What one soak can reach lies between
    the cold and the hot share of the handbook, along the logit, and is less
    where there is little water for the marc.
    """
    marc = state.marc
    if marc is None:
        return state
    radius = draws.of(f"lot:{marc.source}/radius.{marc.pieces}", f"extraction.radius.{marc.pieces}")
    diffusivity = extraction.arrhenius(
        draws.of("soak/diffusivity", "extraction.diffusivity"),
        draws.of("soak/energy", "extraction.energy"),
        temperature,
        value("extraction.reference"),
    )
    washing = draws.of(f"lot:{marc.source}/washing.{marc.pieces}", f"extraction.washing.{marc.pieces}")
    # The share rinses off once, when the soak begins; what is left of the reach follows the slow law, so that a
    # soak in two parts draws what one in one part does.
    most = np.minimum(reach(marc, temperature, draws) * among(marc, state.liquor["water"], draws), 1.0)
    slow = extraction.slow_rate(diffusivity, radius)
    begun = np.asarray(marc.given) > 0
    left = np.maximum(most - marc.given, 0.0)
    drawn = left * extraction.released(np.where(begun, 0.0, washing), slow, seconds)
    # Marc that is hardly wet gives hardly anything: less water than dry matter slows it in proportion.
    wetted = np.clip(state.liquor["water"] / np.maximum(marc.solid, NOTHING), 0.0, 1.0)
    gone = drawn * wetted
    moved = marc.inside.only(*_SOLUBLE) * (gone / np.maximum(1.0 - marc.given, NOTHING))
    marc = but(marc, inside=marc.inside - moved, given=marc.given + gone)
    return but(state, liquor=state.liquor + moved, marc=marc)


def reach(marc: Marc, temperature: Array, draws: Draws) -> Array:
    """Return the share of what is inside that one soak at ``temperature`` could ever draw out, (N,)."""
    return extraction.extractable(
        temperature,
        cold=draws.of(f"lot:{marc.source}/reach", "extraction.extractable.cold"),
        hot=value("extraction.extractable.hot"),
        cold_temperature=value("extraction.extractable.cold_temperature"),
        hot_temperature=value("extraction.extractable.hot_temperature"),
    )


def among(marc: Marc, water: Array, draws: Draws) -> Array:
    """Return the factor on what a soak can reach for the water that the marc lies in, (N,)."""
    soluble = composition.plant_solids(marc.inside) / np.maximum(1.0 - np.asarray(marc.given), NOTHING)
    return extraction.drawn_share(
        water / np.maximum(marc.solid + soluble, NOTHING),
        competes=draws.of(f"lot:{marc.source}/competes", "extraction.partition.competes"),
        reference=value("extraction.partition.reference"),
    )


def oxidise(liquor: Liquor, seconds: Array | float, exposed: Array | float, draws: Draws) -> Liquor:
    """Turn iron(II) to iron(III) in the pot and let the tannin take it up.

    Only where tannin is there to help: without it an acid vitriol liquor
    hardly oxidises on a bench. ``exposed`` is 1 for an open pot. What is
    called complex here is iron(III) that has met its tannin: how much of it is
    bound and coloured at the acidity of the pot is another question
    (`inkhorn.replay.acid.bound_share`).
    """
    if not liquor.has(*composition.TANNINS):
        return liquor
    rate = draws.of("pot/oxidation", "oxidation.pot_rate")
    got = uptake.turn(
        tuple(liquor[name] for name in composition.TANNINS),
        tuple(draws.of(f"ink/sites.{name}", f"binding.sites.{name}") for name in composition.TANNINS),
        extraction.decayed(rate * exposed, seconds),
        liquor["iron2"],
        liquor["iron3"],
        liquor["complex_iron"],
        value("binding.slack"),
        composition.groups_per_gram(),
    )
    changed = dict(zip(uptake.OUT, got, strict=True))
    for name in ("complex_pyrogallol", "complex_catechol"):
        if liquor.has(name):
            changed[name] += liquor[name]
    return liquor.changed(**changed)


def settle(name: str, world: World, until: float, draws: Draws) -> World:
    """Bring one vessel's quiet changes up to a moment of the bench clock.

    Unless a `store` said otherwise it stood covered: it cools and soaks on,
    oxidises slowly, may grow mould, and goes on with what metal or ore is in it.
    """
    state = world.vessels.get(name)
    if state is None:
        return world
    left = until - state.at
    seconds: Array | float
    if isinstance(left, np.ndarray):
        if not (left > 0.0).any():
            return world
        seconds, at = np.maximum(left, 0.0), np.maximum(until, state.at)
    elif left > 0.0:
        seconds, at = left, until
    else:
        return world
    mean, end = warmth.left_alone(state.temperature, seconds, draws)
    settled, world = stand(name, state, seconds, mean, world, draws)
    return world.with_vessel(name, but(settled, at=at, temperature=end))


def stand(
    name: str, state: VesselState, seconds: Array | float, temperature: Array, world: World, draws: Draws
) -> tuple[VesselState, World]:
    """Return a vessel after ``seconds`` at a temperature with nothing done to it, and the account with it."""
    state, world = dried(state, seconds, world, draws)
    state = soak(state, seconds, temperature, draws)
    state, world = spoil.cooked(state, seconds, temperature, world, draws)
    state, world = spoil.moulded(state, seconds, temperature, world, draws)
    wall = world.made_of.get(name, "")
    if state.ore is not None:
        state, world = heap.weathered(state, seconds, temperature, world, draws)
    if state.metal is not None or wall:
        state, world = metal.dissolved(state, wall, seconds, temperature, world, draws)
    if state.liquor.has("iron2", "iron3"):
        state = but(state, liquor=oxidise(state.liquor, seconds, exposure(state.cover), draws))
    return state, world


def dried(
    state: VesselState, seconds: Array | float, world: World, draws: Draws
) -> tuple[VesselState, World]:
    """Let water go off into the room for ``seconds``: freely from an open vessel, little from under a cloth or lid.

    As much a second as at the room's warmth, from a surface that grows with
    what is in it as that of vessels of one shape does, volume to the power of
    two thirds; what is left falls off towards nothing and never reaches it.
    """
    if state.cover == "stoppered" or not state.liquor.has("water"):
        return state, world
    water = state.liquor["water"]
    flux = draws.once("bench/drying", lambda: _drying(draws)) * np.cbrt(water / GRAMS_PER_LITRE) ** 2
    if state.cover != "open":
        flux = flux * draws.of("bench/drying.covered", "pot.drying.covered")
    gone = water * -np.expm1(-flux * seconds / np.maximum(water, NOTHING))
    return but(state, liquor=state.liquor.changed(water=water - gone)), world.gave_out(
        Liquor.of(draws.n, water=gone)
    )


def _drying(draws: Draws) -> Array:
    """Return what an open litre loses to the room, g/s, (N,)."""
    flux = draws.of("bench/evaporation", "boiling.flux.room")
    return np.asarray(flux * draws.of("bench/open_area", "pot.open_area"))


def exposure(cover: str) -> float:
    """Return the oxygen that a vessel takes up against an open one."""
    if cover == "open":
        return 1.0
    return value("pot.stoppered" if cover == "stoppered" else "oxidation.covered")
