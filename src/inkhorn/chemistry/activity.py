"""Debye-Hueckel parameters of water, and activity coefficients of ions.

Ion-size (Truesdell-Jones) where a species has its own parameters, Davies for
other ions, a salting-out term for neutral species.
"""

from __future__ import annotations

import numpy as np
from scipy import constants

from inkhorn.chemistry.arrays import Array, Floats, floats
from inkhorn.chemistry.density import water_density

_LN_10 = np.log(10)


def dielectric(temperature: Floats) -> Array:
    """Return the relative permittivity of water at one atmosphere.

    Parameters
    ----------
    temperature : array_like
        K, 273-370.

    Returns
    -------
    ndarray
        Dimensionless.

    Notes
    -----
    Bradley and Pitzer [BRADLEY1979]_, the form that PHREEQC 3 uses.
    """
    t = floats(temperature)
    # numbers-in-code: Bradley and Pitzer 1979, table II
    u = (3.4279e2, -5.0866e-3, 9.4690e-7, -2.0525, 3.1159e3, -1.8289e2, -8.0325e3, 4.2142e6, 2.1417)
    pressure = constants.atm / 1e5  # bar
    at_1000 = u[0] * np.exp(u[1] * t + u[2] * t**2)
    c = u[3] + u[4] / (u[5] + t)
    b = u[6] + u[7] / t + u[8] * t
    return np.asarray(at_1000 + c * np.log((b + pressure) / (b + 1000)))


def debye_huckel(temperature: Floats) -> tuple[Array, Array]:
    r"""Return the Debye-Hueckel parameters A and B of water.

    .. math:: B = \sqrt{8\pi N_A \ell\rho}, \quad A = \frac{B\ell}{2\ln 10},
              \quad \ell = \frac{e^2}{4\pi\varepsilon_0\varepsilon_r k T}

    Parameters
    ----------
    temperature : array_like
        K.

    Returns
    -------
    tuple of ndarray
        A, (kg/mol)^1/2, about 0.51 at 25 C; B, (kg/mol)^1/2 per angstrom, about 0.33.
    """
    t = floats(temperature)
    vacuum = 4 * np.pi * constants.epsilon_0 * constants.k
    bjerrum = constants.e**2 / (vacuum * dielectric(t) * t)  # m
    inverse = np.sqrt(8 * np.pi * constants.N_A * bjerrum * water_density(t) * 1000)  # 1/m per sqrt(mol/kg)
    return np.asarray(inverse * bjerrum / (2 * _LN_10)), np.asarray(inverse * constants.angstrom)


def log_gamma(
    charge: Floats,
    strength: Floats,
    *,
    a: Floats,
    b: Floats,
    ion_size: Floats,
    linear: Floats,
) -> Array:
    r"""Return log10 of an ion's activity coefficient by ion size (Truesdell-Jones).

    .. math:: \log\gamma = -\frac{A z^2\sqrt I}{1 + B\,\mathring a\sqrt I} + b I

    Parameters
    ----------
    charge : array_like
        ``z``.
    strength : array_like
        Ionic strength, mol/kg.
    a, b : array_like
        Debye-Hueckel A and B (`debye_huckel`).
    ion_size, linear : array_like
        Ion size, angstrom, and linear parameter, kg/mol.

    Returns
    -------
    ndarray
        log10 of the activity coefficient.
    """
    root = np.sqrt(floats(strength))
    return np.asarray(-a * floats(charge) ** 2 * root / (1 + b * floats(ion_size) * root) + linear * root**2)


def davies(charge: Floats, strength: Floats, *, a: Floats, linear: Floats) -> Array:
    r"""Return log10 of an ion's activity coefficient by the Davies equation.

    .. math:: \log\gamma = -A z^2\left(\frac{\sqrt I}{1+\sqrt I} - d\,I\right)

    Parameters
    ----------
    charge, strength, a : array_like
        As in `log_gamma`.
    linear : array_like
        ``d``, usually 0.3.

    Returns
    -------
    ndarray
        log10 of the activity coefficient; I to about 0.5 mol/kg.
    """
    root = np.sqrt(floats(strength))
    return np.asarray(-a * floats(charge) ** 2 * (root / (1 + root) - linear * root**2))
