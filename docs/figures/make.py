"""Draw the figures of the manual from the library's own functions and rows: ``make figures``.

With names, only those: ``python docs/figures/make.py darkening camera``.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import chemistry_figures as chemistry
import flow_figures as flow
import optics_figures as optics
from figure_look import write
from matplotlib.figure import Figure

HERE = Path(__file__).parent

#: Each figure's file, without its ending, and what draws it.
FIGURES: Mapping[str, Callable[[], Figure]] = {
    "steeping": chemistry.steeping,
    "crank": chemistry.crank,
    "boiling-down": chemistry.boiling_down,
    "vitriol-solubility": chemistry.vitriol_solubility,
    "iron-by-ph": chemistry.iron_by_ph,
    "binding-by-ph": chemistry.binding_by_ph,
    "which-runs-short": chemistry.which_runs_short,
    "pot-oxidation": chemistry.pot_oxidation,
    "darkening": chemistry.darkening_of_a_stroke,
    "heap": chemistry.heap,
    "mould": chemistry.mould,
    "chalk": chemistry.chalk,
    "water": flow.water_thins,
    "gums": flow.gums,
    "ink-thickness": flow.ink_thickness,
    "wet-film": flow.wet_film,
    "colorants": optics.colorants,
    "brown": optics.brown,
    "film-density": optics.film_density,
    "browning": optics.browning,
    "camera": optics.camera,
    "infrared-index": optics.infrared_index,
    "infrared-odds": optics.infrared_odds,
}


def main(names: list[str]) -> int:
    """Draw the figures named, or all."""
    unknown = set(names) - set(FIGURES)
    if unknown:
        print(f"no such figure: {', '.join(sorted(unknown))}; known are {', '.join(FIGURES)}")
        return 1
    for name in names or FIGURES:
        write(FIGURES[name], HERE / f"{name}.svg")
        print(f"docs/figures/{name}.svg")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
