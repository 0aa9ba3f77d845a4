"""What each reading of a lot should have been: an assay of a solid by mass, a liquid as any liquor."""

from __future__ import annotations

import functools

import numpy as np

from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.daybook.entries import Reading
from inkhorn.handbook.load import group
from inkhorn.replay import composition, dissolve, of_vessel, people, seen, warmth
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.of_vessel import log
from inkhorn.replay.world import LotState, VesselState

ML_PER_L = 1000.0
_ASSAYS = ("dry_residue", "total_iron", "total_phenols", "gum")
#: What may be foreseen of a solid lot, by its role.
_OF_ROLE = {
    "tannin": ("dry_residue", "total_phenols"),
    "pure tannin": ("dry_residue", "total_phenols"),
    "gallic acid": ("dry_residue", "total_phenols"),
    "iron salt": ("dry_residue", "total_iron"),
    "metallic iron": ("total_iron",),
    "sulfide": ("total_iron",),
    "gum": ("dry_residue", "gum"),
    "chalk": (),
}


def is_foreseen(reading: Reading, material: str) -> bool:
    """Say whether a reading of a lot of a material can be held against a prediction."""
    if reading.what == "mass":
        return True
    if _is_liquid(material):
        return reading.what in of_vessel.OF_LIQUOR and reading.what not in ("mass", "volume", "surface")
    if reading.what == "volume":
        return dissolve.has_bulk(material) and getattr(reading.value, "dimension", "") == "volume"
    is_share = getattr(reading.value, "dimension", "") == "fraction"
    return is_share and str(reading.what) in _OF_ROLE.get(dissolve.role(material), ())


@functools.cache
def _is_liquid(material: str) -> bool:
    return not dissolve.is_material(material) or dissolve.role(material) == "acid"


def foreseen(reading: Reading, name: str, lot: LotState, draws: Draws) -> Array:
    """Return what a reading of a lot should have been, (m, N)."""
    nothing = np.full((1, draws.n), np.nan)
    if lot.withheld:
        return nothing
    if reading.what in ("mass", "volume") and not (reading.what == "volume" and _is_liquid(lot.material)):
        return nothing if lot.mass is None else _amount(reading, name, lot, lot.mass, draws)[None, :]
    if _is_liquid(lot.material):
        return of_vessel.foreseen(reading, _standing(name, lot, draws), draws)
    return np.asarray(log(_share(str(reading.what), name, lot, draws)))[None, :]


def _amount(reading: Reading, name: str, lot: LotState, mass: Array, draws: Draws) -> Array:
    if reading.what == "volume":
        mass = mass / dissolve.lot_number(draws, name, lot.material, "bulk_density")
    return log(mass) - people.bias(reading, draws)


def _standing(name: str, lot: LotState, draws: Draws) -> VesselState:
    """Return a litre of a liquid lot (a kilogram of an acid) as it stands on the shelf."""
    warm, much = warmth.room(draws), draws.full(ML_PER_L)
    if dissolve.is_material(lot.material):
        return VesselState(liquor=dissolve.dissolved_lot(name, lot.material, much, draws), temperature=warm)
    return VesselState(liquor=dissolve.liquid(lot.material, much, warm, draws), temperature=warm)


def _share(what: str, name: str, lot: LotState, draws: Draws) -> Array:
    """Return the share of a solid lot's mass that an assay finds, (N,)."""
    one = draws.full(1.0)
    kind = dissolve.role(lot.material)
    if kind == "tannin":
        inside, _, moisture = dissolve.soluble_of_plant(
            name, lot.material, one, draws, fresh=lot.fresh is True
        )
        if what == "dry_residue":
            return np.asarray(1.0 - moisture)
        return of_vessel.as_gallic_acid(of_vessel.phenol_groups(inside), draws)
    if kind == "metallic iron":
        metal = lot.material.removeprefix("iron-")
        return draws.of(f"lot:{name}/iron", f"vessel.{metal}.iron")
    if kind == "sulfide":
        pure = draws.of(f"lot:{name}/sulfide", f"heap.{lot.material}.sulfide")
        return np.asarray(pure * molar_mass("Fe") / molar_mass("FeS2"))
    return _of_dissolved(what, dissolve.dissolved_from(name, lot, one, draws), draws)


def _of_dissolved(what: str, gram: Liquor, draws: Draws) -> Array:
    """Return the share of a gram that an assay finds, of a lot that dissolves at once."""
    if what == "total_iron":
        return np.asarray(composition.iron_total(gram) * molar_mass("Fe"))
    if what == "total_phenols":
        return of_vessel.as_gallic_acid(of_vessel.phenol_groups(gram), draws)
    if what == "gum":
        return gram["gum"]
    # A sulfate of iron keeps its last water at 105 degC: it dries to the monohydrate.
    kept = np.minimum(composition.iron_total(gram) * molar_mass("H2O"), gram["water"])
    return np.asarray(np.maximum(seen.dry_residue(gram, draws) + kept, NOTHING))


def why_not(reading: Reading, material: str) -> str:
    """Return in plain words why a reading of a lot is not foreseen."""
    what = str(reading.what).replace("_", " ")
    if reading.what in _ASSAYS and group("materials").get(material) is not None:
        return f"write the {what} of a solid as a share of its mass, and of what it can hold"
    return f"nothing is foreseen of the {what} of a lot of {material.replace('-', ' ')}"
