"""Figures of the flow: water, gum, and the film a pen lays."""

from __future__ import annotations

import numpy as np
from figure_look import INK, band, drawn, line, mark, say, sheet
from iapws._iapws import _Liquid
from matplotlib.figure import Figure

from inkhorn.flow import film, gum, mixture, water
from inkhorn.handbook.load import value

ZERO = 273.15


def water_thins() -> Figure:
    """Draw the viscosity of water, by the release that the code follows, and by another's code of the whole IAPWS formulation."""
    figure, axes = sheet("viscosity of water, mPa s", "temperature, °C")
    celsius = np.linspace(0, 100, 201)
    line(axes, celsius, water.viscosity(celsius + ZERO))
    points = np.arange(5, 100, 10)
    theirs = [1000 * _Liquid(float(t) + ZERO, 0.1)["mu"] for t in points]
    axes.plot(points, theirs, "o", color=INK, markersize=4.5, markerfacecolor="none")
    axes.set_xlim(0, 100)
    axes.set_ylim(0, 1.9)
    say(axes, 22, 1.35, "line: the model\nrings: package iapws")
    return figure


def gums() -> Figure:
    """Draw how gums thicken: arabic and plum by Martin's law with their bands, arabic by Huggins' too."""
    figure, axes = sheet("times as thick as without gum", "dissolved gum, g in 100 ml")
    grams = np.linspace(0, 8, 161)
    for which, kind in enumerate(("plum-gum", "gum-arabic")):
        thick = gum.martin(grams, intrinsic=drawn(f"materials.{kind}.intrinsic"), k=drawn("pot.martin"))
        band(axes, grams, thick, which)
    line(
        axes,
        grams,
        gum.huggins(grams, intrinsic=value("materials.gum-arabic.intrinsic"), k=value("gum.huggins")),
        2,
    )
    axes.set_yscale("log")
    axes.set_ylim(1, 100)
    axes.set_yticks([1, 2, 5, 10, 20, 50, 100], ["1", "2", "5", "10", "20", "50", "100"])
    axes.minorticks_off()
    axes.set_xlim(0, 8)
    say(axes, 1.55, 21, "plum gum", ha="right")
    say(axes, 5.2, 1.45, "gum arabic", va="top")
    say(axes, 7.9, 5.5, "Huggins for arabic (dots)", ha="right", soft=True, va="bottom")
    return figure


def ink_thickness() -> Figure:
    """Draw the viscosity of an ink against warmth, as its solids and gum make it."""
    figure, axes = sheet("viscosity, mPa s", "temperature, °C")
    celsius = np.linspace(5, 50, 91)

    def ink(**has: float) -> np.ndarray:
        parts = {"solids": 0.0, "gum": 0.0, "gel": 0.0, **has}
        return mixture.viscosity(
            temperature=celsius + ZERO,
            intrinsic=drawn("materials.plum-gum.intrinsic"),
            martin=drawn("pot.martin"),
            solids_coefficient=drawn("gum.solids_coefficient"),
            gel_coefficient=drawn("gum.gel_coefficient"),
            activation=drawn("gum.activation"),
            **parts,
        )

    band(axes, celsius, ink(solids=10, gum=0.6), 0)
    band(axes, celsius, ink(solids=10), 1)
    line(axes, celsius, water.viscosity(celsius + ZERO), 2)
    axes.set_xlim(5, 50)
    axes.set_ylim(0, 8)
    say(axes, 21.5, 4.3, "10 g solids and 0.6 g of\ndissolved plum gum in 100 ml")
    say(axes, 33, 1.62, "10 g solids")
    say(axes, 9, 0.55, "water")
    return figure


def wet_film() -> Figure:
    """Draw the wet film that two pens lay, from thin ink to thick."""
    figure, axes = sheet("wet film, µm", "viscosity when writing, mPa s")
    thick = np.geomspace(1, 10, 91)
    for which, pen in enumerate(("reed", "goose-quill")):
        laid = film.wet_thickness(
            base=drawn(f"pens.{pen}.film"),
            viscosity=thick,
            reference_viscosity=value("pens.all.reference_viscosity"),
            exponent=drawn("pens.all.exponent"),
        )
        band(axes, thick, laid, which)
    axes.set_xscale("log")
    axes.set_xticks([1, 1.5, 2, 3, 4.5, 6, 8, 10], ["1", "1.5", "2", "3", "4.5", "6", "8", "10"])
    axes.minorticks_off()
    axes.set_xlim(1, 10)
    axes.set_ylim(0, 110)
    mark(axes, value("pens.goose-quill.flow_high"), "quill drags", y=103, ha="right")
    mark(axes, value("pens.reed.flow_high"), "reed drags", y=103, ha="right")
    say(axes, 1.05, 62, "reed")
    say(axes, 1.05, 5.5, "quill")
    return figure
