"""Pure water: viscosity, density and surface tension from temperature, at one atmosphere."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

# numbers-in-code: IAPWS SR6-08(2011), equation 7: (coefficient in uPa s, exponent) of T/300 K
_VISCOSITY = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
_VISCOSITY_REFERENCE = 300
# numbers-in-code: Kell (1975), table 1: density in kg/m3, Celsius
_KELL = (-280.54253e-12, 105.56302e-9, -46.170461e-6, -7.9870401e-3, 16.945176, 999.83952)
_KELL_BOTTOM = 16.879850e-3
# numbers-in-code: IAPWS R1-76(2014), equation 1
_CRITICAL = 647.096
_TENSION = (235.8, 1.256, -0.625)
# numbers-in-code: the zero of the Celsius scale, exact by definition
ZERO_CELSIUS = 273.15


def viscosity(temperature: ArrayLike) -> NDArray[np.float64]:
    """Return the viscosity of water in mPa s.

    ``mu = sum a_i (T / 300 K)^b_i``, good to 1 % from 253 to 383 K.

    Parameters
    ----------
    temperature : array_like
        Kelvin, any shape.

    References
    ----------
    [IAPWS-SR6]. Checked in ``tests/published/test_flow_water.py``.
    """
    reduced = np.asarray(temperature, dtype=np.float64) / _VISCOSITY_REFERENCE
    total = sum(a * reduced**b for a, b in _VISCOSITY)
    return np.asarray(total / 1000)


def density(temperature: ArrayLike) -> NDArray[np.float64]:
    """Return the density of water in g/ml, from 273 to 423 K.

    References
    ----------
    [Kell1975]. Checked in ``tests/published/test_flow_water.py``.
    """
    t = np.asarray(temperature, dtype=np.float64) - ZERO_CELSIUS
    return np.asarray(np.polyval(_KELL, t) / (1 + _KELL_BOTTOM * t) / 1000)


def surface_tension(temperature: ArrayLike) -> NDArray[np.float64]:
    """Return the surface tension of water against air in mN/m.

    ``sigma = B tau^mu (1 + b tau)`` with ``tau = 1 - T/Tc``.

    References
    ----------
    [IAPWS-R1]. Checked in ``tests/published/test_flow_water.py``.
    """
    scale, power, slope = _TENSION
    tau = 1 - np.asarray(temperature, dtype=np.float64) / _CRITICAL
    return np.asarray(scale * tau**power * (1 + slope * tau))
