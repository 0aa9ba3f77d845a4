"""The two sides of a comparison: what is known of the maker's stroke and of the original's."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.colour.lab import lab_to_linear, linear_to_lab
from inkhorn.handbook.load import row, value
from inkhorn.imaging.reading import PhotoReading
from inkhorn.optics.camera import density_doubt, makes, photograph

Array = NDArray[np.float64]
_LAB = ("L", "a", "b")


@attrs.frozen(kw_only=True, eq=False)
class Skin:
    """The colour of a bare support, as far as it is known.

    Attributes
    ----------
    lab, sd : ndarray (3,)
        L*, a*, b* under D65 and one standard deviation of each.
    seen : ndarray (3,) or None
        Linear sRGB of the same bare support in the picture; None if there is no picture.
    """

    lab: Array
    sd: Array
    seen: Array | None = None

    def draw(self, n: int, rng: np.random.Generator) -> Array:
        """Draw ``n`` colours, ``(n, 3)``."""
        return np.asarray(self.lab + self.sd * rng.standard_normal((n, 3)))


@attrs.frozen(kw_only=True, eq=False)
class Coverage:
    """What is left of the film over the area of a stroke: parts and their shares of it.

    ``film`` is what is left in each part (1 whole, 0 bare), ``share`` how much of the area it is.
    """

    film: Array
    share: Array

    @classmethod
    def whole(cls) -> Coverage:
        """Return a stroke with nothing worn."""
        return cls(film=np.ones(1), share=np.ones(1))

    @classmethod
    def of(cls, *, intact: float, thinned: float, bare: float, film_thinned: float | None = None) -> Coverage:
        """Return the coverage of a reading's three wear fractions."""
        left = value("compare.thinned") if film_thinned is None else film_thinned
        share = np.maximum(np.array([intact, thinned, bare], dtype=np.float64), 0)
        return cls(film=np.array([1, left, 0]), share=share / share.sum())


@attrs.frozen(kw_only=True, eq=False)
class Side:
    """One stroke: its intact ink, its skin, and what covers or thins it.

    Attributes
    ----------
    density : ndarray (3,)
        Channel density of the intact ink against its own bare support.
    covariance : ndarray (3, 3)
    skin : Skin
    coverage : Coverage
        For an original this is wear; for a fresh trial, what the pen skipped.
    absorbance : ndarray (N, W) or None
        Predicted dry absorbance, where an estimate gave one; only its spectral shape
        is used, the photograph fixes how much.
    """

    density: Array
    covariance: Array
    skin: Skin
    coverage: Coverage
    absorbance: Array | None = None


def skin(
    *,
    prior: ArrayLike | None = None,
    prior_sd: ArrayLike | None = None,
    seen: ArrayLike | None = None,
    calibrated: bool = False,
) -> Skin:
    """Weigh what a bare support should look like against what the picture shows.

    Both are normal in Lab, so the answer is their precision-weighted mean. An
    uncalibrated picture counts for little (`camera_sd`), a calibrated one
    for much (rows ``compare.card``); what of the picture's colour is then not the skin's is
    the camera's.

    Parameters
    ----------
    prior, prior_sd : array_like, optional
        Lab of the support by its kind or a measurement; an old skin of which nothing is
        known if left out (``compare.skin``). A colour without a spread is taken as
        measured, with the error of a calibrated picture.
    seen : array_like, optional
        Linear sRGB of the bare support in the picture.
    calibrated : bool
        Whether the picture's colours were calibrated by a card.
    """
    known = [row(f"compare.{'skin' if prior is None else 'card'}.{k}") for k in _LAB]
    lab = np.array([r.value for r in known]) if prior is None else np.asarray(prior, dtype=np.float64)
    sd = np.array([r.spread for r in known]) if prior_sd is None else np.asarray(prior_sd, dtype=np.float64)
    if seen is None:
        return Skin(lab=lab, sd=sd)
    rgb = np.asarray(seen, dtype=np.float64)
    camera = np.array([row(f"compare.card.{k}").spread for k in _LAB]) if calibrated else camera_sd(lab)
    weight = sd**2 / (sd**2 + camera**2)
    return Skin(lab=lab + weight * (linear_to_lab(rgb) - lab), sd=sd * np.sqrt(1 - weight), seen=rgb)


def camera_sd(lab: ArrayLike) -> Array:
    """Return how far an uncalibrated picture may be off in L*, a*, b* ``(3,)`` for a bare support of this Lab.

    Root mean square over cameras of unknown make (`inkhorn.optics.camera`): exposure,
    white balance, sensitivities, tone curve and glare together.
    """
    true = np.asarray(lab, dtype=np.float64)
    off = linear_to_lab(photograph(np.clip(lab_to_linear(true), 0, 1), makes())) - true
    return np.asarray(np.sqrt((off**2).mean(axis=0)))


def support_skin(name: str) -> tuple[Array, Array]:
    """Return Lab and its spread of a handbook support ("goat-parchment")."""
    rows = [row(f"supports.{name}.{k}") for k in _LAB]
    return np.array([r.value for r in rows]), np.array([r.spread for r in rows])


def from_reading(
    reading: PhotoReading,
    *,
    prior: ArrayLike | None = None,
    prior_sd: ArrayLike | None = None,
    film_thinned: float | None = None,
    absorbance: Array | None = None,
) -> Side:
    """Return the side that a photograph shows; see `skin` for the prior of its support.

    To the reading's own error that of a camera of unknown make is added (`inkhorn.optics.camera.density_doubt`), unless
    a card calibrated the picture. If one camera took both sides, much of it cancels: the band of
    their difference is then wider than it need be.
    """
    wear = reading.wear
    ground = skin(prior=prior, prior_sd=prior_sd, seen=reading.support_rgb, calibrated=reading.card)
    covariance = np.asarray(reading.covariance, dtype=np.float64)
    if not reading.card:
        bare = np.clip(lab_to_linear(ground.lab), 0, 1)
        covariance = covariance + density_doubt(reading.optical_density, bare)
    return Side(
        density=np.asarray(reading.optical_density, dtype=np.float64),
        covariance=covariance,
        skin=ground,
        coverage=Coverage.of(
            intact=wear.intact, thinned=wear.thinned, bare=wear.bare, film_thinned=film_thinned
        ),
        absorbance=absorbance,
    )


def from_numbers(
    density: ArrayLike,
    sd: ArrayLike,
    *,
    lab: ArrayLike | None = None,
    lab_sd: ArrayLike | None = None,
    absorbance: Array | None = None,
) -> Side:
    """Return a side of which only densities (and perhaps the bare support's Lab) are known."""
    spread = np.broadcast_to(np.asarray(sd, dtype=np.float64), (3,))
    return Side(
        density=np.asarray(density, dtype=np.float64),
        covariance=np.diag(spread**2),
        skin=skin(prior=lab, prior_sd=lab_sd),
        coverage=Coverage.whole(),
        absorbance=absorbance,
    )
