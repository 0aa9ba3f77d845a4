"""What a raw material or a liquid brings into a pot."""

from __future__ import annotations

import functools

import attrs
import numpy as np

from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.errors import EstimateError
from inkhorn.handbook.load import group, value
from inkhorn.quantities import Quantity
from inkhorn.replay import composition, harvest
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.world import LotState, Marc

LITRES_PER_ML = 1e-3
MMOL = 1e-3


@functools.cache
def role(material: str) -> str:
    """Return the role of a handbook material: tannin, iron salt, gum ..."""
    return str(group(f"materials.{material}")["role"])


@functools.cache
def form(material: str) -> str:
    """Return the handbook form of a plant material: gall, bark, leaf ..."""
    return str(group(f"materials.{material}").get("form", "bark"))


@functools.cache
def has_bulk(material: str) -> bool:
    """Say whether the handbook knows what a measure of a material weighs."""
    return is_material(material) and "bulk_density" in group(f"materials.{material}")


@functools.cache
def is_material(name: str) -> bool:
    """Say whether a name is a solid raw material of the handbook (a lot may also be of a liquid)."""
    return name in group("materials")


def lot_number(draws: Draws, lot: str, material: str, key: str) -> Array:
    """Return the draws of one property of a lot, (N,)."""
    return draws.of(f"lot:{lot}/{key}", f"materials.{material}.{key}")


def grams_taken(
    amount: Quantity | None, number: int, key: str, lot: str, state: LotState, draws: Draws
) -> tuple[Array, LotState]:
    """Return the mass taken from a lot, g, (N,), and the lot with that much less.

    A volume of a solid is a levelled measure; a share is of what is left, or
    of a broad guess where nobody weighed the lot.
    """
    if amount is None:
        raise EstimateError(f"entry {number} takes some of {lot} and does not say how much")
    taken = draws.amount(number, key, amount)
    left = state.mass
    if amount.dimension == "volume":
        if has_bulk(state.material):
            taken = taken * lot_number(draws, lot, state.material, "bulk_density")
    elif amount.dimension == "fraction":
        left = draws.of(f"lot:{lot}/mass", "pot.lot_mass") if left is None else left
        taken = np.minimum(taken, 1.0) * left
    if left is not None:
        if state.holds is not None:
            taken = np.minimum(taken, left)
        left = np.maximum(left - taken, 0.0)
    return taken, attrs.evolve(state, mass=left)


def soluble_of_plant(
    lot: str, material: str, grams: Array, draws: Draws, *, fresh: bool = False
) -> tuple[Liquor, Array, Array]:
    """Return what a plant lot could ever give, its dry rest and its water.

    Returns
    -------
    inside : Liquor
        All tannin and other soluble matter, none of it drawn out yet.
    solid, moisture : ndarray, shape (N,)
        Dry matter that never dissolves and water of the lot, g: air-dry, or
        ``fresh`` as it was gathered.
    """
    moisture = grams * water_share(lot, material, draws, fresh=fresh)
    dry = grams - moisture
    tannin = np.minimum(lot_number(draws, lot, material, "tannin"), 1.0) * dry
    pyro = lot_number(draws, lot, material, "pyrogallol_share")
    gallo = lot_number(draws, lot, material, "gallo_share")
    gallic = tannin * lot_number(draws, lot, material, "gallic")
    purity = lot_number(draws, lot, material, "purity")
    other = np.maximum(tannin * (1.0 / purity - 1.0) - gallic, 0.0)
    # A lot cannot give more than it weighs: scale all down where a draw would.
    fit = np.minimum(1.0, dry / np.maximum(tannin + gallic + other, NOTHING))
    condensed, solids = tannin * (1.0 - pyro) * fit, other * fit
    inside = Liquor.of(
        draws.n,
        gallotannin=tannin * pyro * gallo * fit,
        ellagitannin=tannin * pyro * (1.0 - gallo) * fit,
        condensed=condensed,
        gallic=gallic * fit,
        solids=solids,
        # Condensed tannin is itself red-brown; one plant's brew is paler or darker than another's of one strength.
        brown=(condensed + solids) * draws.of(f"lot:{lot}/brown", "extraction.brown"),
    )
    return inside, dry - (tannin + gallic + other) * fit, moisture


def water_share(lot: str, material: str, draws: Draws, *, fresh: bool) -> Array:
    """Return the water of a plant lot, mass fraction, (N,): air-dry, or as gathered."""
    if fresh:
        return draws.of(f"lot:{lot}/fresh_water", harvest.fresh_row(form(material)))
    return lot_number(draws, lot, material, "moisture")


def marc_of_plant(lot: str, state: LotState, grams: Array, pieces: str, draws: Draws) -> tuple[Marc, Liquor]:
    """Return a plant lot as fresh marc, and the water that came with it."""
    inside, solid, moisture = soluble_of_plant(lot, state.material, grams, draws, fresh=state.fresh is True)
    marc = Marc(
        inside=inside,
        solid=solid,
        held=Liquor.empty(draws.n),
        pieces=pieces,
        form=form(state.material),
        source=lot,
    )
    return marc, Liquor.of(draws.n, water=moisture)


def dissolved_from(lot: str, state: LotState, grams: Array, draws: Draws) -> Liquor:
    """Return some of a lot that dissolves at once; one that the bench made holds what was reckoned for it."""
    if state.holds is not None:
        return state.holds * grams
    return dissolved_lot(lot, state.material, grams, draws)


def dissolved_lot(lot: str, material: str, grams: Array, draws: Draws) -> Liquor:
    """Return a lot that dissolves at once: an iron salt, a gum, a pure acid, chalk."""
    kind = role(material)
    return _DISSOLVERS[kind](lot, material, grams, draws)


def _iron_salt(lot: str, material: str, grams: Array, draws: Draws) -> Liquor:
    iron = grams * lot_number(draws, lot, material, "iron") / molar_mass("Fe")
    ferric = np.minimum(lot_number(draws, lot, material, "ferric"), 1.0) * iron
    acid = lot_number(draws, lot, material, "acid") * iron
    inert = np.minimum(lot_number(draws, lot, material, "inert"), 0.5) * grams
    # numbers-in-code: sulfate that balances the charge of iron(III), Fe2(SO4)3
    sulfate = iron - ferric + 1.5 * ferric + acid
    salt = iron * molar_mass("Fe") + sulfate * molar_mass("SO4")
    return Liquor.of(
        draws.n,
        iron2=iron - ferric,
        iron3=ferric,
        sulfate=sulfate,
        insolubles=inert,
        water=np.maximum(grams - salt - inert, 0.0),
    )


def _gum(lot: str, material: str, grams: Array, draws: Draws) -> Liquor:
    moisture = grams * lot_number(draws, lot, material, "moisture")
    soluble = (grams - moisture) * lot_number(draws, lot, material, "soluble")
    return Liquor.of(
        draws.n,
        gum=soluble,
        gum_coil=soluble * lot_number(draws, lot, material, "intrinsic"),
        gel=grams - moisture - soluble,
        water=moisture,
    )


def _tannic(lot: str, material: str, grams: Array, draws: Draws) -> Liquor:
    pure = grams * lot_number(draws, lot, material, "purity")
    return Liquor.of(draws.n, gallotannin=pure, water=grams - pure)


def _gallic(lot: str, material: str, grams: Array, draws: Draws) -> Liquor:
    pure = grams * lot_number(draws, lot, material, "purity")
    return Liquor.of(draws.n, gallic=pure, water=grams - pure)


def _acid(lot: str, material: str, grams: Array, draws: Draws) -> Liquor:
    pure = grams * lot_number(draws, lot, material, "fraction")
    if material.startswith("hydrochloric"):
        return Liquor.of(draws.n, chloride=pure / molar_mass("HCl"), water=grams - pure)
    return Liquor.of(draws.n, sulfate=pure / molar_mass("H2SO4"), water=grams - pure)


def _chalk(lot: str, material: str, grams: Array, draws: Draws) -> Liquor:
    pure = grams * lot_number(draws, lot, material, "fraction")
    mol = pure / molar_mass("CaCO3")
    return Liquor.of(draws.n, calcium=mol, carbonate=mol, insolubles=grams - pure)


_DISSOLVERS = {
    "iron salt": _iron_salt,
    "gum": _gum,
    "pure tannin": _tannic,
    "gallic acid": _gallic,
    "acid": _acid,
    "chalk": _chalk,
}


def liquid(name: str, ml: Array, temperature: Array, draws: Draws) -> Liquor:
    """Return a volume of a liquid that needs no gathering: water, wine, vinegar ...

    Hardness comes as bicarbonate; what calcium does not balance is carried by
    other strong ions, so that the liquid is neutral as a whole.
    """
    known = _of_liquid(name)
    litres = ml * LITRES_PER_ML

    def per_litre(key: str) -> Array:
        return draws.of(f"liquid:{name}/{key}", f"liquids.{name}.{key}") * litres

    calcium, alkalinity = per_litre("calcium") * MMOL, per_litre("alkalinity") * MMOL
    parts = {"calcium": calcium, "carbonate": alkalinity, "strong": alkalinity - 2.0 * calcium}
    room_for_water = ml
    for key, name_inside in _DISSOLVED.items():
        if key in known:
            parts[name_inside] = per_litre(key)
            if key in _TAKES_ROOM:
                room_for_water = room_for_water - parts[name_inside] * value(f"density.specific_volume.{key}")
    if "solids" in parts:
        parts["brown"] = parts["solids"]
    parts["water"] = np.maximum(room_for_water, 0.0) * composition.water_density(temperature)
    return Liquor.of(draws.n, **parts)


_DISSOLVED = {"ethanol": "ethanol", "solids": "solids", "acetic": "acetate"}
_TAKES_ROOM = ("ethanol", "solids")


@functools.cache
def _of_liquid(name: str) -> frozenset[str]:
    return frozenset(group(f"liquids.{name}"))
