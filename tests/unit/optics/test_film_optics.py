"""The film, its surface and what is seen of it."""

from __future__ import annotations

import time

import numpy as np
import pytest

from inkhorn.colour.lab import linear_to_lab, xyz_to_lab
from inkhorn.handbook.load import value
from inkhorn.optics import film, kubelka, observe, support
from inkhorn.optics.spectra import WAVELENGTHS, Curves, W, curves, shapes

K1, K2 = value("optics.surface.k1"), value("optics.surface.k2")
SKIN = support.reflectance([86.0, 1.0, 14.0])


@pytest.mark.parametrize(
    ("inner", "seen"),
    [(0, 0.04), (0.05, 0.059794), (0.2, 0.127273), (0.5, 0.314286), (0.75, 0.563636), (1, 1)],
)
def test_saunderson(inner: float, seen: float) -> None:
    """Saunderson's correction (J. Opt. Soc. Am. 32 (1942) 727) for k1 .04, k2 .6, and its inverse."""
    assert film.outside(inner, 0.04, 0.6) == pytest.approx(seen, abs=6e-7)
    assert film.inside(film.outside(inner, 0.04, 0.6), 0.04, 0.6) == pytest.approx(inner, abs=1e-12)


def test_saunderson_is_the_sum_of_the_bounces() -> None:
    """The closed form must be the sum of every bounce of the light below the surface."""
    r, k1, k2 = 0.7, 0.04, 0.6
    bounces = sum((1 - k1) * r * (k2 * r) ** n * (1 - k2) for n in range(200))
    assert film.outside(r, k1, k2) == pytest.approx(k1 + bounces, rel=1e-12)


def test_no_ink_is_the_bare_support() -> None:
    """Without ink the bare support must come back exactly."""
    np.testing.assert_allclose(film.reflectance(np.zeros(W), SKIN, K1, K2), SKIN, rtol=1e-12)


def test_endless_ink_is_the_gleam() -> None:
    """However much ink, what is seen must be what the surface mirrors: L* = 116 x 0.04^(1/3) - 16 for 4 %."""
    seen = film.reflectance(np.full(W, 50.0), SKIN, 0.04, K2)
    np.testing.assert_allclose(observe.lab(seen), [116 * 0.04 ** (1 / 3) - 16, 0, 0], atol=1e-3)


def test_without_surface_it_is_beer_twice() -> None:
    """With no surface the film must be Beer's law twice over: eps 3000, 0.02 mol/L, 20 um, Rg 0.75.

    A = 0.12, R = 0.4316, D = 0.3649 (Beer-Lambert, there and back).
    """
    flat = Curves(gallate=np.full(W, 3000.0), catecholate=np.zeros(W), brown=np.zeros(W))
    areal = 0.02 * 0.002 / 1000
    absorbance = film.absorbance(gallate=areal, curves=flat)
    assert absorbance == pytest.approx(np.full(W, 0.12))
    seen = film.reflectance(absorbance, np.full(W, 0.75), 0, 0)
    assert seen == pytest.approx(np.full(W, 0.4316), abs=5e-5)
    assert -np.log10(seen[0]) == pytest.approx(0.3649, abs=5e-5)


def test_clear_film_agrees_with_kubelka() -> None:
    """The film must be the clear limit of a scattering layer of K = 2.303 A on the same support."""
    a = np.full(W, 0.3)
    layer = kubelka.layer(absorption=np.log(10) * a, scattering=1e-13, thickness=1.0)
    np.testing.assert_allclose(film.reflectance(a, SKIN, 0, 0), kubelka.over(layer, SKIN), rtol=1e-9)


def test_reference_film_colours() -> None:
    """A Gaussian and an exponential band on a known skin must give independently computed colours.

    A(nm) = a exp(-4 ln2 ((nm - 570)/230)^2) + b exp(-(nm - 400)/140) as *density* (there and back),
    skin .80 - .48 exp(-(nm - 400)/110), 400-700 nm; computed with colour-science's observer and a
    white of the same bands. Tolerance 0.35: ours runs to 380 and 730 nm.
    """
    nm = np.arange(380, 731, 10.0)
    skin = support.skin_shape(top=0.80, fall=0.48, width=110)
    np.testing.assert_allclose(observe.lab(skin), [85.8, -1.0, 16.3], atol=0.35)
    for a, b, expected in (
        (0.2, 0, (60.9, 6.4, -3.3)),
        (0.2, 0.5, (43.9, 9.4, 21.8)),
        (0.5, 0.5, (23.4, 11.0, 4.0)),
    ):
        single = a * np.exp(-4 * np.log(2) * ((nm - 570) / 230) ** 2) + b * np.exp(-(nm - 400) / 140)
        np.testing.assert_allclose(observe.lab(film.reflectance(single, skin, 0, 0)), expected, atol=0.5)


def test_amounts_add() -> None:
    """The absorbance of a mixture must be the sum of its parts (Beer), draw by draw."""
    g, c, b = np.array([1e-7, 2e-7]), np.array([3e-8, 0]), np.array([0, 1e-5])
    whole = film.absorbance(gallate=g, catecholate=c, brown=b, curves=curves())
    parts = (
        film.absorbance(gallate=g, curves=curves())
        + film.absorbance(gallate=0, catecholate=c, curves=curves())
        + film.absorbance(gallate=0, brown=b, curves=curves())
    )
    assert whole.shape == (2, W)
    np.testing.assert_allclose(whole, parts, rtol=1e-12)


def test_curves_peak_where_the_handbook_says() -> None:
    """The scale rows must be the curves' values at their marks: the peaks, and 400 nm for the brown."""
    visible = WAVELENGTHS >= 500
    assert shapes().gallate[visible].max() == pytest.approx(1, abs=1e-3)
    assert curves().gallate[visible].max() == pytest.approx(value("optics.scale.gallate"), rel=1e-3)
    assert curves().catecholate.max() == pytest.approx(value("optics.scale.catecholate"), rel=1e-3)
    assert curves().brown[2] == pytest.approx(value("optics.scale.brown"), rel=1e-6)


def test_surface_constants_may_be_draws() -> None:
    """One surface constant a draw must give row k the value of draw k, on one or many supports."""
    a = np.random.default_rng(0).uniform(0, 1, (6, W))
    k1 = np.linspace(0.02, 0.06, 6)
    many = film.reflectance(a, SKIN, k1, K2)
    own = film.reflectance(a, np.tile(SKIN, (6, 1)), k1, np.full(6, K2))
    np.testing.assert_allclose(many, own, rtol=1e-12)
    np.testing.assert_allclose(many[4], film.reflectance(a[4], SKIN, float(k1[4]), K2), rtol=1e-12)
    spread = film.reflectance(a[0], SKIN, k1, K2)
    np.testing.assert_allclose(spread[4], film.reflectance(a[0], SKIN, float(k1[4]), K2), rtol=1e-12)


def test_absorbance_is_not_overwritten() -> None:
    """The working in place must not reach the caller's arrays."""
    a, skin = np.full((3, W), 0.4), SKIN.copy()
    film.reflectance(a, skin, K1, K2)
    assert (a == 0.4).all()
    assert (skin == SKIN).all()


def test_density_is_zero_on_bare_skin_and_inverts() -> None:
    """Bare skin must have density 0 in each channel; a density must give its channels back."""
    bare = observe.linear_rgb(SKIN)
    np.testing.assert_array_equal(observe.channel_density(bare, bare), 0)
    wanted = np.array([[0.8, 0.9, 0.7], [0.1, 0.0, 0.3]])
    np.testing.assert_allclose(observe.channel_density(observe.from_density(wanted, bare), bare), wanted)


def test_density_of_colours_outside_the_gamut_is_finite() -> None:
    """A channel at or below zero must give a large finite density, never NaN."""
    out = observe.channel_density([[-0.01, 0.0, 0.2]], [0.8, 0.7, 0.5])
    assert np.isfinite(out).all()
    assert out[0, 0] == pytest.approx(np.log10(0.8 / observe.FLOOR))


def test_lab_and_rgb_agree() -> None:
    """Lab by XYZ and by linear sRGB must be the same colour."""
    r = np.random.default_rng(2).uniform(0, 1, (10, W))
    from_xyz = xyz_to_lab(observe.xyz(r))
    np.testing.assert_allclose(observe.lab(r), from_xyz)


def test_draws_are_fast() -> None:
    """4,096 draws from amounts to Lab and density must take well under 60 ms, the slowest of fair machines."""
    g = np.random.default_rng(0).lognormal(-16, 0.5, 4096)
    best = np.inf
    for _ in range(5):
        start = time.perf_counter()
        seen = film.reflectance(film.absorbance(gallate=g, brown=100 * g, curves=curves()), SKIN, K1, K2)
        observe.lab(seen)
        observe.channel_density(observe.linear_rgb(seen), observe.linear_rgb(SKIN))
        best = min(best, time.perf_counter() - start)
    assert best < 0.06


def test_iron_with_catechols_kind_looks_green() -> None:
    """Iron with catechol's kind looks green-black (common practice): it takes red and violet light, and least green.

    One catechol an iron has bands near 759 and 406 nm, two one near 575 (Sever and Wilker, Dalton Trans. 2004, 1061, from
    memory).
    """
    bare = np.full(W, 0.8)
    none = np.zeros(1)
    pale = film.absorbance(gallate=none, catecholate=np.full(1, 1e-7), brown=none, curves=curves())
    gall = film.absorbance(gallate=np.full(1, 6e-8), catecholate=none, brown=none, curves=curves())
    looks = [linear_to_lab(observe.linear_rgb(bare * 10.0 ** (-2.0 * a))).ravel() for a in (pale, gall)]
    assert looks[0][1] < min(looks[1][1], 0)
    shape, seen = shapes().catecholate, (WAVELENGTHS > 420) & (WAVELENGTHS < 640)
    assert 470 <= WAVELENGTHS[seen][shape[seen].argmin()] <= 540
