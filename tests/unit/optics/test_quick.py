"""The quick way through a film is the plain way, only quicker."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.optics import film, observe, quick, spectra
from inkhorn.optics import support as support_optics


@pytest.mark.parametrize(("n", "lightness"), [(1, 84.0), (511, 84.0), (512, 84.0), (1300, 84.0), (700, 12.0)])
def test_the_blocks_give_what_the_plain_way_gives(n: int, lightness: float) -> None:
    """Whatever the number of draws, and on a support darker than its gleam, the linear channels agree to twelve digits with film and observer."""
    rng = np.random.default_rng(5)
    amounts = {
        name: rng.uniform(0, top, n)
        for name, top in (("gallate", 3e-4), ("catecholate", 3e-4), ("brown", 1e-3))
    }
    k1, k2 = rng.uniform(0.02, 0.06, n), rng.uniform(0.4, 0.6, n)
    bare = support_optics.reflectance(np.array([lightness, 1.5, 4.0]))
    plain = observe.linear_rgb(
        film.reflectance(film.absorbance(**amounts, curves=spectra.shapes()), bare, k1, k2)
    )
    np.testing.assert_allclose(quick.linear_rgb(**amounts, support=bare, k1=k1, k2=k2), plain, rtol=1e-12)


def test_no_ink_gives_the_bare_support() -> None:
    """With nothing on it the support looks as it was measured."""
    none, bare = np.zeros(3), support_optics.reflectance(np.array([86.0, 0.8, 14.0]))
    seen = quick.linear_rgb(
        gallate=none, catecholate=none, brown=none, support=bare, k1=np.full(3, 0.04), k2=np.full(3, 0.5)
    )
    np.testing.assert_allclose(seen, np.tile(observe.linear_rgb(bare), (3, 1)), rtol=1e-12)
