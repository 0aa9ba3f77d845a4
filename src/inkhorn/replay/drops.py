"""What a maker counts without a viscometer: falling drops, and a vessel that runs out.

Each device is an unknown of its own, learnt from every reading made with it and
best from one with plain water: the radius of a tip; how long water takes to run
out, and how much of that is spent on leaving at speed.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from inkhorn.daybook.entries import Reading
from inkhorn.flow import cups, discharge
from inkhorn.flow import drops as drop_flow
from inkhorn.flow import water as water_flow
from inkhorn.handbook.grids import grid
from inkhorn.handbook.load import row, value
from inkhorn.replay import composition, seen, warmth
from inkhorn.replay.draws import STANDARD, Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor

MG_PER_G = 1000.0
GRAMS_PER_LITRE = 1000.0
#: Flow cups after ISO 2431, by instrument; their constants are known.
CUPS: Mapping[str, str] = {"cup_3mm": "3mm", "cup_4mm": "4mm", "cup_5mm": "5mm", "cup_6mm": "6mm"}


def surface_tension(liquor: Liquor, temperature: Array, draws: Draws) -> Array:
    """Return the surface tension of a liquor, mN/m, (N,).

    Between that of water and that of an extract, an ink with gum, or one made
    with wine, as there is of each; half of the fall is there at
    ``flow.tension.half`` g/L. How far below water this ink lies is uncertain.
    """
    ml = np.maximum(composition.volume(liquor, temperature), NOTHING)
    half = value("flow.tension.half")
    extract = _share(composition.plant_solids(liquor) * GRAMS_PER_LITRE / ml, half)
    gum = _share((liquor["gum"] + liquor["gel"]) * GRAMS_PER_LITRE / ml, half)
    spirit = (liquor["ethanol"] + liquor["acetate"]) * GRAMS_PER_LITRE / ml
    wine = _share(spirit, value("flow.tension.half_spirit"))
    water = water_flow.surface_tension(temperature)
    at_room = water_flow.surface_tension(value("flow.reference"))
    fall = extract * (at_room - value("flow.tension.extract"))
    fall = fall + gum * (value("flow.tension.extract") - value("flow.tension.ink"))
    fall = fall + wine * (value("flow.tension.extract") - value("flow.tension.wine"))
    unsure = np.maximum(extract, np.maximum(gum, wine)) * row("flow.tension.ink").spread
    return np.asarray(water - fall + unsure * draws.of("ink/tension", STANDARD))


def _share(grams_per_litre: Array, half: float) -> Array:
    return np.asarray(grams_per_litre / (grams_per_litre + half))


def drop_grams(*, tension: Array, density: Array, tip: str, draws: Draws) -> Array:
    """Return the mass of one slow drop from a tip, g, (N,)."""
    table = grid("harkins_brown")
    milligrams = drop_flow.drop_mass(
        radius=draws.of(f"tip:{tip}/radius", "flow.drop.tip_radius"),
        surface_tension=tension,
        density=density,
        ratios=table["ratio"],
        factors=table["factor"],
    )
    return np.asarray(milligrams / MG_PER_G)


def dropped(reading: Reading, liquor: Liquor, temperature: Array, draws: Draws) -> Array:
    """Return the natural-log mass or volume of the drops of a reading, and of as many of water beside it, (m, N)."""
    tip, count = reading.with_ or "dropper", 10.0 if reading.what == "ten_drops" else 1.0
    by_volume = getattr(reading.value, "dimension", "mass") == "volume"

    def one(tension: Array, density: Array) -> Array:
        grams = count * drop_grams(tension=tension, density=density, tip=tip, draws=draws)
        return np.asarray(np.log(grams / density if by_volume else grams))

    heavy = composition.mass(liquor) / np.maximum(composition.volume(liquor, temperature), NOTHING)
    out = [one(surface_tension(liquor, temperature, draws), np.maximum(heavy, NOTHING))]
    if reading.water is not None:
        room = warmth.room(draws)
        out.append(one(water_flow.surface_tension(room), composition.water_density(room)))
    return np.stack(out)


def constants(device: str, draws: Draws) -> tuple[Array | float, Array | float]:
    """Return both constants of a vessel that runs out, mm2/s2 and mm2: ``nu = a t - b / t``.

    Those of a flow cup are the standard's. Any other device is told by the
    time that water takes at 20 degC and by the share of the friction that the
    exit takes beside it.
    """
    if device in CUPS:
        jet = f"flow.cup.{CUPS[device]}"
        return value(f"{jet}.a"), value(f"{jet}.b")
    for_water = draws.of(f"device:{device}/water", "flow.discharge.water")
    loss = draws.of(f"device:{device}/loss", "flow.discharge.loss_share")
    at = np.array(value("flow.reference"))
    water = water_flow.viscosity(at) / water_flow.density(at)
    friction = water / (1.0 - loss)
    return friction / for_water, loss * friction * for_water


def run_out(reading: Reading, liquor: Liquor, temperature: Array, draws: Draws) -> Array:
    """Return the natural-log seconds in which a liquor runs out, and in which water does beside it, (m, N)."""
    a, b = constants(reading.with_ or "discharge_cup", draws)
    heavy = composition.mass(liquor) / np.maximum(composition.volume(liquor, temperature), NOTHING)
    thick = seen.viscosity(liquor, temperature, draws) / np.maximum(heavy, NOTHING)
    out = [np.log(cups.cup_time(thick, a=a, b=b))]
    if reading.water is not None:
        room = warmth.room(draws)
        plain = water_flow.viscosity(room) / composition.water_density(room)
        out.append(np.log(discharge.discharge_time(plain, a=a, b=b)))
    return np.stack(out)
