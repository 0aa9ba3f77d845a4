"""Figures of the optics: colorants, films, age, cameras, infrared."""

from __future__ import annotations

import numpy as np
from figure_look import LINES, band, drawn, line, mark, rng, say, sheet, swatches
from matplotlib.figure import Figure

from inkhorn.handbook.grids import grid
from inkhorn.handbook.load import value
from inkhorn.optics import ageing, film, infrared, observe, support
from inkhorn.optics.camera import channel_density_seen, draw_cameras
from inkhorn.optics.spectra import WAVELENGTHS, curves, shapes

SKIN = support.reflectance(np.array([value(f"supports.sheep-parchment.{k}") for k in ("L", "a", "b")]))
BARE = observe.linear_rgb(SKIN)
_MICROMOL = 1e-6


def colorants() -> Figure:
    """Draw the absorptivity of the iron complexes, for each mole of iron, with the doubt about strength and shape."""
    figure, axes = sheet("absorptivity for each mole of iron, 1000 l/mol/cm", "wavelength, nm")
    doubt = grid("absorptivity_spread")
    for which, kind in enumerate(("gallate", "catecholate")):
        z = rng(f"shape {kind}").standard_normal((2000, 1))
        shape = np.maximum(getattr(shapes(), kind) + z * doubt[kind], 0)
        band(axes, WAVELENGTHS, drawn(f"optics.scale.{kind}") * shape / 1000, which)
    axes.set_xlim(380, 730)
    axes.set_ylim(0, 5.5)
    say(axes, 480, 5.1, "gallate type")
    say(axes, 640, 0.5, "catecholate type", ha="center")
    return figure


def brown() -> Figure:
    """Draw the absorptivity of brown matter, for each gram, with the doubt about strength and shape."""
    figure, axes = sheet("absorptivity of brown matter, l/g/cm", "wavelength, nm")
    z = rng("shape brown").standard_normal((2000, 1))
    shape = np.maximum(shapes().brown + z * grid("absorptivity_spread")["brown"], 0)
    band(axes, WAVELENGTHS, drawn("optics.scale.brown") * shape, 0)
    axes.set_xlim(380, 730)
    axes.set_ylim(0, 2.2)
    say(axes, 470, 0.8, "bark, leaf and gall extract,\nold browned ink")
    return figure


def film_density() -> Figure:
    """Draw channel density against iron laid, up to what the surface lets be seen; under it the colours themselves."""
    figure, axes = sheet(
        "channel density, mean of R, G and B", "iron laid as gallate, µmol to the square cm", height=330
    )
    figure.axes[0].set_position((48 / 390, 84 / 330, 326 / 390, 212 / 330))
    iron = np.linspace(0, 0.6, 61)

    def density(scale: np.ndarray, k1: np.ndarray) -> np.ndarray:
        amount = iron * _MICROMOL * scale / value("optics.scale.gallate")
        layer = film.absorbance(gallate=amount, curves=curves())
        k = np.broadcast_to(k1, amount.shape)
        seen = film.reflectance(layer, SKIN, k, value("optics.surface.k2"))
        return observe.channel_density(observe.linear_rgb(seen), BARE).mean(axis=-1)

    band(axes, iron, density(drawn("optics.scale.gallate", 600), drawn("optics.surface.k1", 600)), 0)
    middle = density(np.full((1, 1), value("optics.scale.gallate")), np.full((1, 1), 1e-9))
    line(axes, iron, middle[0], 2)
    axes.set_ylim(0, 2.0)
    axes.set_xlim(0, 0.6)
    say(axes, 0.31, 0.73, "a matt surface mirrors 4 %:\nabove 1.2 little can be told")
    say(axes, 0.335, 1.8, "without the gleam", soft=True)
    steps = (np.arange(12) + 0.5) * 0.05 * _MICROMOL
    spots = film.reflectance(
        film.absorbance(gallate=steps, curves=curves()),
        SKIN,
        value("optics.surface.k1"),
        value("optics.surface.k2"),
    )
    swatches(figure, list(observe.linear_rgb(spots)), bare=BARE, left=48 / 390, right=374 / 390, y=10 / 330)
    axes.xaxis.set_label_coords(0.5, -0.125)
    return figure


def browning() -> Figure:
    """Draw a stroke turning from blue-black to brown as its complex does; under it the colours themselves."""
    figure, axes = sheet("channel density", "share of the complex turned brown", height=330)
    figure.axes[0].set_position((48 / 390, 84 / 330, 326 / 390, 212 / 330))
    share = np.linspace(0, 1, 41)

    def seen(gain: np.ndarray, fraction: np.ndarray) -> np.ndarray:
        old = ageing.aged(
            gallate=0.14 * _MICROMOL,
            fraction=fraction,
            brown_gain=gain,
            brown_scale=value("optics.scale.brown"),
        )
        layer = film.absorbance(
            gallate=old.gallate, catecholate=old.catecholate, brown=old.brown, curves=curves()
        )
        out = film.reflectance(layer, SKIN, value("optics.surface.k1"), value("optics.surface.k2"))
        return observe.linear_rgb(out)

    densities = observe.channel_density(seen(drawn("optics.ageing.brown_gain"), share), BARE)
    for which, channel in enumerate((0, 2)):
        band(axes, share, densities[..., channel], which)
    axes.set_xlim(0, 1)
    axes.set_ylim(0, 1.2)
    say(axes, 0.06, 0.95, "red")
    say(axes, 0.06, 0.42, "blue")
    spots = seen(np.asarray(value("optics.ageing.brown_gain")), (np.arange(12) + 0.5) / 12)
    swatches(figure, list(spots), bare=BARE, left=48 / 390, right=374 / 390, y=10 / 330)
    axes.xaxis.set_label_coords(0.5, -0.125)
    return figure


def camera() -> Figure:
    """Draw the density that cameras of unknown make read, against the true one."""
    figure, axes = sheet("channel density as read (mean of three)", "true channel density")
    true = np.linspace(0, 1.4, 57)
    cameras = draw_cameras(rng("cameras"), 1500)
    read = np.stack([channel_density_seen(BARE * 10**-d, BARE, cameras).mean(axis=-1) for d in true], axis=1)
    band(axes, true, read, 0)
    line(axes, true, true, 2, linewidth=1.2)
    axes.set_xlim(0, 1.4)
    axes.set_ylim(0, 1.6)
    say(axes, 1.02, 1.22, "true", ha="right", soft=True)
    say(axes, 0.8, 0.5, "glare makes deep ink\nread paler; the tone curve\nmakes it read either way")
    return figure


def infrared_index() -> Figure:
    """Draw how much of an ink's darkness in the red is left in the near infrared, by kind."""
    figure, axes = sheet("darkness left, of that in the red", "wavelength, nm")
    nm = np.linspace(780, 1100, 65)
    z = rng("infrared").standard_normal((2000, infrared.NORMALS))
    for which, kind in enumerate(("iron-tannin", "carbon", "brown")):
        draws = np.stack([infrared.index_of(kind, float(b), z, 2000) for b in nm], axis=1)
        if kind == "brown":
            line(axes, nm, np.median(draws, axis=0), 2)
        else:
            band(axes, nm, draws, which)
    axes.set_xlim(780, 1100)
    axes.set_ylim(0, 1.02)
    for at in (850, 940):
        mark(axes, at, f"{at}", y=0.98)
    say(axes, 1000, 0.77, "carbon")
    say(axes, 948, 0.24, "iron-tannin")
    say(axes, 786, 0.09, "bistre, sepia", soft=True)
    return figure


def infrared_odds() -> Figure:
    """Draw what one look at 940 nm says of the kind of ink."""
    figure, axes = sheet(
        "how likely each kind is, after one look at 940 nm", "infrared index Q, known to ±0.05"
    )
    q = np.linspace(0, 1, 101)
    found = infrared.probability_of_type(q, 0.05, 940)
    for which, kind in enumerate(("iron-tannin", "carbon", "mixed")):
        line(axes, q, found[kind], which)
        axes.plot(
            [-0.012],
            [infrared.prior()[kind]],
            marker=">",
            color=LINES[which]["color"],
            markersize=5,
            clip_on=False,
        )
    axes.set_xlim(0, 1)
    axes.set_ylim(0, 1.02)
    say(axes, 0.28, 0.95, "iron-tannin")
    say(axes, 0.99, 0.75, "carbon", ha="right")
    say(axes, 0.5, 0.64, "mixed", ha="center")
    say(axes, 0.02, 0.66, "arrows: before\nthe look", soft=True)
    return figure
