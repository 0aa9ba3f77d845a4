"""The exemplar as something to aim at: intact density, bare support, now or as new."""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np

from inkhorn.colour.difference import ciede2000
from inkhorn.colour.lab import lab_to_linear, linear_to_lab
from inkhorn.handbook.load import row, value
from inkhorn.optics import ageing, observe
from inkhorn.optics import support as support_optics
from inkhorn.optics.camera import density_doubt
from inkhorn.replay import strokes
from inkhorn.replay.combine import Combined, combine
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import Array

# numbers-in-code: rounds of a solver
_ROUNDS = 24


@attrs.frozen(kw_only=True, eq=False)
class PhotoMeasure:
    """What was read from one picture: intact ink against nearby bare support.

    Parameters
    ----------
    density : ndarray, shape (3,)
        Channel density, R, G, B.
    covariance : ndarray, shape (3, 3)
    support_lab : ndarray, shape (3,), or None
        Colour of the bare support, where the picture could tell.
    spread : ndarray, shape (3,), or None
        How much the ink itself differs from letter to letter (sd), where the picture could tell.
    called : str
        How it is named to a person: "the photo", "the lab".
    number : int or None
        Of its entry.
    camera : str
        Make and model of the camera, where the picture's file says it.
    """

    density: Array
    covariance: Array
    support_lab: Array | None = None
    spread: Array | None = None
    called: str = "measure"
    number: int | None = None
    camera: str = ""

    @property
    def is_plain(self) -> bool:
        """Tell whether it is a picture that no card calibrated."""
        return self.called == "photo" and self.support_lab is None


@attrs.frozen(kw_only=True, eq=False)
class Target:
    """An exemplar: density of its intact ink (3,) with its covariance (3, 3), and its bare support.

    The channels of one picture err together far more than apart, which is why
    the whole covariance is kept: hue is known better than depth.

    Attributes
    ----------
    spread : ndarray (3,)
        How much the scribe's ink itself differs from letter to letter (sd); 0 where nothing tells.
    tolerance : float
        What that amounts to: CIEDE2000 between a letter one ``spread`` off and the middle, on its bare support.
        A match nearer than this is within what the page itself does.
    between : float
        Standard deviation between its pictures, channel density.
    apart : tuple of (int or None, str)
        Measures that do not agree with the others: number of the entry, and that in words.
    """

    name: str
    density: Array
    covariance: Array
    bare_lab: Array
    reflectance: Array
    bare_rgb: Array
    spread: Array
    tolerance: float = 0.0
    between: float = 0.0
    apart: tuple[tuple[int | None, str], ...] = ()


def default_support_lab(material: str = "sheep-parchment") -> Array:
    """Return the handbook's colour of a bare support, L*, a*, b*."""
    return np.array([value(f"supports.{material}.{axis}") for axis in ("L", "a", "b")])


def default_support_sd(material: str = "sheep-parchment") -> Array:
    """Return how far the colour of a bare support of a kind may be from the handbook's, L*, a*, b*, (3,)."""
    return np.array([row(f"supports.{material}.{axis}").spread for axis in ("L", "a", "b")])


def measure_of_lab(
    lab: Array, sd: Array, bare: Array, bare_sd: Array, number: int | None = None
) -> PhotoMeasure:
    """Return the channel density that a colour measured on an ink amounts to, against its bare support.

    Parameters
    ----------
    lab, sd : ndarray, shape (3,)
        L*, a*, b* of the ink and its error.
    bare, bare_sd : ndarray, shape (3,)
        The same of the bare support.
    number : int, optional
        Of its entry.

    Notes
    -----
    The errors of both are carried over by the slopes of the density (first order).
    """

    def density(both: Array) -> Array:
        return observe.channel_density(lab_to_linear(both[:3]), lab_to_linear(both[3:]))

    centre = np.concatenate([lab, bare])
    step = 1e-3
    moved = centre + step * np.eye(len(centre))
    slope = np.stack([(density(m) - density(centre)) / step for m in moved], axis=1)
    variance = np.concatenate([sd, bare_sd]) ** 2
    return PhotoMeasure(
        density=density(centre), covariance=(slope * variance) @ slope.T, called="lab", number=number
    )


def default_support() -> Array:
    """Return the reflectance of the handbook's usual support, (W,)."""
    return support_optics.reflectance(default_support_lab())


def make_target(name: str, measures: Sequence[PhotoMeasure], support_lab: Array | None) -> Target | None:
    """Return the target that several measures of one original add up to, or None without any.

    See `inkhorn.replay.combine`: the scatter between pictures widens the band, and one
    that stands apart is weighed lightly and told. What a camera of unknown make may do to a
    density is in the band of pictures without a card (`together`).
    """
    if not measures:
        return None
    found = combine([m.density for m in measures], [m.covariance for m in measures])
    bare = support_lab
    if bare is None:
        known = [m.support_lab for m in measures if m.support_lab is not None]
        bare = np.mean(known, axis=0) if known else default_support_lab()
    reflectance = support_optics.reflectance(bare)
    bare_rgb = observe.linear_rgb(reflectance)
    spread = _spread(measures)
    whole = together(measures, np.asarray(bare, dtype=np.float64))
    return Target(
        name=name,
        density=whole.density,
        covariance=whole.covariance,
        bare_lab=np.asarray(bare, dtype=np.float64),
        reflectance=reflectance,
        bare_rgb=bare_rgb,
        spread=spread,
        tolerance=_tolerance(whole.density, spread, bare_rgb),
        between=found.between,
        apart=_told_apart(name, measures, found),
    )


def together(measures: Sequence[PhotoMeasure], bare_lab: Array) -> Combined:
    """Return all measures as one.

    Photographs without a card are taken together first, those of one camera by themselves and those
    of which the file does not tell as if one camera had taken them all: what a camera of unknown make
    may do to a density is then doubted once for each camera, and the lots are weighed with the rest.

    Parameters
    ----------
    bare_lab : ndarray (3,)
        Of the bare support.
    """
    sure = [m for m in measures if not m.is_plain]
    densities, errors = [m.density for m in sure], [m.covariance for m in sure]
    bare = np.clip(lab_to_linear(bare_lab), 0, 1)
    for camera in sorted({m.camera for m in measures if m.is_plain}):
        mine = [m for m in measures if m.is_plain and m.camera == camera]
        lot = combine([m.density for m in mine], [m.covariance for m in mine])
        densities.append(lot.density)
        errors.append(lot.covariance + density_doubt(lot.density, bare))
    return combine(densities, errors)


def _spread(measures: Sequence[PhotoMeasure]) -> Array:
    """Return the root mean square of the spreads that the pictures tell, (3,)."""
    told = [m.spread for m in measures if m.spread is not None]
    return np.sqrt(np.mean(np.square(told), axis=0)) if told else np.zeros(3)


def _tolerance(density: Array, spread: Array, bare: Array) -> float:
    """Return the mean CIEDE2000 of a letter one ``spread`` darker, and one paler, from the middle."""
    middle = linear_to_lab(observe.from_density(density, bare))
    ends = [linear_to_lab(observe.from_density(density + s * spread, bare)) for s in (1, -1)]
    return float(np.mean([ciede2000(middle, end) for end in ends]))


def _told_apart(
    name: str, measures: Sequence[PhotoMeasure], found: Combined
) -> tuple[tuple[int | None, str], ...]:
    told = []
    for one in found.apart:
        measure, by = measures[one.index], words_off(one.by)
        if len(measures) == 2:
            how = "Neither is favoured, and the band is wide for it"
            text = (
                f"The two measures of {name} disagree: its {measure.called} reads {by} than the other. {how}."
            )
        else:
            light = found.weights[one.index] < 0.5
            how = "It is weighed lightly, not dropped" if light else "The band is wide for it"
            text = f"This {measure.called} of {name} reads {by} than the other measures together. {how}."
        told.append(
            (measure.number, f"{text} Look at its light, its glare, and whether it shows the same ink.")
        )
    return tuple(told)


def words_off(by: float) -> str:
    """Return a difference in mean channel density in words: "0.21 darker"."""
    # numbers-in-code: two digits
    if abs(by) < 0.005:
        return "of another hue"
    return f"{abs(by):.2f} {'darker' if by > 0 else 'paler'}"


def density_now(target: Target, draws: Draws) -> Array:
    """Return draws of the density of the exemplar's intact ink as it looks now, (N, 3)."""
    variance, axes = np.linalg.eigh(target.covariance)
    z = np.stack([draws.of(f"exemplar:{target.name}/axis.{i}", "misfit.unit") for i in range(3)], axis=-1)
    return np.asarray(target.density + (z * np.sqrt(np.maximum(variance, 0.0))) @ axes.T)


def density_new(target: Target, draws: Draws) -> Array:
    """Return draws of the density that the exemplar's ink had when it was new, (N, 3).

    A film of gallate-type colour is found, by bisection on its strength, that
    after ageing has the mean density seen now; the ratio of its channels as
    new to those as aged is then applied to the channels seen. Ageing's own
    uncertainty makes the band.
    """
    now = density_now(target, draws)
    seen = now.mean(axis=-1)
    low, high = np.full(draws.n, 1e-10), np.full(draws.n, 1e-5)
    for _ in range(_ROUNDS):
        middle = np.sqrt(low * high)
        too_dark = _film(target, middle, draws, is_aged=True).mean(axis=-1) > seen
        high = np.where(too_dark, middle, high)
        low = np.where(too_dark, low, middle)
    strength = np.sqrt(low * high)
    floor = np.finfo(float).eps
    fresh = _film(target, strength, draws, is_aged=False)
    aged = _film(target, strength, draws, is_aged=True)
    return np.asarray(now * fresh / np.maximum(aged, floor))


def _film(target: Target, iron: Array, draws: Draws, *, is_aged: bool) -> Array:
    """Return the density of a plain gallate film of ``iron`` mol/cm2, new or aged, (N, 3)."""
    none = np.zeros(draws.n)
    film = strokes.Areal(gallate=iron, catecholate=none, brown=none)
    if is_aged:
        old = ageing.aged(
            gallate=iron,
            fraction=draws.of("exemplar/aged", "optics.ageing.fraction"),
            brown_gain=draws.of("exemplar/brown_gain", "optics.ageing.brown_gain"),
            brown_scale=draws.of("ink/strength.brown", "optics.scale.brown"),
        )
        film = strokes.Areal(gallate=old.gallate, catecholate=old.catecholate, brown=old.brown)
    return strokes.density(film, target.reflectance, draws)
