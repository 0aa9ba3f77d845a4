"""A daybook built line by line in memory, checked as a workshop would check it."""

from __future__ import annotations

from typing import Any

from inkhorn.daybook.book import Recorded, effective
from inkhorn.daybook.check import check
from inkhorn.daybook.inventory import Inventory, take_inventory
from inkhorn.daybook.store.memory import MemoryStore
from inkhorn.daybook.wire import decode


class Bench:
    """Record by keyword, in memory."""

    def __init__(self) -> None:
        self.store = MemoryStore()
        self.notices: tuple[str, ...] = ()

    def record(self, at: str, kind: str, **keys: Any) -> int:
        """Decode, check and append one entry; keys that are Python words end in an underscore."""
        raw = {"at": at, "kind": kind, **{key.rstrip("_"): value for key, value in keys.items()}}
        entry = decode(raw)
        self.notices = check(entry, self.store.recorded())
        return self.store.append(raw, entry)

    @property
    def book(self) -> tuple[Recorded, ...]:
        """The whole book as recorded."""
        return self.store.recorded()

    @property
    def standing(self) -> tuple[Recorded, ...]:
        """What stands of it."""
        return effective(self.book)

    @property
    def inventory(self) -> Inventory:
        """What it names."""
        return take_inventory(self.standing)

    def steeped(self) -> Bench:
        """Gather 900 g of sumac leaf and steep 640 g in about 5 L from 12 to 13 September."""
        self.record("2026-08-20T10:00", "gather", lot="sumac-leaf", material="sumac leaf", amount="900 g")
        self.record(
            "2026-09-12T10:15",
            "steep",
            lot="sumac-leaf",
            amount="640 g",
            liquid="spring water",
            liquid_amount="about 5 L",
            into="tub",
            for_="18 h",
            pieces="crushed",
        )
        return self

    def strained(self) -> Bench:
        """Go on to strain the liquor into a pot when the steep ends."""
        self.steeped().record("2026-09-13T04:15", "strain", vessel="tub", into="pot")
        return self
