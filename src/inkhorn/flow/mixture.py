"""The viscosity of an ink: water, dissolved solids, dissolved gum and swollen gel."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.constants import R as GAS_CONSTANT

from inkhorn.flow.gum import martin as martin_law
from inkhorn.flow.water import viscosity as water_viscosity

# Room temperature in kelvin, at which the coefficients of solids, gum and gel are stated.
# numbers-in-code: 25 degrees Celsius
REFERENCE_TEMPERATURE = 298.15

#: Natural logarithm of the highest relative viscosity that is reckoned with.
STIFFEST = 60


def viscosity(
    *,
    temperature: ArrayLike,
    solids: ArrayLike,
    gum: ArrayLike,
    gel: ArrayLike,
    intrinsic: ArrayLike,
    martin: ArrayLike,
    solids_coefficient: ArrayLike,
    gel_coefficient: ArrayLike,
    activation: ArrayLike,
) -> NDArray[np.float64]:
    r"""Return the viscosity of the whole liquor in mPa s.

    .. math:: \mu = \mu_w(T)\, r\, \exp\left[\frac{E}{R}
        \left(\frac1T - \frac1{T_0}\right)\left(1 - \frac1r\right)\right], \quad
        r = e^{k_s s}\, e^{k_g g}\, \left(1 + x e^{k_M x}\right)

    Parameters
    ----------
    temperature : array_like
        Kelvin.
    solids, gum, gel : array_like
        Dissolved solids other than gum, dissolved gum, and gum that only swells
        (as dry mass), each in g/dl.
    intrinsic, martin : array_like
        Intrinsic viscosity in dl/g and Martin coefficient of the dissolved gum.
    solids_coefficient, gel_coefficient : array_like
        Rise of the natural logarithm of the viscosity for each g/dl.
    activation : array_like
        How much steeper than water the solutes thin with warmth, J/mol; it acts in
        proportion to their share of the thickening, so plain water stays plain water.

    Notes
    -----
    Newtonian; above some 4 g/dl of a *Prunus* gum or 40 g/dl of gum arabic a real
    ink thins as it is sheared. The exponential law for solids is the common one
    for sugars and tannin liquors at the strengths of an ink (below 30 g/dl).
    Checked in ``tests/unit/flow/test_mixture.py`` and ``tests/properties/test_flow_order.py``.
    """
    t = np.asarray(temperature, dtype=np.float64)
    log_relative = (
        np.asarray(solids_coefficient) * np.asarray(solids)
        + np.asarray(gel_coefficient) * np.asarray(gel)
        + np.log(martin_law(gum, intrinsic=intrinsic, k=martin))
    )
    # A search may try what no ink is; stiffer than pitch, a number is only kept finite.
    log_relative = np.minimum(log_relative, STIFFEST)
    share = -np.expm1(-log_relative)
    tilt = np.asarray(activation) / GAS_CONSTANT * (1 / t - 1 / REFERENCE_TEMPERATURE)
    return np.asarray(water_viscosity(t) * np.exp(log_relative + tilt * share))
