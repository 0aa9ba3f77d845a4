"""What would be seen if any of the causes were the other side's: the film model behind the shares."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.colour.lab import linear_to_lab
from inkhorn.compare.laid import Laid, draw, lay_both, middle
from inkhorn.compare.sides import Coverage, Side
from inkhorn.handbook.load import row, value
from inkhorn.optics import observe
from inkhorn.optics.ageing import film_as_new
from inkhorn.optics.film import reflectance
from inkhorn.optics.spectra import curves

Array = NDArray[np.float64]

#: The causes among which a difference is shared.
CAUSES = ("wear", "skin", "pen", "camera", "ink")
#: One more where the original is taken as it was when new.
AGE = "age"


@attrs.frozen(kw_only=True, eq=False)
class Pair:
    """Both sides laid, and how much more film the original's pen lays than the trial's.

    ``new`` is the original's film as it may have been when new; None where the page is
    taken as it looks now.
    """

    trial: Laid
    original: Laid
    film_ratio: Array
    k2: float
    new: Array | None = None

    def causes(self) -> tuple[str, ...]:
        """Return the causes among which this difference is shared."""
        return CAUSES if self.new is None else (*CAUSES, AGE)

    def seen(self, *, wear: bool, skin: bool, pen: bool, camera: bool, ink: bool, age: bool = False) -> Array:
        """Return Lab ``(N, 3)`` with each cause as on the trial (True) or on the original (False).

        The colour is the mean over the stroke's area in linear light, as an eye at
        reading distance or a coarse pixel takes it.
        """
        n = len(self.trial.film)
        ratio = self.film_ratio[:, None]
        old = self.new if age and self.new is not None else self.original.film
        film = self.trial.film if ink else old / ratio
        film = film if pen else film * ratio
        ground = self.trial.support if skin else self.original.support
        lens = self.trial if camera else self.original
        skips = self.trial.coverage if pen else Coverage.whole()
        worn = Coverage.whole() if wear else self.original.coverage
        rgb = np.zeros((n, 3))
        for left, share in _parts(skips, worn):
            part = reflectance(film * left, ground, self.trial.gleam, self.k2)
            rgb += share * observe.linear_rgb(part)
        return linear_to_lab(rgb * lens.gain)

    def ink_alone(self) -> tuple[Array, Array]:
        """Return Lab of the trial's and of the original's intact ink, on the original's skin, by the same pen."""
        common = {"wear": True, "skin": False, "pen": False, "camera": False, "age": True}
        whole = attrs.evolve(
            self, original=attrs.evolve(self.original, gain=np.ones_like(self.original.gain))
        )
        return whole.seen(**common, ink=True), whole.seen(**common, ink=False)


def _parts(one: Coverage, two: Coverage) -> list[tuple[float, float]]:
    """Return what is left and its share where two thinnings fall on the same stroke independently."""
    film = np.outer(one.film, two.film).ravel()
    share = np.outer(one.share, two.share).ravel()
    levels, where = np.unique(film, return_inverse=True)
    shares = np.bincount(where, weights=share)
    return [(float(f), float(s)) for f, s in zip(levels, shares, strict=True) if s > 0]


def pair(
    trial: Side,
    original: Side,
    *,
    film_ratio: ArrayLike = 1,
    draws: int = 256,
    seed: int = 0,
    k1: float | None = None,
    k2: float | None = None,
    as_new: bool = False,
    noise: bool = True,
) -> Pair:
    """Lay both sides with the same numbers for the surface.

    Parameters
    ----------
    trial, original : Side
    film_ratio : array_like
        Wet film of the original's pen over the trial's, one value or draws.
    draws, seed : int
        How many draws of everything uncertain, and their seed.
    k1, k2 : float, optional
        Surface constants; the handbook's if left out.
    as_new : bool
        Take the original as it may have been when new; age is then one more cause.
    noise : bool
        Draw the error of the measured densities too, see `inkhorn.compare.laid.draw`.
    """
    rng = np.random.default_rng(seed)
    c1 = value("optics.surface.k1") if k1 is None else k1
    c2 = value("optics.surface.k2") if k2 is None else k2
    ratio = np.asarray(film_ratio, dtype=np.float64).ravel()
    mine, theirs = lay_both(
        draw(trial, draws, rng, noise=noise), draw(original, draws, rng, noise=noise), k1=c1, k2=c2
    )
    return Pair(
        trial=mine,
        original=theirs,
        new=_as_new(theirs.film, rng) if as_new else None,
        film_ratio=ratio[rng.integers(0, len(ratio), draws)] if len(ratio) > 1 else np.full(draws, ratio[0]),
        k2=c2,
    )


def middle_pair(trial: Side, original: Side, *, film_ratio: ArrayLike = 1, as_new: bool = False) -> Pair:
    """Lay both sides once with the central value of everything."""
    k1, k2 = value("optics.surface.k1"), value("optics.surface.k2")
    mine, theirs = lay_both(middle(trial), middle(original), k1=k1, k2=k2)
    return Pair(
        trial=mine,
        original=theirs,
        film_ratio=np.median(np.asarray(film_ratio, dtype=np.float64)).reshape(1),
        k2=k2,
        new=_as_new(theirs.film, None) if as_new else None,
    )


def _as_new(film: Array, rng: np.random.Generator | None) -> Array:
    """Return the film as new, with draws of what ageing does or (without ``rng``) its central values."""
    share, gain = row("optics.ageing.brown_share"), row("optics.ageing.brown_gain")
    n = len(film)
    return film_as_new(
        film,
        share=share.value if rng is None else share.draw(n, rng),
        brown_gain=gain.value if rng is None else gain.draw(n, rng),
        brown_scale=value("optics.scale.brown"),
        curves=curves(),
    )
