"""What each reading of a vessel should have been; a liquid lot is read the same way.

Each prediction is ``(m, N)``, on the scale on which its error is even: the
natural logarithm for amounts and thickness, plain for pH, gravity and warmth.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from inkhorn.chemistry import density
from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.daybook.entries import Reading
from inkhorn.handbook.load import value
from inkhorn.replay import composition, drops, people, seen, top
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.warmth import ZERO_CELSIUS
from inkhorn.replay.world import VesselState

MMOL_PER_MOL = 1000.0
GRAMS_PER_LITRE = 1000.0
PER_CENT = 100.0


def log(x: Array) -> Array:
    """Return the natural logarithm of an amount, (N,); nothing counts as next to nothing."""
    return np.log(np.maximum(x, NOTHING))


def phenol_groups(liquor: Liquor) -> Array:
    """Return all phenol groups, free and bound, mol, (N,)."""
    free = composition.pyrogallol_groups(liquor) + composition.groups(liquor)[1]
    return np.asarray(free + liquor["complex_pyrogallol"] + liquor["complex_catechol"])


def as_gallic_acid(groups: Array, draws: Draws) -> Array:
    """Return what an assay makes of phenol groups, g as gallic acid, (N,)."""
    return np.asarray(groups * molar_mass("C7H6O5") * draws.of("misfit/phenols", "misfit.phenols"))


def refractometer(liquor: Liquor, draws: Draws) -> Array:
    """Return the degrees Brix that a refractometer shows, (N,): sugar and gum nearly true, plant matter too high."""
    plant = composition.plant_solids(liquor)
    gum = liquor["gum"] + liquor["gel"]
    salts = np.maximum(composition.dry_residue(liquor) - plant - gum - liquor["insolubles"], 0.0)
    shown = (
        plant * draws.of("refractometer/over", "density.brix_over_read")
        + salts * draws.of("refractometer/salt", "readings.brix.salt")
        + gum
    )
    return np.asarray(PER_CENT * shown / np.maximum(composition.mass(liquor), NOTHING))


def _share_or_litre(reading: Reading, grams: Array, state: VesselState) -> Array:
    """Return what is held as a share of the mass where per cent was written, else g/L, natural log, (N,)."""
    trace = value(f"readings.trace.{reading.what}")
    if getattr(reading.value, "dimension", "") == "fraction":
        return log(grams / np.maximum(composition.mass(state.liquor), NOTHING) + trace / GRAMS_PER_LITRE)
    return log(composition.molarity(grams, state.liquor, state.temperature) + trace)


def _iron(reading: Reading, state: VesselState) -> Array:
    """Return all iron as a share of the mass where per cent was written, else mmol/L, natural log, (N,)."""
    iron, trace = composition.iron_total(state.liquor), value("readings.trace.total_iron")
    if getattr(reading.value, "dimension", "") == "fraction":
        share = iron * molar_mass("Fe") / np.maximum(composition.mass(state.liquor), NOTHING)
        return log(share + trace * molar_mass("Fe") / MMOL_PER_MOL / GRAMS_PER_LITRE)
    return log(composition.molarity(iron, state.liquor, state.temperature) * MMOL_PER_MOL + trace)


def _thick(state: VesselState, draws: Draws) -> Array:
    return log(seen.viscosity(state.liquor, state.temperature, draws))


def _gravity(state: VesselState, draws: Draws) -> Array:
    return seen.specific_gravity(state.liquor, state.temperature, draws)


OF_LIQUOR: Mapping[str, Callable[[Reading, VesselState, Draws], Array]] = {
    "mass": lambda r, s, d: log(composition.mass(s.liquor)) - people.bias(r, d),
    "volume": lambda r, s, d: log(composition.volume(s.liquor, s.temperature)) - people.bias(r, d),
    "temperature": lambda _r, s, _d: s.temperature - ZERO_CELSIUS,
    "ph": lambda _r, s, d: seen.acidity(s.liquor, s.temperature, d),
    "specific_gravity": lambda _r, s, d: _gravity(s, d),
    "barkometer": lambda _r, s, d: density.barkometer(_gravity(s, d)),
    "brix": lambda _r, s, d: refractometer(s.liquor, d),
    "dry_residue": lambda r, s, d: _share_or_litre(r, seen.dry_residue(s.liquor, d), s),
    "viscosity": lambda _r, s, d: _thick(s, d),
    "drop_mass": lambda r, s, d: drops.dropped(r, s.liquor, s.temperature, d),
    "ten_drops": lambda r, s, d: drops.dropped(r, s.liquor, s.temperature, d),
    "discharge": lambda r, s, d: drops.run_out(r, s.liquor, s.temperature, d),
    "total_iron": lambda r, s, _d: _iron(r, s),
    "total_phenols": lambda r, s, d: _share_or_litre(r, as_gallic_acid(phenol_groups(s.liquor), d), s),
    "gum": lambda r, s, _d: _share_or_litre(r, s.liquor["gum"] + s.liquor["gel"], s),
    "body": lambda r, s, d: people.heard("body", r.who, _thick(s, d), d),
    "surface": lambda r, s, d: people.heard("surface", r.who, top.surface(s, d), d),
}


def foreseen(reading: Reading, state: VesselState, draws: Draws) -> Array:
    """Return what a reading of a liquor should have been, (m, N)."""
    return np.atleast_2d(OF_LIQUOR[str(reading.what)](reading, state, draws))
