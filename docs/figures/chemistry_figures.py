"""Figures of the chemistry: each curve from the library's own function and the handbook's rows."""

from __future__ import annotations

import numpy as np
from figure_look import BANDS, INK, band, drawn, line, mark, say, sheet
from matplotlib.figure import Figure

from inkhorn.chemistry import (
    binding,
    boiling,
    darkening,
    diffusion,
    extraction,
    hydrates,
    permanence,
    spoilage,
    weathering,
)
from inkhorn.chemistry.speciation import Totals, solve
from inkhorn.handbook.load import row, value

ZERO, DAY, HOUR = 273.15, 86400.0, 3600.0


def _logit_lines(axes: object, ticks: list[float], names: list[str]) -> None:
    axes.set_xscale("log")
    axes.set_xticks(ticks, names)
    axes.minorticks_off()


def steeping() -> Figure:
    """Draw how much of the tannin a steep draws out: crushed in cold and hot water, and whole pieces in cold."""
    figure, axes = sheet("share of all the tannin drawn out", "time of the steep")
    hours = np.geomspace(1 / 12, 24 * 21, 120)

    def drawn_out(celsius: float, pieces: str) -> np.ndarray:
        kelvin = celsius + ZERO
        diffusivity = extraction.arrhenius(
            drawn("extraction.diffusivity"), drawn("extraction.energy"), kelvin, value("extraction.reference")
        )
        rate = extraction.slow_rate(diffusivity, drawn(f"extraction.radius.{pieces}"))
        reach = extraction.extractable(
            kelvin,
            cold=drawn("extraction.extractable.cold"),
            hot=value("extraction.extractable.hot"),
            cold_temperature=value("extraction.extractable.cold_temperature"),
            hot_temperature=value("extraction.extractable.hot_temperature"),
        )
        return reach * extraction.released(drawn(f"extraction.washing.{pieces}"), rate, hours * HOUR)

    for which, (celsius, pieces) in enumerate(((80, "crushed"), (17, "crushed"), (17, "whole"))):
        band(axes, hours, drawn_out(celsius, pieces), which)
    _logit_lines(axes, [1 / 12, 1, 6, 24, 168], ["5 min", "1 h", "6 h", "1 day", "1 week"])
    axes.set_ylim(0, 0.85)
    axes.set_xlim(hours[0], hours[-1])
    say(axes, 0.2, 0.71, "crushed, 80 °C")
    say(axes, 1.5, 0.36, "crushed, 17 °C")
    say(axes, 9, 0.19, "whole, 17 °C")
    return figure


def crank() -> Figure:
    """Draw diffusion out of pieces: Crank's series for three shapes, and the first-order law that the model keeps."""
    figure, axes = sheet("share that has left", "Fourier number  D t / a²")
    fo = np.geomspace(1e-3, 2, 160)
    line(axes, fo, diffusion.crank_sphere(fo), 0)
    line(axes, fo, diffusion.crank_cylinder(fo), 1)
    line(axes, fo, diffusion.crank_slab(fo), 2)
    washed = 1 - 6 / np.pi**2
    rate = extraction.slow_rate(1.0, 1.0)
    line(axes, fo, extraction.released(washed, rate, fo), 3)
    _logit_lines(axes, [0.001, 0.01, 0.1, 1], ["0.001", "0.01", "0.1", "1"])
    axes.set_ylim(0, 1.02)
    axes.set_xlim(fo[0], fo[-1])
    say(axes, 0.0056, 0.26, "sphere", ha="right")
    say(axes, 0.0168, 0.265, "cylinder")
    say(axes, 0.034, 0.115, "slab")
    say(axes, 0.0013, 0.63, "slowest term of the sphere's\nseries, the rest at once", soft=True, va="bottom")
    return figure


def boiling_down() -> Figure:
    """Draw how long two litres take to boil down, at three heats."""
    figure, axes = sheet("litres left of 2 l", "minutes on the fire, from 15 °C")
    minutes = np.linspace(0, 180, 181)
    capacity = value("boiling.heat_capacity.water")
    boils = value("boiling.point")

    def left(heat: str) -> np.ndarray:
        gone = boiling.evaporated(
            drawn(f"boiling.power.{heat}"),
            minutes * 60,
            mass=2000,
            water=2000,
            start=15 + ZERO,
            boiling_point=boils,
            capacity=capacity,
            latent=boiling.latent_heat(boils),
        )
        return 2 - gone / 1000

    for which, heat in enumerate(("boil", "simmer", "gentle")):
        band(axes, minutes, left(heat), which)
    axes.set_xlim(0, 180)
    axes.set_ylim(0, 2.15)
    axes.set_xticks([0, 30, 60, 90, 120, 150, 180])
    say(axes, 60, 0.5, "full boil", ha="right")
    say(axes, 98, 1.25, "simmer")
    say(axes, 140, 1.56, "gentle")
    return figure


def vitriol_solubility() -> Figure:
    """Draw green vitriol that water holds: measured points and the lines between them."""
    figure, axes = sheet("g FeSO₄ (anhydrous) in 100 g of water", "temperature, °C")
    celsius = np.linspace(0, 90, 181)
    points = np.array(hydrates.solubility_points())
    wide = np.array(
        [
            row(f"iron.solubility.{n}.grams").spread
            for n in ("c0", "c10", "c25", "c40_1", "c54", "c77", "c90_1")
        ]
    )
    line(axes, celsius, hydrates.solubility(celsius + ZERO))
    axes.errorbar(
        points[:, 0] - ZERO,
        points[:, 1],
        yerr=1.645 * wide,
        fmt="o",
        color=INK,
        markersize=4.5,
        elinewidth=1.2,
    )
    axes.set_xlim(-2, 92)
    axes.set_ylim(0, 58)
    say(axes, 28, 24, "FeSO₄·7H₂O is the solid")
    say(axes, 88, 51, "FeSO₄·H₂O", ha="right")
    return figure


def iron_by_ph() -> Figure:
    """Draw what iron(III) is in a mineral liquor, from sour to sourest."""
    figure, axes = sheet("share of the iron(III)", "pH")
    ph, species = _ladder(iron3=0.01, sulfate=0.015)
    names = (
        ("Fe+3",),
        ("FeSO4+", "Fe(SO4)2-", "FeHSO4+2"),
        ("FeOH+2", "Fe(OH)2+", "Fe2(OH)2+4", "Fe3(OH)4+5"),
    )
    for which, group in enumerate(names):
        known = [n for n in group if n in species]
        weight = {"Fe2(OH)2+4": 2, "Fe3(OH)4+5": 3}
        line(axes, ph, sum(weight.get(n, 1) * species[n] for n in known) / 0.01, which)
    axes.set_xlim(1, 3.6)
    axes.set_ylim(0, 1)
    say(axes, 1.36, 0.31, "Fe³⁺ alone")
    say(axes, 1.5, 0.93, "with sulfate")
    say(axes, 3.12, 0.2, "with OH⁻")
    return figure


def _ladder(**totals: float) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """Return pH and species of one liquor as strong acid or alkali is added."""
    strong = np.r_[-np.geomspace(0.25, 1e-4, 90), 0.0, np.geomspace(1e-4, 0.5, 160)]
    found = solve(Totals(strong=strong, **totals))
    order = np.argsort(found.ph)
    return found.ph[order], {k: np.asarray(v)[order] for k, v in found.species.items()}


def binding_by_ph() -> Figure:
    """Draw how much iron(III) phenol groups hold as a liquor turns from sour to mild."""
    figure, axes = sheet("share of the iron(III) held by the phenols", "pH")
    strong = np.r_[-np.geomspace(0.3, 1e-4, 90), 0.0, np.geomspace(1e-4, 0.6, 160)]
    grid = np.linspace(0.8, 4.2, 120)
    for which, (kind, side) in enumerate((("pyrogallol", 0), ("catechol", 1))):
        found = solve(Totals(iron3=0.05, sulfate=0.075, strong=strong, **{kind: 0.15}))
        order = np.argsort(found.ph)
        held = np.asarray(found.bound_iron3()[side])[order] / 0.05
        middle, slope = drawn(f"film.{kind}.midpoint"), drawn(f"film.{kind}.slope")
        law = 1 / (1 + 10 ** (slope * (middle - grid)))
        band(axes, grid, law, which, middle=False)
        line(axes, found.ph[order], held, which)
    axes.set_xlim(0.8, 4.2)
    axes.set_ylim(0, 1.03)
    say(axes, 0.86, 0.78, "galls, leaf:\nthree OH")
    say(axes, 2.78, 0.47, "barks: two OH\nside by side")
    return figure


def which_runs_short() -> Figure:
    """Draw iron held and iron left free, as iron is added to one and the same tannin."""
    figure, axes = sheet("of the capacity: iron held, iron free", "iron : capacity of the tannin")
    ratio = np.linspace(0, 2.5, 251)
    held = binding.bound(ratio, np.ones_like(ratio), drawn("binding.slack"))
    band(axes, ratio, held, 0)
    band(axes, ratio, permanence.free_iron(ratio, held), 1)
    axes.set_xlim(0, 2.5)
    axes.set_ylim(0, 1.6)
    mark(axes, value("permanence.iron_to_capacity.limit"), "counsel's limit", y=1.5)
    mark(axes, value("permanence.iron_to_capacity.risky"), "risky", y=1.5)
    say(axes, 0.3, 0.72, "held", ha="left")
    say(axes, 1.62, 0.42, "free", ha="left")
    return figure


def pot_oxidation() -> Figure:
    """Draw iron(II) turning in an open and in a covered pot of ink."""
    figure, axes = sheet("share of the iron(II) that has turned", "days in the pot")
    days = np.linspace(0, 30, 121)
    rate = drawn("oxidation.pot_rate")
    band(axes, days, extraction.decayed(rate, days * DAY), 0)
    band(axes, days, extraction.decayed(rate * drawn("oxidation.covered"), days * DAY), 1)
    axes.set_xlim(0, 30)
    axes.set_ylim(0, 1.02)
    say(axes, 8, 0.66, "open", ha="left")
    say(axes, 17, 0.16, "covered", ha="left")
    return figure


def darkening_of_a_stroke() -> Figure:
    """Draw how far a stroke has come to its final colour."""
    figure, axes = sheet("share of the final colour", "time since the stroke was laid")
    seconds = np.geomspace(10, 14 * DAY, 160)
    band(
        axes,
        seconds,
        darkening.progress(
            seconds, drawn("darkening.tau"), drawn("darkening.stretch"), drawn("darkening.start")
        ),
        0,
    )
    _logit_lines(
        axes, [10, 60, 600, HOUR, DAY, 7 * DAY], ["10 s", "1 min", "10 min", "1 h", "1 day", "1 week"]
    )
    axes.set_xlim(10, 14 * DAY)
    axes.set_ylim(0, 1.03)
    say(axes, 3 * DAY, 0.62, "nine strokes in ten\nlie in the grey", ha="right", soft=True)
    return figure


def heap() -> Figure:
    """Draw a sulfide weathering: damp in air, and drowned."""
    figure, axes = sheet("share of the marcasite gone", "months, kept damp at 20 °C", left=52)
    months = np.linspace(0, 24, 145)
    seconds = months * 30.44 * DAY
    keen = drawn("heap.marcasite.speed")
    by_bacteria = weathering.weathered(
        seconds, rate=keen * drawn("iron.weathering.season_rate"), lag=drawn("iron.weathering.lag")
    )
    crusts = extraction.decayed(keen * drawn("heap.crust"), seconds)
    band(axes, months, 1 - (1 - by_bacteria) * (1 - crusts), 0)
    line(axes, months, np.median(by_bacteria, axis=0), 1)
    axes.set_xlim(0, 24)
    axes.set_xticks([0, 6, 12, 18, 24])
    axes.set_ylim(0, 1.02)
    say(axes, 14.6, 0.47, "damp, open to the air", ha="right")
    say(axes, 23.6, 0.1, "under water: bacteria alone", ha="right")
    return figure


def mould() -> Figure:
    """Draw gallotannin turned to gallic acid in an open crock, warm and cool."""
    figure, axes = sheet("share of the gallotannin turned to gallic acid", "days in an open crock")
    days = np.linspace(0, 60, 181)
    onset = drawn("spoilage.onset.bark") * DAY
    rate = drawn("extraction.hydrolysis.mould")
    for which, celsius in enumerate((20, 12)):
        speed = extraction.arrhenius(
            1.0, drawn("spoilage.energy"), celsius + ZERO, value("pot.mould.reference")
        )
        mouldy = spoilage.mouldy_seconds(days * DAY, onset=onset, speed=speed)
        band(axes, days, extraction.decayed(rate, mouldy), which)
    axes.set_xlim(0, 60)
    axes.set_ylim(0, 1.02)
    say(axes, 31, 0.6, "20 °C", ha="right")
    say(axes, 46, 0.3, "12 °C", ha="left")
    return figure


def chalk() -> Figure:
    """Draw chalk that a stroke's acid takes, and the chalk that skin and paper offer."""
    figure, axes = sheet("chalk, g to the square metre", "wet film, µm")
    film = np.linspace(2, 80, 79)
    iron = 0.06
    needs = permanence.chalk_needed(
        permanence.acid_per_area(film, iron=iron, protons=drawn("binding.protons.solid")),
        molar_mass=hydrates.molar_mass("CaCO3"),
    )
    for which, kind in ((3, "sheep-parchment"), (2, "rag-paper")):
        low, high = np.percentile(drawn(f"supports.{kind}.chalk"), (5, 95))
        axes.axhspan(low, high, **BANDS[which])
        line(axes, film, np.full_like(film, row(f"supports.{kind}.chalk").value), which)
    band(axes, film, needs, 0)
    axes.set_yscale("log")
    axes.set_yticks([0.01, 0.1, 1, 10], ["0.01", "0.1", "1", "10"])
    axes.minorticks_off()
    axes.set_xlim(2, 80)
    axes.set_ylim(0.008, 22)
    say(axes, 4, 4.2, "parchment offers")
    say(axes, 4, 0.42, "rag paper offers")
    say(axes, 78, 0.155, "the stroke needs", ha="right", va="top")
    return figure
