"""Text of an amount never breaks the reader, and larger amounts read larger."""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from inkhorn.daybook.measures import measures
from inkhorn.errors import InkhornError
from inkhorn.quantities import UNITS, read_quantity

_PIECES = st.sampled_from(
    ["about", "roughly", "a", "half", "third", "of", "the", "-", "to", "and", "between", "±", "in", "%", "/", "1",
     "2.5", "1,5", "1e3", "kg", "ml", "pint", "degC", "°", "h", "finger", "all", "²", "\u0000", "½", "tub", ".", ","]
)  # fmt: skip


@settings(max_examples=600, deadline=None)
@given(
    st.one_of(
        st.text(max_size=60),
        st.lists(_PIECES, max_size=9).map(" ".join),
        st.lists(_PIECES, max_size=9).map("".join),
    ),
    st.lists(st.sampled_from(sorted(UNITS)), min_size=1, max_size=4, unique=True).map(tuple),
)
def test_any_text_is_read_or_refused(text: str, expect: tuple[str, ...]) -> None:
    """What comes out is finite, in one of the dimensions asked for and with a spread, or one of our errors."""
    try:
        found = read_quantity(text, expect=expect, measures=measures())
    except InkhornError:
        return
    assert found.dimension in expect
    assert found.unit == UNITS[found.dimension]
    assert math.isfinite(found.value)
    assert math.isfinite(found.sd)
    assert found.sd >= 0
    assert found.beyond(-3) <= found.value <= found.beyond(3)


@settings(deadline=None)
@given(st.integers(1, 10**6), st.integers(1, 10**6), st.sampled_from(["g", "kg", "oz", "lb"]))
def test_order_is_kept(a: int, b: int, unit: str) -> None:
    """Of two amounts in one unit the larger figure is the larger amount."""
    first, second = (
        read_quantity(f"{n} {unit}", expect=("mass",), measures=measures()).value for n in (a, b)
    )
    assert (first < second) == (a < b)
