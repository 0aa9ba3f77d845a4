"""The invented roll as a workshop on disk."""

from __future__ import annotations

from pathlib import Path

from inkhorn.demo.roll import EXEMPLAR, POT, build
from inkhorn.workshop import Workshop


def test_build_makes_a_workshop_that_can_be_opened_again(tmp_path: Path) -> None:
    """Every entry is recorded, the pictures are kept, and the exemplar is known."""
    folder = tmp_path / "saltmere"
    with build(folder) as built:
        count = len(built.daybook)
    with Workshop.open(folder) as again:
        assert len(again.daybook) == count >= 28
        things = again.inventory()
        assert EXEMPLAR in things.exemplars
        assert POT in things.vessels
        photos = [r.entry.value for r in again.daybook if getattr(r.entry, "what", "") == "photo"]
        assert len(photos) == 5
        assert all(again.picture_path(str(p)).is_file() for p in photos)
