"""Daybooks for tests: entries from JSON as the store would give them back."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from inkhorn.daybook.book import Recorded, effective
from inkhorn.daybook.wire import decode


def recorded(entries: Iterable[dict[str, Any]]) -> tuple[Recorded, ...]:
    """Return effective entries, numbered from 1 in the order given."""
    when = datetime(2026, 9, 30, tzinfo=UTC)
    kept = [
        Recorded(number=i, entry=decode(raw), raw=raw, recorded_at=when)
        for i, raw in enumerate(entries, start=1)
    ]
    return effective(kept)


def standard_ink() -> list[dict[str, Any]]:
    """Return the US government standard writing ink, for one litre, as weighed ingredients.

    Source: C. E. Waters, Inks, National Bureau of Standards Circular C413, 1936:
    tannic acid 11.7 g, gallic acid crystals 3.8 g, ferrous sulfate 15.0 g, dilute
    hydrochloric acid 12.5 g, water to 1000 ml. (Phenol 1.0 g and soluble blue dye 3.5 g,
    which the maker of an ink today leaves out, carry no iron and hardly any acid.)
    """
    day = "1936-01-02T09:"
    return [
        {"at": day + "00", "kind": "add", "into": "jar", "liquid": "water", "amount": "800 ml"},
        {"at": day + "05", "kind": "add", "into": "jar", "lot": "tannic-acid", "amount": "11.7 g"},
        {"at": day + "10", "kind": "add", "into": "jar", "lot": "gallic-acid-monohydrate", "amount": "3.8 g"},
        {
            "at": day + "15",
            "kind": "add",
            "into": "jar",
            "lot": "ferrous-sulfate-heptahydrate",
            "amount": "15.0 g",
        },
        {"at": day + "20", "kind": "add", "into": "jar", "lot": "hydrochloric-acid-10", "amount": "12.5 g"},
        {"at": day + "25", "kind": "add", "into": "jar", "liquid": "water", "up_to": "1000 ml"},
    ]
