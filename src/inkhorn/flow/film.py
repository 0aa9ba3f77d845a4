"""How much ink a pen, a dip or a drop leaves, and how far it creeps."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def wet_thickness(
    *,
    base: ArrayLike,
    viscosity: ArrayLike,
    reference_viscosity: ArrayLike,
    exponent: ArrayLike,
    width: ArrayLike = 1,
    reference_width: ArrayLike = 1,
    width_exponent: ArrayLike = 0,
) -> NDArray[np.float64]:
    r"""Return the mean thickness of the wet film in um.

    .. math:: t = t_0 \left(\frac{\mu}{\mu_0}\right)^n \left(\frac{w}{w_0}\right)^k

    Parameters
    ----------
    base : array_like
        Film at the reference viscosity and width, um (handbook ``pens.<pen>.film``).
    viscosity, reference_viscosity : array_like
        mPa s, at the temperature of writing.
    exponent : array_like
        n: two thirds for a plate drawn out of a bath ([LandauLevich1942]), less for a pen.
    width, reference_width, width_exponent : array_like
        Pen width in mm against the pen's usual width, and k: a line bulges with its width
        until gravity flattens it, so k is between 0 and 1.
    """
    thick = (np.asarray(viscosity) / np.asarray(reference_viscosity)) ** np.asarray(exponent)
    broad = (np.asarray(width) / np.asarray(reference_width)) ** np.asarray(width_exponent)
    return np.asarray(np.asarray(base) * thick * broad)


def cap_thickness(*, width: ArrayLike, contact_angle: ArrayLike) -> NDArray[np.float64]:
    """Return the mean thickness in um of a line of liquid whose edges meet the skin at an angle.

    The cross-section is a piece of a circle: ``r = w / (2 sin th)``,
    area ``r^2 (th - sin th cos th)``, mean thickness ``area / w``.

    Parameters
    ----------
    width : array_like
        mm.
    contact_angle : array_like
        Radians, between 0 and pi/2.
    """
    w, th = np.asarray(width, dtype=np.float64), np.asarray(contact_angle, dtype=np.float64)
    sine = np.sin(th)
    return np.asarray(1000 * w * (th - sine * np.cos(th)) / (4 * sine * sine))


def ink_per_metre(*, width: ArrayLike, thickness: ArrayLike) -> NDArray[np.float64]:
    """Return ul of ink for a metre of line (width in mm, wet thickness in um)."""
    return np.asarray(np.asarray(width) * np.asarray(thickness))


def solids_per_area(*, thickness: ArrayLike, concentration: ArrayLike) -> NDArray[np.float64]:
    """Return what a wet film leaves on each cm2 when it dries, in the unit of the concentration.

    Parameters
    ----------
    thickness : array_like
        Wet film, um.
    concentration : array_like
        Amount for each ml of ink: g/ml gives g/cm2, mol/ml gives mol/cm2.
    """
    return np.asarray(np.asarray(thickness) * np.asarray(concentration) / 10_000)


def soak_distance(
    *,
    seconds: ArrayLike,
    viscosity: ArrayLike,
    surface_tension: ArrayLike,
    pore_radius: ArrayLike,
    contact_angle: ArrayLike,
) -> NDArray[np.float64]:
    r"""Return how far a liquid creeps into pores, in um (Lucas and Washburn).

    .. math:: L = \sqrt{\frac{\sigma\, r \cos\theta\, t}{2 \mu}}

    Parameters
    ----------
    seconds, viscosity, surface_tension : array_like
        s, mPa s, mN/m.
    pore_radius : array_like
        um; for skin an effective number, far below any pore that can be seen, because
        the fibres swell shut. Only the scaling with time, tension and viscosity is to be trusted.
    contact_angle : array_like
        Radians.

    References
    ----------
    [Washburn1921]. Checked in ``tests/unit/flow/test_film.py``.
    """
    pull = np.asarray(surface_tension) * np.asarray(pore_radius) * np.maximum(np.cos(contact_angle), 0)
    return np.asarray(np.sqrt(1_000_000 * pull * np.asarray(seconds) / (2 * np.asarray(viscosity))))


def spread_width(*, pen_width: ArrayLike, soak: ArrayLike, edges: int = 2) -> NDArray[np.float64]:
    """Return the width in mm of a line drawn ``pen_width`` mm wide whose edges creep ``soak`` um."""
    return np.asarray(np.asarray(pen_width) + edges * np.asarray(soak) / 1000)


def drying_time(
    *,
    thickness: ArrayLike,
    diffusivity: ArrayLike,
    saturation: ArrayLike,
    humidity: ArrayLike,
    layer: ArrayLike,
) -> NDArray[np.float64]:
    """Return the seconds in which a film of water dries through a still layer of air.

    Parameters
    ----------
    thickness : array_like
        Wet film, um.
    diffusivity : array_like
        Of water vapour in air, mm2/s.
    saturation : array_like
        Vapour in saturated air, g/m3.
    humidity : array_like
        Relative, 0 to 1.
    layer : array_like
        Thickness of the still air, mm.
    """
    # g/m3 x mm2/s / mm = 1e-3 g/m2/s; a film of 1 um is 1 g/m2.
    flux = np.asarray(diffusivity) * np.asarray(saturation) * (1 - np.asarray(humidity)) / np.asarray(layer)
    return np.asarray(1000 * np.asarray(thickness) / flux)
