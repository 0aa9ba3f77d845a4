"""Crank's diffusion solutions against published values."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from inkhorn.chemistry.diffusion import (
    crank_cylinder,
    crank_limited,
    crank_slab,
    crank_sphere,
    fourier_number,
)


class TestPolymerLibraryDoctests:
    """Doctest values of the polykin library (transport.diffusion), which cites Crank 1975."""

    @pytest.mark.parametrize(
        ("shape", "a", "diffusivity", "seconds", "expected"),
        [
            (crank_slab, 0.2e-3, 1e-10, 100.0, 0.562233541762138),
            (crank_slab, 0.2e-3, 1e-11, 500.0, 0.398927989884568),
            (crank_sphere, 0.2e-3, 1e-10, 100.0, 0.9484368978658284),
            (crank_sphere, 0.1e-3, 1e-11, 100.0, 0.770478738025963),
        ],
    )
    def test_value(self, shape, a, diffusivity, seconds, expected):
        """Sheet and sphere agree with the library's printed digits."""
        got = shape(fourier_number(diffusivity, seconds, a))
        assert float(got) == pytest.approx(expected, rel=2e-12)


class TestCrankTables:
    """Crank, The Mathematics of Diffusion (1975): the series of pp. 48, 57, 73, 91.

    The numbers were summed with 4000 terms, independently of the code under test.
    """

    @pytest.mark.parametrize(
        ("fo", "slab", "cylinder", "sphere"),
        [
            (0.005, 0.0798, 0.1545, 0.2244),
            (0.01, 0.1128, 0.2155, 0.3085),
            (0.02, 0.1596, 0.2986, 0.4187),
            (0.05, 0.2523, 0.4521, 0.6069),
            (0.1, 0.3568, 0.6058, 0.7705),
            (0.2, 0.5041, 0.7821, 0.9155),
            (0.3, 0.6132, 0.8780, 0.9685),
            (0.5, 0.7640, 0.9616, 0.9956),
            (1.0, 0.9313, 0.9979, 1.0000),
        ],
    )
    def test_infinite_bath(self, fo, slab, cylinder, sphere):
        """Slab, cylinder and sphere agree with the table to its last digit."""
        assert float(crank_slab(fo)) == pytest.approx(slab, abs=6e-5)
        assert float(crank_cylinder(fo)) == pytest.approx(cylinder, abs=6e-5)
        assert float(crank_sphere(fo)) == pytest.approx(sphere, abs=6e-5)

    @pytest.mark.parametrize(
        ("fo", "alpha", "expected"),
        [
            (0.005, 9, 0.0880),
            (0.01, 9, 0.1242),
            (0.05, 9, 0.2743),
            (0.1, 9, 0.3844),
            (0.5, 9, 0.7933),
            (0.005, 4, 0.0982),
            (0.05, 4, 0.3004),
            (0.2, 4, 0.5726),
            (0.005, 1, 0.1501),
            (0.01, 1, 0.2071),
            (0.1, 1, 0.5528),
            (0.5, 1, 0.9165),
        ],
    )
    def test_limited_bath(self, fo, alpha, expected):
        """A slab in a limited stirred liquor agrees with the table."""
        assert float(crank_limited(fo, alpha)) == pytest.approx(expected, abs=6e-5)

    @pytest.mark.parametrize(
        ("shape", "half", "nine_tenths"),
        [(crank_slab, 0.1967, 0.8481), (crank_cylinder, 0.0631, 0.3344), (crank_sphere, 0.0305, 0.1830)],
    )
    def test_half_and_nine_tenths(self, shape, half, nine_tenths):
        """Fourier numbers of half and nine tenths out."""
        assert float(shape(half)) == pytest.approx(0.5, abs=5e-4)  # Fo has 3 digits
        assert float(shape(nine_tenths)) == pytest.approx(0.9, abs=3e-4)

    def test_hours_for_bark_and_galls(self):
        """A 4 mm strip with D 1e-10 is half out in 2.19 h; a gall of 8 mm radius 90 % out in 1.36 days."""
        assert float(crank_slab(fourier_number(1e-10, 2.19 * 3600, 2e-3))) == pytest.approx(0.5, abs=1e-3)
        assert float(crank_sphere(fourier_number(1e-10, 1.36 * 86400, 8e-3))) == pytest.approx(0.9, abs=1e-3)


class TestDiffusionEquation:
    """The diffusion equation itself, solved on a grid: not the series, so a wrong series fails."""

    def test_sphere_by_finite_differences(self):
        """The radial equation dc/dt = (1/r^2) d(r^2 dc/dr)/dr gives the sphere's curve."""
        n = 150
        edges = np.linspace(0.0, 1.0, n + 1)
        volumes = (edges[1:] ** 3 - edges[:-1] ** 3) / 3
        h = edges[1] - edges[0]

        def rhs(_t, c):
            flux = np.zeros(n + 1)
            flux[1:-1] = edges[1:-1] ** 2 * (c[1:] - c[:-1]) / h
            flux[-1] = -c[-1] / (h / 2)
            return (flux[1:] - flux[:-1]) / volumes

        times = [0.02, 0.1, 0.2]
        out = solve_ivp(rhs, (0, 0.2), np.ones(n), method="BDF", t_eval=times, rtol=1e-6, atol=1e-8)
        left = (out.y * volumes[:, None]).sum(0) * 3
        assert np.allclose(crank_sphere(np.array(times)), 1 - left, atol=4e-4)
