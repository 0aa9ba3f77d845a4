"""Kubelka and Munk's equations, by another route and in their limits."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from inkhorn.optics import kubelka


class TestKubelkaMunk1931:
    """Z. Tech. Phys. 12 (1931) 593: the differential equation and its closed forms."""

    @pytest.mark.parametrize(
        ("k", "s", "x", "rg"), [(1, 0.5, 1, 0.8), (2, 0.05, 0.5, 0.75), (150, 2, 0.01, 0.75)]
    )
    def test_against_the_differential_equation(self, k: float, s: float, x: float, rg: float) -> None:
        """The closed form must solve ``dR/dX = S - 2 (K + S) R + S R^2`` from the backing up."""
        path = solve_ivp(lambda _, r: s - 2 * (k + s) * r + s * r * r, (0, x), [rg], rtol=1e-11, atol=1e-13)
        ours = kubelka.over(kubelka.layer(absorption=k, scattering=s, thickness=x), rg)
        assert ours == pytest.approx(path.y[0, -1], rel=1e-8)

    @pytest.mark.parametrize(
        "row",
        [
            (1, 0.5, 1, 0.80, 0.213052, 0.161713, 0.236371, 0.171573),
            (2, 0.05, 0.5, 0.75, 0.107987, 0.010626, 0.358859, 0.012197),
            (150, 2, 0.01, 0.75, 0.042316, 0.006264, 0.218732, 0.006579),
        ],
    )
    def test_hyperbolic_form(self, row: tuple[float, ...]) -> None:
        """The values must be those of the usual hyperbolic formula, computed separately to six digits."""
        k, s, x, rg, r, r0, t, deep = row
        layer = kubelka.layer(absorption=k, scattering=s, thickness=x)
        assert layer.reflectance == pytest.approx(r0, abs=6e-7)
        assert layer.transmittance == pytest.approx(t, abs=6e-7)
        assert kubelka.over(layer, rg) == pytest.approx(r, abs=6e-7)
        assert kubelka.infinite(absorption=k, scattering=s) == pytest.approx(deep, abs=6e-7)

    def test_function_of_a_thick_layer(self) -> None:
        """``(1 - R)^2 / 2R`` of the thick layer must give back K/S."""
        deep = kubelka.infinite(absorption=3.0, scattering=0.7)
        assert kubelka.ratio(deep) == pytest.approx(3 / 0.7, rel=1e-12)


class TestKubelka1948:
    """J. Opt. Soc. Am. 38 (1948) 448: layers on layers, and the limits."""

    def test_two_halves_make_a_whole(self) -> None:
        """A layer laid in two halves must reflect as the layer laid at once."""
        whole = kubelka.over(kubelka.layer(absorption=2.0, scattering=1.0, thickness=1.0), 0.6)
        half = kubelka.layer(absorption=2.0, scattering=1.0, thickness=0.5)
        assert kubelka.over(half, kubelka.over(half, 0.6)) == pytest.approx(whole, rel=1e-12)

    def test_clear_layer_is_beer(self) -> None:
        """Without scattering the layer must follow ``Rg exp(-2 K X)`` and reflect nothing itself."""
        layer = kubelka.layer(absorption=np.array([0.0, 0.3, 5]), scattering=0.0, thickness=1.0)
        np.testing.assert_array_equal(layer.reflectance, 0)
        np.testing.assert_allclose(kubelka.over(layer, 0.7), 0.7 * np.exp(-2 * np.array([0.0, 0.3, 5])))

    def test_pure_scatterer(self) -> None:
        """Without absorption nothing is lost: R0 = SX/(1 + SX), and R0 + T = 1."""
        layer = kubelka.layer(absorption=0.0, scattering=3.0, thickness=0.5)
        assert layer.reflectance == pytest.approx(1.5 / 2.5, rel=1e-12)
        assert layer.reflectance + layer.transmittance == pytest.approx(1, rel=1e-12)

    def test_very_thick(self) -> None:
        """A layer a million deep must reach its limit without overflow."""
        layer = kubelka.layer(absorption=1.0, scattering=1.0, thickness=1e6)
        assert layer.reflectance == pytest.approx(kubelka.infinite(absorption=1.0, scattering=1.0), rel=1e-12)
        assert layer.transmittance == 0
