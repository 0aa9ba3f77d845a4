"""The colour that a liquor gives on a support: film, darkening, density, Lab."""

from __future__ import annotations

import attrs
import numpy as np

from inkhorn.chemistry import darkening
from inkhorn.colour.lab import linear_to_lab
from inkhorn.flow import film as film_flow
from inkhorn.handbook.load import value
from inkhorn.optics import film as film_optics
from inkhorn.optics import observe, quick
from inkhorn.replay import composition, skin
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.world import TrialState

CHANNELS = ("R", "G", "B")
_PEN_METHODS = ("pen", "line", "pangram")


def one_ml(liquor: Liquor, temperature: Array) -> Liquor:
    """Return one ml of a liquor (nothing, where there is none)."""
    ml = composition.volume(liquor, temperature)
    share = np.divide(1.0, ml, out=np.zeros_like(ml), where=ml > 0)
    return liquor * share


def film_laid(*, tool: str, method: str, viscosity: Array, draws: Draws, pen_kind: str | None) -> Array:
    """Return the mean wet film that a pen, a dip or a drop lays, um, (N,).

    Parameters
    ----------
    tool : str
        The pen's own name: each pen has its own film, learnt from its strokes.
    pen_kind : str or None
        Handbook key of its cut; a goose quill where nobody said.
    """
    if method in _PEN_METHODS:
        kind = pen_kind or "goose-quill"
        base = draws.of(f"pen:{tool or kind}/film", f"pens.{kind}.film")
    else:
        base = draws.of(f"method:{method}/film", f"pens.{method}.film")
    return film_flow.wet_thickness(
        base=base,
        viscosity=viscosity,
        reference_viscosity=value("pens.all.reference_viscosity"),
        exponent=draws.of("pen/exponent", "pens.all.exponent"),
    )


def progress(seconds: Array | float, draws: Draws, ready: Array | float = 0.0) -> Array:
    """Return the share of the final colour that is there after ``seconds`` in air, (N,).

    ``ready`` is the share that was coloured in the pot already: an aired, mild
    ink goes on dark, a sour one pale.
    """
    start = draws.of("ink/darkening.start", "darkening.start")
    return np.asarray(
        darkening.progress(
            seconds,
            tau=draws.of("ink/darkening.tau", "darkening.tau"),
            stretch=draws.of("ink/darkening.stretch", "darkening.stretch"),
            start=start + (1.0 - start) * ready,
        )
    )


@attrs.frozen(kw_only=True, eq=False)
class Areal:
    """What colours each cm2 of a film: iron bound on each class, mol/cm2; brown matter, g/cm2."""

    gallate: Array
    catecholate: Array
    brown: Array


def areal(
    liquor_per_ml: Liquor, film: Array, done: Array | float, draws: Draws, chalk: Array | None = None
) -> Areal:
    """Return the colorants of a film of ``film`` um, ``done`` of the way to dry, (N,) each.

    ``chalk`` is what the support offers, g/m2; None for as much as the acid takes.
    """
    held = skin.held_on(liquor_per_ml, film, chalk, draws)
    # Iron that no tannin holds dries to rust.
    rust = held.free * draws.of("ink/rust", "optics.scale.rust")
    brown = film_flow.solids_per_area(
        thickness=film, concentration=liquor_per_ml["brown"] + rust / value("optics.scale.brown")
    )
    return Areal(
        gallate=film_flow.solids_per_area(thickness=film, concentration=held.pyrogallol) * done,
        catecholate=film_flow.solids_per_area(thickness=film, concentration=held.catechol) * done,
        brown=brown,
    )


def density(film: Areal, support: Array, draws: Draws) -> Array:
    """Return the channel density of a film on a support of known reflectance, (N, 3).

    Each channel carries a factor near one that is learnt from strokes: the
    curves of the handbook are not those of this ink (misfit of hue).
    """
    k1, k2 = draws.of("surface/k1", "optics.surface.k1"), draws.of("surface/k2", "optics.surface.k2")
    gallate, catecholate, brown = _strong(film, draws)
    inked = quick.linear_rgb(
        gallate=gallate, catecholate=catecholate, brown=brown, support=support, k1=k1, k2=k2
    )
    bare = observe.linear_rgb(support)
    gains = np.stack([draws.of(f"misfit/hue.{c}", f"misfit.hue.{c}") for c in CHANNELS], axis=-1)
    return observe.channel_density(_with_gains(inked, bare, gains, k1[:, None], k2[:, None]), bare)


def thin_density(film: Areal, draws: Draws) -> Array:
    """Return the density under the surface of each channel, (3, N), as if the film were thin, and before its own factor.

    A thin film's density is proportional to what lies in it: no spectrum need be reckoned.
    """
    return np.asarray(quick.thin() @ np.stack(_strong(film, draws)))


def _strong(film: Areal, draws: Draws) -> tuple[Array, Array, Array]:
    """Return the three colorants times the strength of each curve: strengths differ from draw to draw, shapes do not."""
    return (
        film.gallate * draws.of("ink/strength.gallate", "optics.scale.gallate"),
        film.catecholate * draws.of("ink/strength.catecholate", "optics.scale.catecholate"),
        film.brown * draws.of("ink/strength.brown", "optics.scale.brown"),
    )


def _with_gains(inked: Array, bare: Array, gains: Array, k1: Array, k2: Array) -> Array:
    """Return the linear channels of a film with each channel's density under the surface times its factor.

    Under the surface, not above it: however dark a channel grows, it never
    falls below what the surface mirrors.
    """
    under, skin = film_optics.inside(inked, k1, k2), film_optics.inside(bare, k1, k2)
    share = np.maximum(under, NOTHING) / np.maximum(skin, NOTHING)
    return film_optics.outside(skin * share**gains, k1, k2)


def bare_rgb(support: Array) -> Array:
    """Return the linear sRGB of a bare support of given reflectance, (3,)."""
    return observe.linear_rgb(support)


def lab_on(channel_density: Array, bare_rgb: Array) -> Array:
    """Return L*, a*, b* (..., 3) of an ink of given density on a support of given linear sRGB."""
    return np.asarray(linear_to_lab(observe.from_density(channel_density, bare_rgb)))


def trial_density(trial: TrialState, seconds: Array | float | None, support: Array, draws: Draws) -> Array:
    """Return the density of a trial's marks ``seconds`` after they were made, (N, 3); None for dry."""
    done: Array | float = 1.0 if seconds is None else progress(seconds, draws, trial.ready)
    return density(areal(trial.liquor, trial.film, done, draws, trial.chalk), support, draws)
