"""How far a stroke has darkened since it was laid, and browned since it dried."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry.arrays import Array, Floats, floats


def stretched(seconds: Floats, tau: Floats, stretch: Floats) -> Array:
    r"""Share done of a stretched exponential, :math:`1 - e^{-(t/\tau)^b}`.

    Parameters
    ----------
    seconds, tau : array_like
        s; time and time constant.
    stretch : array_like
        Exponent ``b``, 0 < b <= 1.

    Returns
    -------
    ndarray
        Share done, 0-1.
    """
    t = np.maximum(floats(seconds), 0)
    return np.asarray(-np.expm1(-((t / tau) ** stretch)))


def progress(seconds: Floats, tau: Floats, stretch: Floats, start: Floats) -> Array:
    r"""Share of the final colour that a stroke shows at a time after writing.

    .. math:: p(t) = p_0 + (1 - p_0)\left(1 - e^{-(t/\tau)^b}\right)

    Parameters
    ----------
    seconds : array_like
        Time since the stroke was laid, s; infinity gives 1.
    tau : array_like
        Time constant, s.
    stretch : array_like
        Exponent ``b``.
    start : array_like
        Share ``p0`` there at once, 0-1.

    Returns
    -------
    ndarray
        Share of the final colour, ``start`` to 1.
    """
    return np.asarray(floats(start) + (1 - floats(start)) * stretched(seconds, tau, stretch))


def browned(seconds: Floats, tau: Floats, stretch: Floats) -> Array:
    """Share of the black iron compound that has turned brown after a long time.

    Parameters
    ----------
    seconds, tau : array_like
        Age and time constant, s.
    stretch : array_like
        Exponent.

    Returns
    -------
    ndarray
        Share browned, 0-1.
    """
    return stretched(seconds, tau, stretch)
