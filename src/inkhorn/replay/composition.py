"""What a liquor is like: its mass, volume, strength, thickness and acidity.

Functions of a `Liquor` and the draws; nothing here changes anything. Each asks
the draws for the constants that it needs, so that their uncertainty is carried.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from typing import Final

import attrs
import numpy as np

from inkhorn.chemistry import binding, speciation
from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.flow import mixture
from inkhorn.flow import water as water_flow
from inkhorn.handbook.load import value
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, SUBSTANCES, Array, Liquor, mass_weights

PYROGALLOL = ("gallotannin", "gallic", "ellagitannin")
TANNINS = (*PYROGALLOL, "condensed")
GRAMS_PER_KG = 1000.0
ML_PER_DL = 100.0
ML_PER_L = 1000.0
FREEZING = 273.15


def mass(liquor: Liquor) -> Array:
    """Return the mass of a liquor, g, (N,)."""
    return liquor.weighed(mass_weights())


@functools.cache
def _specific_volumes() -> Mapping[str, float]:
    """Return ml per unit of each substance that is not water or spirit."""
    grams = mass_weights()
    kinds = dict.fromkeys(SUBSTANCES, "vitriol")
    kinds |= dict.fromkeys((*TANNINS, "solids", "complex_pyrogallol", "complex_catechol"), "solids")
    kinds |= {"gum": "gum", "gel": "gum", "acetate": "acetic"}
    none = ("water", "ethanol", "insolubles")
    return {
        name: grams[name] * value(f"density.specific_volume.{k}")
        for name, k in kinds.items()
        if name not in none
    }


@functools.cache
def _residue_weights() -> Mapping[str, float]:
    """Return the grams of each substance that a dish keeps on drying."""
    gone = ("water", "ethanol", "acetate")
    return {name: grams for name, grams in mass_weights().items() if name not in gone}


_DENSITIES: dict[int, tuple[Array, Array]] = {}
_KEPT_DENSITIES: Final = 8


def water_density(temperature: Array) -> Array:
    """Return the density of water, g/ml, (N,).

    Nearly every liquor of a replay is at the temperature of the room, which is
    one array: what was reckoned last for an array is kept with it.
    """
    kept = _DENSITIES.get(id(temperature))
    if kept is not None and kept[0] is temperature:
        return kept[1]
    density = water_flow.density(temperature)
    if len(_DENSITIES) >= _KEPT_DENSITIES:
        _DENSITIES.clear()
    _DENSITIES[id(temperature)] = (temperature, density)
    return density


def volatile_volume(liquor: Liquor, temperature: Array) -> Array:
    """Return the volume of the water and spirit alone, ml, (N,)."""
    ml = liquor["water"] / water_density(temperature)
    if liquor.has("ethanol"):
        ml += liquor["ethanol"] * value("density.specific_volume.ethanol")
    return ml


def volume(liquor: Liquor, temperature: Array) -> Array:
    """Return the volume of a liquor, ml, (N,); volumes are taken as additive."""
    return np.asarray(volatile_volume(liquor, temperature) + liquor.weighed(_specific_volumes()))


def dry_residue(liquor: Liquor) -> Array:
    """Return what a dish keeps on drying, g, (N,): all but water, spirit and acetic acid."""
    return liquor.weighed(_residue_weights())


def specific_gravity(liquor: Liquor, temperature: Array) -> Array:
    """Return the specific gravity against water of the same temperature, (N,)."""
    ml = np.maximum(volume(liquor, temperature), NOTHING)
    return np.asarray(mass(liquor) / ml / water_density(temperature))


def plant_solids(liquor: Liquor) -> Array:
    """Return the dissolved plant solids, g, (N,): tannins, bound or not, and other brown matter."""
    groups = liquor["complex_pyrogallol"] / value("binding.groups.gallotannin")
    groups = groups + liquor["complex_catechol"] / value("binding.groups.condensed")
    free = liquor["gallotannin"] + liquor["gallic"] + liquor["ellagitannin"] + liquor["condensed"]
    return np.asarray(free + groups + liquor["solids"])


def iron_total(liquor: Liquor) -> Array:
    """Return all the iron, mol, (N,)."""
    return np.asarray(liquor["iron2"] + liquor["iron3"] + liquor["complex_iron"])


@functools.cache
def groups_per_gram() -> tuple[float, ...]:
    """Return the phenol groups of a gram of each of `TANNINS`, mol/g."""
    return tuple(value(f"binding.groups.{name}") for name in TANNINS)


@functools.cache
def _groups_per_gram() -> Mapping[str, float]:
    return {name: value(f"binding.groups.{name}") for name in PYROGALLOL}


def pyrogallol_groups(liquor: Liquor) -> Array:
    """Return the free phenol groups of trihydroxy type, mol, (N,)."""
    return liquor.weighed(_groups_per_gram())


def groups(liquor: Liquor) -> tuple[Array, Array]:
    """Return the free phenol groups of both classes, pyrogallol and catechol, mol, (N,) each."""
    return pyrogallol_groups(liquor), liquor["condensed"] * value("binding.groups.condensed")


def _capacity(names: tuple[str, ...], liquor: Liquor, draws: Draws) -> Array | None:
    total: Array | None = None
    for name in names:
        if liquor.has(name):
            own = liquor[name] * draws.of(f"ink/sites.{name}", f"binding.sites.{name}")
            if total is None:
                total = own
            else:
                total += own
    return total


def free_capacity(liquor: Liquor, draws: Draws) -> Array | None:
    """Return the iron that the free tannin can hold in the dry film, mol, (N,); None where there is no tannin."""
    return _capacity(TANNINS, liquor, draws)


@attrs.frozen(kw_only=True, eq=False)
class DryBinding:
    """How the iron of a liquor is held once its film is dry, mol, each (N,)."""

    iron: Array
    capacity: Array
    pyrogallol: Array
    catechol: Array

    @property
    def bound(self) -> Array:
        """Return the iron held by both classes of phenol."""
        return self.pyrogallol + self.catechol


def dry_binding(liquor: Liquor, draws: Draws) -> DryBinding:
    """Return how much iron the dry film holds and on which class of phenol.

    The limiting reagent decides, with a soft bend; the iron is shared between
    the classes as their capacities are.
    """
    none = np.zeros(draws.n)
    cat, pyro = _capacity(("condensed",), liquor, draws), _capacity(PYROGALLOL, liquor, draws)
    cat, pyro = none if cat is None else cat, none if pyro is None else pyro
    if liquor.has("complex_iron"):
        cat_groups = liquor["complex_catechol"]
        all_groups = cat_groups + liquor["complex_pyrogallol"]
        cat_held = liquor["complex_iron"] * cat_groups / np.maximum(all_groups, NOTHING**2)
        cat = cat + cat_held
        pyro = pyro + liquor["complex_iron"] - cat_held
    iron = iron_total(liquor)
    capacity = cat + pyro
    held = binding.bound(iron, capacity, draws.of("ink/slack", "binding.slack"))
    on_catechol = held * cat / np.maximum(capacity, NOTHING**2)
    return DryBinding(iron=iron, capacity=capacity, pyrogallol=held - on_catechol, catechol=on_catechol)


def viscosity(liquor: Liquor, temperature: Array, draws: Draws) -> Array:
    """Return the viscosity, mPa s, (N,), at ``temperature`` (K)."""
    per_dl = ML_PER_DL / np.maximum(volume(liquor, temperature), NOTHING)
    gum = liquor["gum"]
    intrinsic = np.divide(liquor["gum_coil"], gum, out=np.zeros_like(gum), where=gum > 0)
    thick = mixture.viscosity(
        temperature=temperature,
        solids=plant_solids(liquor) * per_dl,
        gum=gum * per_dl,
        gel=liquor["gel"] * per_dl,
        intrinsic=intrinsic,
        martin=draws.of("ink/martin", "pot.martin"),
        solids_coefficient=draws.of("ink/solids_thickening", "gum.solids_coefficient"),
        gel_coefficient=draws.of("ink/gel_thickening", "gum.gel_coefficient"),
        activation=value("gum.activation"),
    )
    return np.asarray(thick)


def acidity(liquor: Liquor, temperature: Array, draws: Draws) -> Array:
    """Return the pH, (N,), from a charge balance over all dissolved ions.

    Iron in the complex counts as iron(III) among its phenol groups, and the
    equilibrium decides how many protons it has given up.
    """
    kg = np.maximum(liquor["water"] / GRAMS_PER_KG, NOTHING)
    acid = liquor["solids"] * draws.of("ink/solids_acid", "pot.solids_acid")
    gallic = liquor["gallic"] / molar_mass("C7H6O5")
    pyro, cat = groups(liquor)
    totals = speciation.Totals(
        iron2=liquor["iron2"] / kg,
        iron3=(liquor["iron3"] + liquor["complex_iron"]) / kg,
        sulfate=liquor["sulfate"] / kg,
        chloride=liquor["chloride"] / kg,
        acetate=liquor["acetate"] / kg,
        carbonate=liquor["carbonate"] / kg,
        calcium=liquor["calcium"] / kg,
        aluminium=liquor["aluminium"] / kg,
        strong=liquor["strong"] / kg,
        pyrogallol=(pyro + liquor["complex_pyrogallol"]) / kg,
        catechol=(cat + liquor["complex_catechol"]) / kg,
        organic_acid=(acid + gallic) / kg,
    )  # fmt: skip
    # A search may try rooms that no liquor is liquid in; the constants are good from freezing to boiling.
    liquid = np.clip(temperature, FREEZING, value("boiling.point"))
    return np.asarray(speciation.solve(totals, temperature=liquid).ph)


def molarity(amount: Array, liquor: Liquor, temperature: Array) -> Array:
    """Return an amount as mol/L of the liquor, (N,)."""
    return np.asarray(amount * ML_PER_L / np.maximum(volume(liquor, temperature), NOTHING))
