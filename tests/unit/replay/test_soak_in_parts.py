"""A soak in several parts draws what one soak of the same length does."""

from __future__ import annotations

from typing import Any

import pytest

from support.replays import played

LEAF: list[dict[str, Any]] = [
    {"at": "2026-09-12T10:00", "kind": "gather", "lot": "leaf", "material": "sumac leaf", "amount": "500 g"},
    {"at": "2026-09-12T10:15", "kind": "steep", "lot": "leaf", "amount": "200 g", "liquid": "spring water",
     "liquid_amount": "2 L", "into": "tub", "for": "18 h", "temperature": "17 degC", "pieces": "crushed"},
]  # fmt: skip


def drawn(*more: dict[str, Any]) -> float:
    """Return the gallotannin in the tub at the end, g."""
    world, _ = played([*LEAF, *more])
    return float(world.vessels["tub"].liquor["gallotannin"][0])


def test_looking_into_a_tub_draws_nothing() -> None:
    """Five looks at a steep within ten minutes leave its tannin as it is: only time draws it out."""
    looks = [
        {"at": f"2026-09-13T04:{16 + 2 * i}", "kind": "rest", "vessel": "tub", "for": "1 min"}
        for i in range(5)
    ]
    assert drawn(*looks) == pytest.approx(drawn(), rel=1e-3)


def test_fresh_water_rinses_again() -> None:
    """Marc steeped a second time gives its quick share again."""
    world, _ = played([
        *LEAF,
        {"at": "2026-09-13T05:00", "kind": "strain", "vessel": "tub", "into": "pot"},
        {"at": "2026-09-13T05:05", "kind": "steep", "marc_of": "tub", "liquid": "spring water", "liquid_amount": "2 L",
         "into": "tub", "for": "1 min"},
    ])  # fmt: skip
    assert float(world.vessels["tub"].liquor["gallotannin"][0]) > 0.1 * drawn()
