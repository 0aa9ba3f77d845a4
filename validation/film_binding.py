"""Fit the two-parameter law of iron(III) binding against pH that the replay uses for films.

The law is ``share = 1 / (1 + 10**(slope (midpoint - pH)))``, one for each class
of phenol. Here the whole speciation is solved (handbook constants: iron(III)
catecholates after Avdeef and others 1978, galloyl groups by linear free
energy, see docs/explanation/chemistry.md) for inks of usual strength, their pH
moved by strong acid or base, and the law is fitted to the share
of iron(III) that is bound. Run with ``python validation/film_binding.py``; the
figures printed are those of the rows ``film.pyrogallol.*`` and
``film.catechol.*``, the spread being that over strengths and over one standard
deviation of the constants.
"""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry.equilibria import handbook_equilibria
from inkhorn.chemistry.speciation import Totals, solve
from inkhorn.handbook.load import row

STRENGTHS = (0.03, 0.06, 0.12)  # iron, mol/kg: 1.7 to 6.7 g/L
RATIOS = (4.0, 8.0)  # phenol groups for each iron: which reagent limits is another law (binding.bound)
CLASSES = {"pyrogallol": "FePg", "catechol": "FeCat"}


def curve(kind: str, iron: float, ratio: float, shift: float) -> tuple[np.ndarray, np.ndarray]:
    """Return pH and the share of iron(III) bound, as strong acid gives way to base."""
    base = np.linspace(-4 * iron, 3 * iron + 2 * ratio * iron, 400)
    system = handbook_equilibria()
    names = [s for s in system.species if s.startswith(CLASSES[kind])]
    constants = system.changed({s: row(f"speciation.species.{s}.log_k").value + shift * row(f"speciation.species.{s}.log_k").spread for s in names})  # fmt: skip
    got = solve(
        Totals(
            iron3=iron,
            sulfate=1.5 * iron + np.maximum(-base, 0) / 2,
            strong=np.maximum(base, 0),
            **{kind: ratio * iron},
        ),
        constants=constants,
    )
    pyro, cat = got.bound_iron3()
    return got.ph, (pyro if kind == "pyrogallol" else cat) / iron


def fit(ph: np.ndarray, share: np.ndarray) -> tuple[float, float]:
    """Return midpoint and slope of the law, by least squares of the logit between 5 and 95 %."""
    inside = (share > 0.05) & (share < 0.95) & (ph < 4)
    logit = np.log10(share[inside] / (1 - share[inside]))
    slope, start = np.polyfit(ph[inside], logit, 1)
    return -start / slope, slope


def main() -> None:
    """Print every fit, and the median and spread of each class."""
    for kind in CLASSES:
        found = []
        for iron in STRENGTHS:
            for ratio in RATIOS:
                for shift in (-1.0, 0.0, 1.0):
                    middle, slope = fit(*curve(kind, iron, ratio, shift))
                    found.append((middle, slope))
                    print(
                        f"{kind:11} iron {iron:.2f} ratio {ratio:.0f} constants {shift:+.0f} sd: {middle:5.2f} {slope:5.2f}"
                    )
        middle, slope = np.median(found, axis=0)
        spread = np.std(found, axis=0)
        print(f"{kind}: midpoint {middle:.2f} +- {spread[0]:.2f}, slope {slope:.2f} +- {spread[1]:.2f}\n")


if __name__ == "__main__":
    main()
