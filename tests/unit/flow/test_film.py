"""Films, lines and soaking."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.flow import film


def test_reference_conditions_give_the_base() -> None:
    """At the reference viscosity and width the film must be the handbook's."""
    out = film.wet_thickness(base=20, viscosity=2.5, reference_viscosity=2.5, exponent=0.3)
    assert out == 20


def test_landau_levich_exponent() -> None:
    """With exponent 2/3 eight times the viscosity must lay four times the film (Landau, Levich 1942)."""
    out = film.wet_thickness(base=10, viscosity=8, reference_viscosity=1, exponent=2 / 3)
    assert out == pytest.approx(40)


def test_half_circle_cap() -> None:
    """Edges that stand upright make half a circle: mean thickness ``pi w / 8``."""
    assert film.cap_thickness(width=0.6, contact_angle=np.pi / 2) == pytest.approx(600 * np.pi / 8)


def test_flat_cap() -> None:
    """A nearly flat line must approach ``w th / 6`` (the limit of the circle's segment)."""
    assert film.cap_thickness(width=0.6, contact_angle=1e-3) == pytest.approx(600 * 1e-3 / 6, rel=1e-5)


def test_ink_for_a_metre() -> None:
    """A line 0.6 mm wide and 20 um thick must hold 12 ul for each metre."""
    assert film.ink_per_metre(width=0.6, thickness=20) == pytest.approx(12)


def test_solids_for_an_area() -> None:
    """20 um of ink with 10 g of iron a litre must leave 20 ug of iron on each cm2."""
    assert film.solids_per_area(thickness=20, concentration=0.01) == pytest.approx(20e-6)


def test_washburn_scaling() -> None:
    """Four times the time must soak twice as far (Washburn 1921), a liquid that does not wet not at all."""
    common = {"viscosity": 3.0, "surface_tension": 55.0, "pore_radius": 0.1}
    one = film.soak_distance(seconds=1, contact_angle=np.pi / 3, **common)
    assert film.soak_distance(seconds=4, contact_angle=np.pi / 3, **common) == pytest.approx(2 * one)
    assert film.soak_distance(seconds=1, contact_angle=2.0, **common) == 0
    assert one == pytest.approx(np.sqrt(55e-3 * 0.1e-6 * 0.5 / (2 * 3e-3)) * 1e6)


def test_drying() -> None:
    """20 um under 0.5 mm of still air at half humidity must dry in about three quarters of a minute.

    Fick's law in SI: 2.5e-5 m2/s x 0.0173 kg/m3 x 0.5 / 0.5e-3 m = 4.3e-4 kg/m2/s.
    """
    seconds = film.drying_time(thickness=20, diffusivity=25, saturation=17.3, humidity=0.5, layer=0.5)
    assert seconds == pytest.approx(0.020 / (2.5e-5 * 0.0173 * 0.5 / 0.5e-3), rel=1e-9)
    assert film.spread_width(pen_width=0.6, soak=10) == pytest.approx(0.62)
