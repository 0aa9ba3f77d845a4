"""Orders of colour that no draw may break."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from inkhorn.optics import film, observe, support
from inkhorn.optics.spectra import curves

SKINS = support.reflectance([[92.0, 0, 8], [86, 1, 14], [72, 5, 25], [89, 0.8, 11]])


@settings(deadline=None)
@given(
    ink=st.tuples(st.floats(0, 1e-6), st.floats(0, 1e-6), st.floats(0, 1e-3)),
    skin=st.integers(0, 3),
    k1=st.floats(0, 0.08),
    k2=st.floats(0, 0.8),
)
def test_thicker_is_never_paler(ink: tuple[float, float, float], skin: int, k1: float, k2: float) -> None:
    """A thicker film of the same ink must never be lighter or less dense, at any wavelength or channel."""
    gallate, catecholate, brown = ink
    times = np.linspace(0, 3, 13)
    a = film.absorbance(
        gallate=gallate * times, catecholate=catecholate * times, brown=brown * times, curves=curves()
    )
    seen = film.reflectance(a, SKINS[skin], k1, k2)
    assert (np.diff(seen, axis=0) <= 1e-15).all()
    assert (np.diff(observe.lab(seen)[:, 0]) <= 1e-9).all()
    np.testing.assert_allclose(seen[0], SKINS[skin], atol=1e-12 if k1 < SKINS[skin].min() else 1)


@settings(deadline=None)
@given(st.floats(0, 2), st.floats(0.01, 0.08), st.floats(0, 0.8), st.integers(0, 3))
def test_what_is_seen_stays_between_the_gleam_and_the_skin(
    absorbance: float, k1: float, k2: float, skin: int
) -> None:
    """No film may be darker than the surface's gleam or lighter than the bare support."""
    seen = film.reflectance(np.full(36, absorbance), SKINS[skin], k1, k2)
    assert (seen >= k1 - 1e-15).all()
    assert (seen <= SKINS[skin] + 1e-12).all()
