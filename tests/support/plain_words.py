"""Vessels of known shape for tests of words."""

from __future__ import annotations

from datetime import datetime

from inkhorn.daybook.inventory import Thing
from inkhorn.quantities import Quantity


def vessel(capacity: float, depth: float | None) -> Thing:
    """Return a vessel of so many ml and so many mm of inner depth."""
    return Thing(
        name="pot",
        sort="vessel",
        created_by=1,
        at=datetime(2026, 9, 12),  # noqa: DTZ001
        capacity=_exact(capacity, "ml", "volume"),
        depth=None if depth is None else _exact(depth, "mm", "length"),
    )


def _exact(value: float, unit: str, dimension: str) -> Quantity:
    return Quantity(text="", value=value, unit=unit, sd=0.0, dimension=dimension, how="exact")
