"""What the model foresees of a pot, with its lasting doubt about itself.

Each is the plain prediction of `inkhorn.replay.composition` times (or plus) a
factor near one that belongs to this workshop: the handbook's gum, salts and
spindles are not quite those of this bench. The factors are unknowns like any
other, learnt from readings (misfit).
"""

from __future__ import annotations

import numpy as np

from inkhorn.flow.water import viscosity as water_viscosity
from inkhorn.replay import composition
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import Array, Liquor


def viscosity(liquor: Liquor, temperature: Array, draws: Draws) -> Array:
    """Return the viscosity that this bench would find, mPa s, (N,).

    How fast it grows with what is dissolved is doubted, as a power of the viscosity over water's: it lies within a few
    hundredths for a liquor next to water, and may be half or twice for a thick one.
    """
    water = water_viscosity(temperature)
    growth = draws.of("misfit/thickening", "misfit.thickening")
    over = composition.viscosity(liquor, temperature, draws) / water
    return np.asarray(water * over**growth * draws.of("misfit/viscosity", "misfit.viscosity"))


def acidity(liquor: Liquor, temperature: Array, draws: Draws) -> Array:
    """Return the pH that this bench would find, (N,)."""
    return np.asarray(composition.acidity(liquor, temperature, draws) + draws.of("misfit/ph", "misfit.ph"))


def specific_gravity(liquor: Liquor, temperature: Array, draws: Draws) -> Array:
    """Return the specific gravity that this bench would find, (N,)."""
    excess = composition.specific_gravity(liquor, temperature) - 1.0
    return np.asarray(1.0 + excess * draws.of("misfit/gravity", "misfit.gravity"))


def dry_residue(liquor: Liquor, draws: Draws) -> Array:
    """Return the grams that this bench's dish would keep on drying, (N,): some water stays bound."""
    return np.asarray(composition.dry_residue(liquor) * draws.of("misfit/residue", "misfit.residue"))
