"""What a raw material or a liquid brings into a pot."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.flow import water as water_flow
from inkhorn.handbook.load import group, value
from inkhorn.quantities import Quantity
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.world import LotState, Marc

LITRES_PER_ML = 1e-3
MMOL = 1e-3


def role(material: str) -> str:
    """Return the role of a handbook material: tannin, iron salt, gum ..."""
    return str(group(f"materials.{material}")["role"])


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
    taken = draws.amount(number, key, amount)
    left = state.mass
    if amount.dimension == "volume":
        if "bulk_density" in group(f"materials.{state.material}"):
            taken = taken * lot_number(draws, lot, state.material, "bulk_density")
    elif amount.dimension == "fraction":
        left = draws.of(f"lot:{lot}/mass", "pot.lot_mass") if left is None else left
        taken = np.minimum(taken, 1.0) * left
    if left is not None:
        left = np.maximum(left - taken, 0.0)
    return taken, LotState(material=state.material, mass=left, pieces=state.pieces, withheld=state.withheld)


def soluble_of_plant(lot: str, material: str, grams: Array, draws: Draws) -> tuple[Liquor, Array, Array]:
    """Return what a plant lot could ever give, its dry rest and its water.

    Returns
    -------
    inside : Liquor
        All tannin and other soluble matter, none of it drawn out yet.
    solid, moisture : ndarray, shape (N,)
        Dry matter that never dissolves and water of the air-dry lot, g.
    """
    moisture = grams * lot_number(draws, lot, material, "moisture")
    dry = grams - moisture
    tannin = np.minimum(lot_number(draws, lot, material, "tannin"), 1.0) * dry
    pyro = lot_number(draws, lot, material, "pyrogallol_share")
    gallo = lot_number(draws, lot, material, "gallo_share")
    gallic = tannin * lot_number(draws, lot, material, "gallic")
    purity = lot_number(draws, lot, material, "purity")
    other = np.maximum(tannin * (1.0 / purity - 1.0) - gallic, 0.0)
    # A lot cannot give more than it weighs: scale all down where a draw would.
    fit = np.minimum(1.0, dry / np.maximum(tannin + gallic + other, NOTHING))
    inside = Liquor.of(
        draws.n,
        gallotannin=tannin * pyro * gallo * fit,
        ellagitannin=tannin * pyro * (1.0 - gallo) * fit,
        condensed=tannin * (1.0 - pyro) * fit,
        gallic=gallic * fit,
        solids=other * fit,
    )
    return inside, dry - (tannin + gallic + other) * fit, moisture


def marc_of_plant(lot: str, state: LotState, grams: Array, pieces: str, draws: Draws) -> tuple[Marc, Liquor]:
    """Return a plant lot as fresh marc, and the water that came with it."""
    inside, solid, moisture = soluble_of_plant(lot, state.material, grams, draws)
    marc = Marc(
        inside=inside,
        solid=solid,
        held=Liquor.empty(draws.n),
        pieces=pieces,
        form=str(group(f"materials.{state.material}").get("form", "bark")),
        source=lot,
    )
    return marc, Liquor.of(draws.n, water=moisture)


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
    known = group(f"liquids.{name}")
    litres = ml * LITRES_PER_ML

    def per_litre(key: str) -> Array:
        if key not in known:
            return np.zeros(draws.n)
        return draws.of(f"liquid:{name}/{key}", f"liquids.{name}.{key}") * litres

    ethanol, solids = per_litre("ethanol"), per_litre("solids")
    calcium, alkalinity = per_litre("calcium") * MMOL, per_litre("alkalinity") * MMOL
    room_for_water = (
        ml
        - ethanol * value("density.specific_volume.ethanol")
        - solids * value("density.specific_volume.solids")
    )
    return Liquor.of(
        draws.n,
        water=np.maximum(room_for_water, 0.0) * water_flow.density(temperature),
        ethanol=ethanol,
        solids=solids,
        acetate=per_litre("acetic"),
        calcium=calcium,
        carbonate=alkalinity,
        strong=alkalinity - 2.0 * calcium,
    )

