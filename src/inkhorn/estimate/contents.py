"""What the pots and lots of a replay come to, as figures that a person reads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs
import numpy as np

from inkhorn.chemistry import binding
from inkhorn.daybook.entries import Mark
from inkhorn.estimate.figures import Figure, figure
from inkhorn.estimate.likelihood import Array
from inkhorn.estimate.result import VesselEstimate
from inkhorn.replay import composition, dissolve, ground, seen, skin, strokes, target
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import Plan
from inkhorn.replay.liquor import NOTHING, Liquor
from inkhorn.replay.predict import ML_PER_L, MMOL_PER_MOL
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS
from inkhorn.replay.world import VesselState, World


def vessels_of(world: World, plan: Plan, draws: Draws) -> dict[str, VesselEstimate]:
    """Return the figures of every vessel, by name."""
    return {name: vessel_of(name, state, plan, draws) for name, state in world.vessels.items()}


_STRENGTHS = {
    "tannin": ("tannin", "tannin_fraction"),
    "iron salt": ("iron", "iron_fraction"),
    "gum": ("soluble", "gum_soluble"),
}


def lots_of(world: World, draws: Draws) -> dict[str, dict[str, Figure]]:
    """Return what is known of every lot, by name: its strength, and what is left of it."""
    return {
        name: {key: figure(array, unit) for key, (array, unit) in found.items()}
        for name, found in drawn_lots(world, draws).items()
    }


def drawn_lots(world: World, draws: Draws) -> dict[str, dict[str, tuple[Array, str]]]:
    """Return the draws of what is told of every lot, with their units."""
    out: dict[str, dict[str, tuple[Array, str]]] = {}
    for name, lot in world.lots.items():
        if not dissolve.is_material(lot.material) or lot.withheld:
            continue
        found: dict[str, tuple[Array, str]] = {}
        kind = dissolve.role(lot.material)
        if kind in _STRENGTHS:
            key, label = _STRENGTHS[kind]
            found[label] = (dissolve.lot_number(draws, name, lot.material, key), "1")
        if lot.mass is not None:
            found["mass_left"] = (lot.mass, "g")
        out[name] = found
    return out


@attrs.frozen(kw_only=True)
class Hand:
    """The pen and the support that a vessel's ink was last tried with."""

    tool: str
    pen_kind: str | None
    method: str
    support: str


def usual_hand(vessel: str, plan: Plan) -> Hand:
    """Return how a vessel's ink is marked: its last undiluted pen trial, else any, else a quill on skin."""
    marks = [e.entry for e in plan.entries if isinstance(e.entry, Mark)]
    own = [m for m in marks if m.vessel == vessel and m.thinned is None]
    others = [m for m in marks if m.thinned is None]
    for m in (*reversed(own), *reversed(others)):
        if m.method in ("pen", "line", "pangram"):
            pen = plan.shelf.pens.get(m.pen) if m.pen else None
            return Hand(
                tool=m.pen or "", pen_kind=pen.material if pen else None, method="pen", support=m.support
            )
    support = others[-1].support if others else ""
    return Hand(tool="", pen_kind=None, method="pen", support=support)


@attrs.frozen(kw_only=True, eq=False)
class Stroke:
    """A usual dry stroke: density (N, 3), wet film um (N,), one ml of its ink, chalk g/m2 (N,) or None."""

    density: Array
    film: Array
    ink: Liquor
    chalk: Array | None


def chalk_under(hand: Hand, plan: Plan, draws: Draws) -> Array | None:
    """Return the chalk of the support that a hand writes on, g/m2, (N,); None where none was ever named."""
    if not hand.support:
        return None
    sheet = plan.shelf.supports.get(hand.support)
    return skin.chalk_of(
        hand.support, sheet.material if sheet else None, sheet.preparation if sheet else None, draws
    )


def dry_stroke(
    state: VesselState,
    hand: Hand,
    plan: Plan,
    support: Array,
    draws: Draws,
    *,
    viscosity: Array | None = None,
    seconds: float | None = None,
) -> Stroke:
    """Return a usual stroke of a vessel's ink, dry, or so many ``seconds`` after it was laid.

    Parameters
    ----------
    support : ndarray, shape (W,)
        Reflectance of the skin that it is looked at on. The chalk that it
        meets is that of the skin which the hand writes on.
    viscosity : ndarray, optional
        mPa s, where it is known already.
    """
    thick = seen.viscosity(state.liquor, state.temperature, draws) if viscosity is None else viscosity
    film = strokes.film_laid(
        tool=hand.tool, method=hand.method, viscosity=thick, draws=draws, pen_kind=hand.pen_kind
    )
    if hand.support and hand.method in ground.WITH_PEN:
        taken = ground.of_thing(hand.support, plan.shelf.supports.get(hand.support), draws)
        film = film * ground.thinning(ground.edge_of(plan.shelf.pens.get(hand.tool)), taken)
    ink = strokes.one_ml(state.liquor, state.temperature)
    chalk = chalk_under(hand, plan, draws)
    done = 1.0 if seconds is None else strokes.progress(seconds, draws, skin.ready_in_pot(ink, draws))
    laid = strokes.density(strokes.areal(ink, film, done, draws, chalk), support, draws)
    return Stroke(density=laid, film=film, ink=ink, chalk=chalk)


@attrs.frozen(kw_only=True, eq=False)
class Drawn:
    """Draws of everything that is told of one vessel: figures with their units, and its dry stroke.

    ``density`` and ``lab`` are (N, 3), or None where it holds nothing that could be written with.
    """

    figures: Mapping[str, tuple[Array, str]]
    density: Array | None = None
    lab: Array | None = None
    withheld: str = ""


def vessel_of(name: str, state: VesselState, plan: Plan, draws: Draws) -> VesselEstimate:
    """Return the figures of one vessel."""
    drawn = drawn_vessel(name, state, plan, draws)
    density, lab = drawn.density, drawn.lab
    return VesselEstimate(
        figures={key: figure(array, unit) for key, (array, unit) in drawn.figures.items()},
        dry_optical_density=_by_component(strokes.CHANNELS, density),
        dry_lab=_by_component(("L", "a", "b"), lab),
        withheld=drawn.withheld,
    )


def _by_component(names: Sequence[str], array: Array | None) -> dict[str, Figure]:
    return {} if array is None else {c: figure(array[:, i], "1") for i, c in enumerate(names)}


def drawn_vessel(name: str, state: VesselState, plan: Plan, draws: Draws) -> Drawn:
    """Return the draws of everything that is told of one vessel."""
    if state.withheld:
        return Drawn(figures={}, withheld=state.withheld)
    liquor, warm = state.liquor, state.temperature
    volume = composition.volume(liquor, warm)
    if not np.median(volume) > 0:
        return Drawn(figures={"volume": (volume, "ml")})
    held = composition.dry_binding(liquor, draws)
    litre = ML_PER_L / np.maximum(volume, NOTHING)
    figures = {
        "volume": (volume, "ml"),
        "temperature": (warm - ZERO_CELSIUS, "degC"),
        "iron_total": (held.iron * litre * MMOL_PER_MOL, "mmol/L"),
        "iron_capacity": (held.capacity * litre * MMOL_PER_MOL, "mmol/L"),
        "iron_to_capacity": (binding.iron_to_capacity(held.iron, held.capacity), "1"),
        "free_iron": ((held.iron - held.bound) * litre * MMOL_PER_MOL, "mmol/L"),
        "ph": (seen.acidity(liquor, warm, draws), "1"),
        "viscosity": (seen.viscosity(liquor, warm, draws), "mPa s"),
        "gum": ((liquor["gum"] + liquor["gel"]) * litre, "g/L"),
        "dissolved_solids": (seen.dry_residue(liquor, draws) * litre, "g/L"),
        "specific_gravity": (seen.specific_gravity(liquor, warm, draws), "1"),
    }
    hand = usual_hand(name, plan)
    support = plan.scene.supports.get(hand.support)
    if support is None:
        support = target.default_support()
    stroke = dry_stroke(state, hand, plan, support, draws)
    if stroke.chalk is not None:
        lasting = skin.lasting(stroke.ink, stroke.film, stroke.chalk, draws)
        figures["acid_to_chalk"] = (lasting.needed / np.maximum(stroke.chalk, NOTHING), "1")
    lab = strokes.lab_on(stroke.density, strokes.bare_rgb(support))
    return Drawn(figures=figures, density=stroke.density, lab=lab)
