"""A page whose own letters differ is matched by whatever lies among them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import attrs
import pytest

import inkhorn
from inkhorn.counsel import advise
from inkhorn.counsel.trial_run import Table

# An invented pot, small so that it is estimated quickly.
ENTRIES: list[dict[str, Any]] = [
    {"at": "2026-09-12T10:05", "kind": "gather", "lot": "sumac-leaf", "material": "sumac leaf", "amount": "500 g"},
    {"at": "2026-09-12T10:15", "kind": "steep", "lot": "sumac-leaf", "amount": "160 g", "liquid": "spring water", "liquid_amount": "about 1.5 L", "into": "pot", "for": "18 h", "temperature": "17 degC"},
    {"at": "2026-09-13T05:00", "kind": "strain", "vessel": "pot", "into": "pot"},
    {"at": "2026-09-13T09:00", "kind": "add", "into": "pot", "lot": "bought green vitriol", "amount": "10 g"},
    {"at": "2026-09-13T10:00", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "line", "pen": "reed-3mm"},
    {"at": "2026-09-14T10:00", "kind": "reading", "of": "trial:t1", "what": "optical_density", "value": {"R": 0.5, "G": 0.55, "B": 0.52}, "sd": 0.03},
]  # fmt: skip


def test_uneven_page_is_easier_to_match(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The more the page's letters differ, the surer it can be reached, and it is said; an even page says nothing."""
    with inkhorn.Workshop.create(tmp_path / "saltmere") as shop:
        for entry in ENTRIES:
            shop.record(entry)
        shop.add_exemplar("roll", optical_density={"R": 0.95, "G": 1.0, "B": 0.93}, sd=0.04)
        even = shop.counsel("pot", "roll")
        plain = advise.lay_table

        def uneven(*args: Any, **named: Any) -> Table:
            table = plain(*args, **named)
            return attrs.evolve(table, goal=attrs.evolve(table.goal, tolerance=9.0))

        monkeypatch.setattr(advise, "lay_table", uneven)
        loose = shop.counsel("pot", "roll")
    assert loose.reachable > even.reachable
    assert "own letters differ by about 9" in loose.note
    assert "own letters" not in even.note
