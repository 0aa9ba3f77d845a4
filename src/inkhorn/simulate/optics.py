"""Colour in the invented truth: Kubelka-Munk films with scattering and two-band, lopsided spectra.

Colour sums run every 5 nm from 380 to 780 nm under D65 with the 1931 observer.
"""

from __future__ import annotations

import functools

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.lab import xyz_to_lab
from inkhorn.colour.xyz import xyz_to_linear
from inkhorn.handbook.grids import grid
from inkhorn.simulate.draws import Draws
from inkhorn.simulate.liquor import Liquor
from inkhorn.simulate.nature import bound, litres

Array = NDArray[np.float64]
#: Five equal-weight quantiles of a standard normal: the thick and the thin of a stroke.
_QUANTILES = (-1.282, -0.524, 0.0, 0.524, 1.282)  # numbers-in-code: standard normal, 10 30 50 70 90 %
_LN10 = float(np.log(10.0))


def wavelengths() -> Array:
    """Return the wavelengths of every spectrum here, nm, shape ``(81,)``."""
    return np.asarray(grid("simulate_observer")["wavelength"])


@functools.cache
def _weights() -> Array:
    table = grid("simulate_observer")
    product = np.stack([table[c] * table["d65"] for c in ("x", "y", "z")])
    return np.asarray(product / product[1].sum())


def xyz(reflectance: Array) -> Array:
    """Return XYZ (white Y = 1) under D65 of reflectance ``(..., 81)``."""
    return np.asarray(reflectance @ _weights().T)


@attrs.frozen(kw_only=True)
class TrueStroke:
    """The true colour of a stroke and of the bare support beside it.

    Attributes
    ----------
    reflectance : ndarray
        Mean over the stroke, shape ``(81,)``.
    rgb, bare_rgb : ndarray
        Linear sRGB under D65, shape ``(3,)``.
    lab, bare_lab : ndarray
        CIE Lab, D65, shape ``(3,)``.
    optical_density : dict
        Channel density by "R", "G", "B".
    """

    reflectance: Array
    rgb: Array
    lab: Array
    optical_density: dict[str, float]
    bare_rgb: Array
    bare_lab: Array


def stroke_of(inked: Array, bare: Array) -> TrueStroke:
    """Return the colours of an inked and a bare reflectance spectrum."""
    ink, skin = xyz(inked), xyz(bare)
    rgb, bare_rgb = np.maximum(xyz_to_linear(ink), 1e-5), np.maximum(xyz_to_linear(skin), 1e-5)
    density = -np.log10(rgb / bare_rgb)
    return TrueStroke(
        reflectance=inked,
        rgb=rgb,
        lab=xyz_to_lab(ink),
        optical_density={c: float(d) for c, d in zip("RGB", density, strict=True)},
        bare_rgb=bare_rgb,
        bare_lab=xyz_to_lab(skin),
    )


def bare_lab(bare: Array) -> Array:
    """Return the Lab of a bare reflectance spectrum, shape ``(3,)``."""
    return xyz_to_lab(xyz(bare))


def lopsided(at: float, left: float, right: float) -> Array:
    """Return a bell of height one whose two halves have widths of their own, ``(81,)``."""
    x = wavelengths() - at
    return np.asarray(np.exp(-0.5 * (x / np.where(x < 0, left, right)) ** 2))


@attrs.frozen(kw_only=True)
class Pigments:
    """Absorptivity of each colouring matter of a film, ``(81,)``: L/mol/cm, brown and tan L/g/cm."""

    blue: Array
    green: Array
    rust: Array
    brown: Array
    tan: Array
    scatter: Array

    @classmethod
    def of(cls, n: Draws) -> Pigments:
        """Build the spectra from the truth's numbers."""
        o = functools.partial(_optic, n)
        brown = o("brown") * lopsided(o("brown_at"), o("brown_right"), o("brown_right"))
        return cls(
            blue=_two_bands(n, "blue", "shoulder"),
            green=_two_bands(n, "green", "violet"),
            rust=o("rust") * lopsided(o("rust_at"), o("rust_right"), o("rust_right")),
            brown=brown,
            tan=brown * o("tan"),
            scatter=o("scatter") * (wavelengths() / 550.0) ** o("scatter_power"),
        )


def _optic(n: Draws, name: str) -> float:
    return n(f"optics.{name}")


def _two_bands(n: Draws, main: str, second: str) -> Array:
    def band(name: str) -> Array:
        return lopsided(*(_optic(n, f"{name}_{p}") for p in ("at", "left", "right")))

    return np.asarray(_optic(n, main) * (band(main) + _optic(n, second) * band(second)))


@attrs.frozen(kw_only=True)
class Film:
    """What lies on a square centimetre for each micrometre of wet film: moles and grams."""

    blue: float
    green: float
    rust: float
    brown: float
    tan: float
    solids: float


def film_of(liquor: Liquor, n: Draws, *, chalk: float = 0.0) -> Film:
    """Return the dry film of a liquor; chalk drives a share of the free iron onto empty sites."""
    room = max(litres(liquor, n), 1e-9)
    ends = bound(liquor, n)
    driven = chalk * ends.free if ends.blue + ends.green > 0 else 0.0
    blue_share = ends.blue / max(ends.blue + ends.green, 1e-30)
    per = 1e-7 / room  # a litre spread 1 um thin covers 1e7 square centimetres
    plain = sum(liquor[t] for t in ("gallotannin", "gallic", "ellagi", "condensed", "other"))
    return Film(
        blue=(ends.blue + driven * blue_share) * per,
        green=(ends.green + driven * (1.0 - blue_share)) * per,
        rust=(ends.free - driven) * per,
        brown=liquor["brown"] * per,
        tan=plain * per,
        solids=liquor.solids() * per,
    )


def aged(film: Film, *, fade: float, brown: float) -> Film:
    """Return an old film: iron colour lost, its iron gone to rust, browned matter grown (g/mol)."""
    iron = film.blue + film.green
    return attrs.evolve(
        film,
        blue=film.blue * (1.0 - fade),
        green=film.green * (1.0 - fade),
        rust=film.rust + fade * iron,
        brown=film.brown + brown * iron,
    )


@attrs.frozen(kw_only=True)
class Surface:
    """How a film lies on a support: mirroring, unevenness, sinking."""

    mirror: float
    gloss: float
    inner: float
    uneven: float
    sink: float
    sunk: float


def inked(
    film: Film, um: float, bare: Array, pigments: Pigments, surface: Surface, *, done: float = 1.0
) -> Array:
    """Return the reflectance of a stroke of mean wet film ``um`` on a bare support ``(81,)``.

    ``done`` is the share of the iron colour that has formed.
    """
    inside = _under(bare, surface.mirror, surface.inner)
    looks = []
    for z in _QUANTILES:
        here = um * float(np.exp(surface.uneven * z - 0.5 * surface.uneven**2))
        below = _layer(film, here * surface.sink, inside, pigments, done, power=surface.sunk)
        looks.append(_layer(film, here * (1.0 - surface.sink), below, pigments, done))
    wet = np.mean(looks, axis=0)
    return np.asarray(_over(wet, surface.gloss, surface.inner))


def _layer(film: Film, um: float, back: Array, p: Pigments, done: float, *, power: float = 1.0) -> Array:
    """Kubelka-Munk layer (hyperbolic solution) over a backing of reflectance ``back``."""
    absorbed = done * (film.blue * p.blue + film.green * p.green) + film.rust * p.rust
    absorbed = absorbed + film.brown * p.brown + film.tan * p.tan
    k = _LN10 * 1000.0 * um * power * absorbed
    s = np.maximum(p.scatter * film.solids * um * power, 1e-6)
    a = 1.0 + k / s
    b = np.sqrt(np.maximum(a * a - 1.0, 1e-12))
    coth = 1.0 / np.tanh(np.clip(b * s, 1e-9, 300.0))
    return np.asarray((1.0 - back * (a - b * coth)) / (a - back + b * coth))


def _under(measured: Array, mirror: float, inner: float) -> Array:
    """Take the surface's mirroring off (Saunderson)."""
    return np.asarray((measured - mirror) / (1.0 - mirror - inner + inner * measured))


def _over(inside: Array, mirror: float, inner: float) -> Array:
    """Put the surface's mirroring on."""
    return np.asarray(mirror + (1.0 - mirror) * (1.0 - inner) * inside / (1.0 - inner * inside))


def skin_of(n: Draws, key: str, *, paper: bool = False, hair: bool = False, age: float = 1.0) -> Array:
    """Return the bare reflectance of one skin or sheet, ``(81,)``."""
    nm = wavelengths()
    loss = n("skin.fall", key) * age
    loss *= n("skin.paper") if paper else 1.0
    loss *= n("skin.hair") if hair else 1.0
    rise = 1.0 - loss * np.exp(-np.maximum(nm - 400.0, -20.0) / n("skin.reach", key))
    dip = 1.0 - max(n("skin.blood", key), 0.0) * np.exp(
        -0.5 * ((nm - n("skin.blood_at")) / n("skin.blood_width")) ** 2
    )
    return np.asarray(np.clip(n("skin.top", key) * rise * dip, 0.05, 0.95))
