"""How different two colours look: CIEDE2000, and the plain distance in L*a*b*."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

# numbers-in-code: ISO/CIE 11664-6:2022, with the hue cases of Sharma, Wu and Dalal (2005)
_C25_7 = 25.0**7
_STRETCH = 1.5
_T_TERMS = ((-0.17, 1, -30), (0.24, 2, 0), (0.32, 3, 6), (-0.20, 4, -63))
_ROTATION_HUE = 275
_ROTATION_WIDTH = 25
_ROTATION_ANGLE = 30
_LIGHTNESS = 0.015
_LIGHTNESS_SHIFT = 20
_CHROMA = 0.045
_HUE = 0.015


def ciede2000(
    lab1: ArrayLike, lab2: ArrayLike, *, kl: float = 1, kc: float = 1, kh: float = 1
) -> NDArray[np.float64]:
    """Return the CIEDE2000 difference of two colours.

    Parameters
    ----------
    lab1, lab2 : array_like
        L*, a*, b* in the last axis; the leading axes broadcast.
    kl, kc, kh : float
        Parametric factors of lightness, chroma and hue; 1 in the reference conditions.

    Returns
    -------
    ndarray
        The leading axes of the two, broadcast; 0 where the colours are equal.

    References
    ----------
    [CIEDE2000], [Sharma2005]. Checked against all 34 published pairs in
    ``tests/published/test_colour_difference.py``.
    """
    one, two = np.asarray(lab1, dtype=np.float64), np.asarray(lab2, dtype=np.float64)
    l1, a1, b1 = one[..., 0], one[..., 1], one[..., 2]
    l2, a2, b2 = two[..., 0], two[..., 1], two[..., 2]

    mean_chroma7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    stretch = _STRETCH - np.sqrt(mean_chroma7 / (mean_chroma7 + _C25_7)) / 2
    c1, c2 = np.hypot(stretch * a1, b1), np.hypot(stretch * a2, b2)
    h1 = np.degrees(np.arctan2(b1, stretch * a1)) % 360
    h2 = np.degrees(np.arctan2(b2, stretch * a2)) % 360

    grey = c1 * c2 == 0
    apart = h2 - h1
    # Opposite hues count as "not across": the hair's breadth keeps that so when rounding would tip it.
    half_turn = 180 + 1e-9
    turned = np.where(apart > half_turn, apart - 360, np.where(apart < -half_turn, apart + 360, apart))
    dh = np.where(grey, 0, turned)
    hue_step = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(dh / 2))

    total = h1 + h2
    wrapped = np.where(np.abs(apart) <= half_turn, total, np.where(total < 360, total + 360, total - 360))
    mean_h = np.where(grey, total, wrapped / 2)
    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2

    t = 1 + sum(g * np.cos(np.radians(m * mean_h + shift)) for g, m, shift in _T_TERMS)
    depth = (mean_l - 50) ** 2
    sl = 1 + _LIGHTNESS * depth / np.sqrt(_LIGHTNESS_SHIFT + depth)
    sc = 1 + _CHROMA * mean_c
    sh = 1 + _HUE * mean_c * t
    c7 = mean_c**7
    angle = 2 * _ROTATION_ANGLE * np.exp(-(((mean_h - _ROTATION_HUE) / _ROTATION_WIDTH) ** 2))
    rotation = -2 * np.sqrt(c7 / (c7 + _C25_7)) * np.sin(np.radians(angle))

    in_l, in_c, in_h = (l2 - l1) / (kl * sl), (c2 - c1) / (kc * sc), hue_step / (kh * sh)
    return np.asarray(np.sqrt(np.maximum(in_l**2 + in_c**2 + in_h**2 + rotation * in_c * in_h, 0)))


def cie76(lab1: ArrayLike, lab2: ArrayLike) -> NDArray[np.float64]:
    """Return the Euclidean distance in L*a*b*; the leading axes broadcast."""
    return np.asarray(
        np.linalg.norm(np.asarray(lab1, dtype=np.float64) - np.asarray(lab2, dtype=np.float64), axis=-1)
    )
