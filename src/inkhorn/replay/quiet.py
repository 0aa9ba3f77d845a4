"""What happens in a pot by itself: soaking, oxidation, mould, evaporation."""

from __future__ import annotations

import attrs
import numpy as np

from inkhorn.chemistry import binding as binding_chemistry
from inkhorn.chemistry import extraction
from inkhorn.handbook.load import value
from inkhorn.replay import composition
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.world import Marc, VesselState, World

_SOLUBLE = (*composition.TANNINS, "solids")


def soak(state: VesselState, seconds: Array, temperature: Array, draws: Draws) -> VesselState:
    """Draw soluble matter out of the marc into the liquor for ``seconds``, (N,).

    A share rinses off broken cells at once, the rest follows the long-time
    limit of diffusion from spheres, first order with rate pi^2 D / a^2; D goes
    with temperature as Arrhenius says. What one soak can reach lies between
    the cold and the hot share of the handbook, along the logit.
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
    drawn = reach(marc, temperature, draws) * extraction.released(
        washing, extraction.slow_rate(diffusivity, radius), seconds
    )
    # Marc that is hardly wet gives hardly anything: less water than dry matter slows it in proportion.
    wetted = np.clip(state.liquor["water"] / np.maximum(marc.solid, NOTHING), 0.0, 1.0)
    moved = marc.inside.only(*_SOLUBLE) * (drawn * wetted)
    return attrs.evolve(
        state, liquor=state.liquor + moved, marc=attrs.evolve(marc, inside=marc.inside - moved)
    )


def reach(marc: Marc, temperature: Array, draws: Draws) -> Array:
    """Return the share of what is inside that one soak at ``temperature`` could ever draw out, (N,)."""
    return extraction.extractable(
        temperature,
        cold=draws.of(f"lot:{marc.source}/reach", "extraction.extractable.cold"),
        hot=value("extraction.extractable.hot"),
        cold_temperature=value("extraction.extractable.cold_temperature"),
        hot_temperature=value("extraction.extractable.hot_temperature"),
    )


def oxidise(liquor: Liquor, seconds: Array, exposure: Array | float, draws: Draws) -> Liquor:
    """Turn iron(II) to iron(III) in the pot and let the tannin take it up.

    Only where tannin is there to help: without it an acid vitriol liquor
    hardly oxidises on a bench. ``exposure`` is 1 for an open pot.
    """
    iron2 = liquor["iron2"]
    by_tannin = composition.free_capacity(liquor, draws)
    capacity = sum(by_tannin.values(), np.zeros(draws.n))
    helped = np.divide(capacity, capacity + iron2, out=np.zeros(draws.n), where=capacity > 0)
    rate = draws.of("pot/oxidation", "oxidation.pot_rate") * exposure
    turned = iron2 * helped * extraction.decayed(rate, seconds)
    return _take_up(liquor, turned, by_tannin, capacity)


def _take_up(liquor: Liquor, turned: Array, by_tannin: dict[str, Array], capacity: Array) -> Liquor:
    ferric = liquor["iron3"] + turned
    bound = binding_chemistry.bound(ferric, capacity, value("binding.slack"))
    used = np.divide(bound, capacity, out=np.zeros_like(capacity), where=capacity > 0)
    pyro = sum(
        liquor[name] * value(f"binding.groups.{name}") for name in ("gallotannin", "gallic", "ellagitannin")
    )
    return liquor.changed(
        iron2=liquor["iron2"] - turned,
        iron3=ferric - bound,
        complex_iron=liquor["complex_iron"] + bound,
        complex_pyrogallol=liquor["complex_pyrogallol"] + used * pyro,
        complex_catechol=liquor["complex_catechol"]
        + used * liquor["condensed"] * value("binding.groups.condensed"),
        **{name: liquor[name] * (1.0 - used) for name in by_tannin},
    )


def hydrolyse(liquor: Liquor, seconds: Array, rate: Array) -> Liquor:
    """Free gallic acid from gallotannin, first order; gram for gram, so no galloyl group is lost.

    C76H52O46 + 10 H2O gives 10 C7H6O5 and one sugar: a gram gives a gram of
    gallic acid and a tenth of a gram of sugar, and takes up as much water.
    """
    uptake = value("pot.sugar_of_gallotannin")
    possible = np.minimum(liquor["gallotannin"], liquor["water"] / uptake)
    freed = possible * extraction.decayed(rate, seconds)
    groups = value("binding.groups.gallotannin") / value("binding.groups.gallic")
    gallic = freed * groups
    sugar = freed * uptake
    return liquor.changed(
        gallotannin=liquor["gallotannin"] - freed,
        gallic=liquor["gallic"] + gallic,
        solids=liquor["solids"] + sugar,
        water=liquor["water"] - (gallic + sugar - freed),
    )


def settle(name: str, world: World, until: float, draws: Draws) -> World:
    """Bring one vessel's quiet changes up to a moment of the bench clock.

    Nobody said how it stood, so it is taken as covered: it soaks on, oxidises
    slowly, and a tannin liquor without iron may grow mould.
    """
    state = world.vessels.get(name)
    if state is None or np.all(until <= state.at):
        return world
    seconds = np.broadcast_to(np.maximum(until - state.at, 0.0), (draws.n,))
    settled = still(state, seconds, value("oxidation.covered"), draws)
    return world.with_vessel(name, attrs.evolve(settled, at=np.maximum(until, state.at)))


def still(state: VesselState, seconds: Array, exposure: float, draws: Draws) -> VesselState:
    """Return a vessel that stood for ``seconds``, open (exposure 1) or covered."""
    state = soak(state, seconds, state.temperature, draws)
    # Mould is held off by iron, and oxidation needs it: a pot has one or the other.
    has_iron = composition.iron_total(state.liquor) > 0
    if not has_iron.all():
        mould = draws.of("pot/mould", "extraction.hydrolysis.mould") * ~has_iron
        state = attrs.evolve(state, liquor=hydrolyse(state.liquor, seconds, mould))
    if has_iron.any():
        state = attrs.evolve(state, liquor=oxidise(state.liquor, seconds, exposure, draws))
    return state
