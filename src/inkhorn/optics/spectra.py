"""The wavelengths, the observer and the colorants' curves, as the handbook has them."""

from __future__ import annotations

import functools

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.xyz import srgb_inverse
from inkhorn.handbook.grids import grid
from inkhorn.handbook.load import value

# numbers-in-code: the grid of every spectrum here
#: Wavelengths of every spectrum, nm; shape ``(36,)``.
WAVELENGTHS: NDArray[np.float64] = np.arange(380, 731, 10).astype(np.float64)
WAVELENGTHS.setflags(write=False)
#: How many there are.
W = len(WAVELENGTHS)


@attrs.frozen(kw_only=True)
class Curves:
    """Absorptivity of the three colorants, each ``(W,)``.

    ``gallate`` and ``catecholate`` in L/mol/cm for each mole of iron,
    ``brown`` in L/g/cm.
    """

    gallate: NDArray[np.float64]
    catecholate: NDArray[np.float64]
    brown: NDArray[np.float64]


@attrs.frozen(kw_only=True)
class Observer:
    """What a reflectance ``(W,)`` must be summed with: to XYZ and to linear sRGB, each ``(W, 3)``."""

    xyz: NDArray[np.float64]
    rgb: NDArray[np.float64]


@functools.cache
def shapes() -> Curves:
    """Return the curves' shapes, without their strength (1 at the peak; brown 1 at 400 nm)."""
    table = grid("absorptivity")
    return Curves(gallate=table["gallate"], catecholate=table["catecholate"], brown=table["brown"])


@functools.cache
def curves() -> Curves:
    """Return the curves at the handbook's central strength (rows ``optics.scale.*``)."""
    shape = shapes()
    return Curves(
        gallate=value("optics.scale.gallate") * shape.gallate,
        catecholate=value("optics.scale.catecholate") * shape.catecholate,
        brown=value("optics.scale.brown") * shape.brown,
    )


@functools.cache
def observer() -> Observer:
    """Return the weights of D65 and the CIE 1931 2-degree observer.

    A reflectance of 1 everywhere gives exactly the white of sRGB.
    """
    table = grid("observer")
    xyz = np.stack([table["x"], table["y"], table["z"]], axis=1)
    rgb = np.ascontiguousarray(xyz @ srgb_inverse().T)
    xyz.setflags(write=False)
    rgb.setflags(write=False)
    return Observer(xyz=xyz, rgb=rgb)
