"""The truth's own laws against their defining equations and published limits, and its independence."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

import inkhorn.simulate
from inkhorn.simulate import nature, optics
from inkhorn.simulate.draws import Draws
from inkhorn.simulate.liquor import Liquor, water_density

FORBIDDEN = {"chemistry", "flow", "optics", "imaging", "replay", "estimate", "counsel", "compare", "workshop"}


def test_the_truth_imports_nothing_that_estimates() -> None:
    """No module of the floor imports the model whose answers it is to judge."""
    for path in Path(inkhorn.simulate.__path__[0]).glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            for name in names:
                parts = name.split(".")
                assert not (parts[0] == "inkhorn" and len(parts) > 1 and parts[1] in FORBIDDEN), (
                    path.name,
                    name,
                )


def test_layer_solves_the_kubelka_munk_equations() -> None:
    """A layer's reflectance is that of the two-flux equations integrated step by step.

    Source: P. Kubelka and F. Munk, Zeitschrift fuer technische Physik 12 (1931) 593:
    dR/dx = S - 2 (K + S) R + S R^2, from the backing's R at x = 0.
    """
    film = optics.Film(blue=2e-9, green=1e-9, rust=1e-9, brown=1e-7, tan=1e-6, solids=1e-5)
    pigments = optics.Pigments.of(Draws(seed=1))
    back = np.linspace(0.4, 0.8, 81)
    got = optics._layer(film, 30.0, back, pigments, 1.0)
    absorbed = film.blue * pigments.blue + film.green * pigments.green + film.rust * pigments.rust
    absorbed = absorbed + film.brown * pigments.brown + film.tan * pigments.tan
    k, s = np.log(10) * 1000 * 30 * absorbed, pigments.scatter * film.solids * 30
    run = solve_ivp(lambda _, r: s - 2 * (k + s) * r + s * r * r, (0, 1), back, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(got, run.y[:, -1], rtol=1e-6)


def test_a_perfect_white_is_the_white_of_d65() -> None:
    """Reflectance one everywhere has Lab 100, 0, 0 (CIE 15, ISO/CIE 11664-4; white of D65 and 2 degrees)."""
    lab = optics.bare_lab(np.ones(81))
    np.testing.assert_allclose(lab, [100, 0, 0], atol=0.05)


def test_isotherm_keeps_the_mass_balance_and_its_limits() -> None:
    """Iron on sites and free adds up; nothing is held beyond the sites; little iron is nearly all held."""
    laws = {"hold_blue": 30.0, "hold_green": 8.0, "hill": 0.9}
    for iron in (1e-6, 0.02, 0.1, 1.0, 100.0):
        ends = nature.bind(iron, 0.08, 0.02, **laws)
        assert ends.blue + ends.green + ends.free == pytest.approx(iron, rel=1e-9)
        assert ends.blue < 0.08
        assert ends.green < 0.02
    assert nature.bind(1e-3, 0.08, 0.02, **laws).free < 1e-4
    assert nature.bind(1.0, 0.0, 0.0, **laws).free == 1.0


def test_thickness_has_einsteins_limit() -> None:
    """A thin suspension thickens by 2.5 times its volume share (A. Einstein, Annalen der Physik 19 (1906) 289)."""
    n = Draws(seed=2)
    water = Liquor(temperature=20.0)
    water.gain(water=1000.0)
    thin = Liquor(temperature=20.0, swell={"arabic": 6.0})
    thin.gain(water=1000.0, arabic=0.1)
    share = 0.1 * 6.0 / nature.millilitres(thin, n)
    gain = nature.viscosity(thin, n) / nature.viscosity(water, n) - 1.0
    assert gain == pytest.approx(2.5 * share, rel=0.01)


def test_water_is_water() -> None:
    """Viscosity and density of plain water (IAPWS R12-08 and R6-95: 1.0016 mPa s and 0.9982 g/ml at 20 degC)."""
    n = Draws(seed=2)
    assert nature.water_viscosity(20.0, n) == pytest.approx(1.0016, rel=0.01)
    assert nature.water_viscosity(45.0, n) == pytest.approx(0.5958, rel=0.01)
    assert water_density(20.0) == pytest.approx(0.9982, abs=5e-4)
    assert water_density(95.0) == pytest.approx(0.9619, abs=3e-3)


def test_acid_balance_in_known_waters() -> None:
    """Pure water has pH 7, and 0.01 mol/L hydrochloric acid pH 2, by the definition of pH."""
    n = Draws(seed=2)
    plain, sour = Liquor(), Liquor()
    plain.gain(water=1000.0)
    sour.gain(water=1000.0, chloride=0.01)
    assert nature.ph(plain, n) == pytest.approx(7.0, abs=0.01)
    assert nature.ph(sour, n) == pytest.approx(2.0, abs=0.02)
