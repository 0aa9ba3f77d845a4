"""Mould on a standing liquor: when it starts and what it takes."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry.arrays import Array, Floats, floats


def preserved(*, ethanol: Floats, acetic: Floats, ethanol_needed: Floats, acetic_needed: Floats) -> Array:
    """How far alcohol and acetic acid together keep mould off.

    The shares of what each would need alone add up (a common rule for
    preservatives that act alike).

    Parameters
    ----------
    ethanol, acetic : array_like
        Volume share of ethanol, mass share of acetic acid.
    ethanol_needed, acetic_needed : array_like
        What each needs alone (rows ``spoilage.preserve``).

    Returns
    -------
    ndarray
        0 (nothing) to 1 (kept).
    """
    return np.asarray(np.clip(floats(ethanol) / ethanol_needed + floats(acetic) / acetic_needed, 0, 1))


def mouldy_seconds(seconds: Floats, *, onset: Floats, speed: Floats = 1, kept: Floats = 0) -> Array:
    """Part of a rest during which the liquor is mouldy.

    Parameters
    ----------
    seconds : array_like
        Length of the rest, s.
    onset : array_like
        Time before a skin forms with nothing in its way, s.
    speed : array_like, optional
        Growth against that at the onset's temperature.
    kept : array_like, optional
        Protection, 0-1 (`preserved`, or a lid); 1 means never.

    Returns
    -------
    ndarray
        s of mouldy time, scaled to the onset's temperature; 0 before the skin.
    """
    active = floats(seconds) * speed * (1 - floats(kept))
    return np.asarray(np.maximum(active - onset, 0))
