"""Orders of flow that no draw may break."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from inkhorn.flow import mixture

LIQUOR = st.fixed_dictionaries(
    {
        "solids": st.floats(0, 30),
        "gum": st.floats(0, 20),
        "gel": st.floats(0, 2),
        "intrinsic": st.floats(0.05, 5),
        "martin": st.floats(0.05, 0.8),
        "solids_coefficient": st.floats(0.005, 0.06),
        "gel_coefficient": st.floats(0.05, 2),
        "activation": st.floats(-3000, 8000),
    }
)


@given(LIQUOR, st.sampled_from(["gum", "gel", "solids"]), st.floats(275, 360))
def test_more_is_never_thinner(liquor: dict[str, float], what: str, kelvin: float) -> None:
    """More gum, gel or solids must never make a liquor thinner."""
    more = liquor | {what: liquor[what] + np.array([0, 0.01, 0.1, 1, 3])}
    out = mixture.viscosity(temperature=kelvin, **more)
    assert (np.diff(out) >= -1e-12 * out[:-1]).all()


@given(LIQUOR)
def test_hotter_is_never_thicker(liquor: dict[str, float]) -> None:
    """Warming from 1 to 95 degC must never make a liquor thicker."""
    out = mixture.viscosity(temperature=np.linspace(274.15, 368.15, 40), **liquor)
    assert (np.diff(out) <= 1e-12 * out[:-1]).all()
