"""Drop weights."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.flow import drops
from inkhorn.handbook.grids import grid

TABLE = {"ratios": grid("harkins_brown")["ratio"], "factors": grid("harkins_brown")["factor"]}


def test_pharmacopoeia_dropper() -> None:
    """A 3 mm tip must give twenty drops of water weighing 1.00 +- 0.05 g at 20 degC.

    The normal drop counter of the European Pharmacopoeia, chapter 2.1.1 (from memory).
    """
    one = drops.drop_mass(radius=1.5, surface_tension=72.74, density=0.9982, **TABLE)
    assert 20 * one / 1000 == pytest.approx(1.00, abs=0.06)


def test_answer_satisfies_the_law() -> None:
    """The mass found must satisfy ``m = m0 f(r / V^(1/3))``, whatever the starting guess."""
    r = np.linspace(0.8, 3, 12)
    mass = drops.drop_mass(radius=r, surface_tension=55, density=1.04, **TABLE)
    f = np.interp(r / np.cbrt(mass / 1.04), TABLE["ratios"], TABLE["factors"])
    np.testing.assert_allclose(mass, drops.ideal_mass(radius=r, surface_tension=55) * f, rtol=1e-9)


def test_less_tension_lighter_drops() -> None:
    """From the same tip a liquid of lower surface tension must fall in lighter drops."""
    mass = drops.drop_mass(radius=2.0, surface_tension=np.array([72.7, 60, 50]), density=1.02, **TABLE)
    assert (np.diff(mass) < 0).all()
