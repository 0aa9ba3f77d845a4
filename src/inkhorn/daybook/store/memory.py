"""A daybook that lives as long as the program: for trying things out, and for tests."""

from __future__ import annotations

import copy
import json
import threading
from collections.abc import Mapping
from typing import Any

from inkhorn.daybook.arriving import stem
from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Entry
from inkhorn.daybook.store.base import Allow, as_text, now


class MemoryStore:
    """A store in plain Python objects; see `inkhorn.daybook.store.base.Store`."""

    def __init__(self) -> None:
        self._lines: list[Recorded] = []
        self._derived: dict[str, Any] = {}
        self._arrivals: dict[str, int] = {}
        self._lock = threading.RLock()

    def append(
        self, raw: Mapping[str, Any] | str, entry: Entry, *, allow: Allow | None = None, key: str = ""
    ) -> int:
        """Record one entry and return its number."""
        given = json.loads(as_text(raw))
        with self._lock:
            if key in self._arrivals:
                return self._arrivals[key]
            if allow is not None:
                allow(self.recorded())
            number = len(self._lines) + 1
            self._lines.append(Recorded(number=number, entry=entry, raw=given, recorded_at=now()))
            if key:
                self._arrivals[key] = number
        return number

    def arrived(self, key: str) -> int | None:
        """Return the number of the entry that was sent under a key, or None."""
        return self._arrivals.get(key)

    def sent_with(self, number: int) -> tuple[int, ...]:
        """Return the numbers of the entries that were sent in one go with one; () where it was alone."""
        begins = next((stem(key) for key, sent in self._arrivals.items() if sent == number), "")
        found = sorted(sent for key, sent in self._arrivals.items() if begins and stem(key) == begins)
        return tuple(found) if len(found) > 1 else ()

    def recorded(self) -> tuple[Recorded, ...]:
        """Return the whole book in the order of recording."""
        return tuple(self._lines)

    def remember(self, key: str, value: Any) -> None:
        """Keep something worked out under a key."""
        self._derived[key] = value if isinstance(value, bytes) else json.loads(json.dumps(value))

    def recall(self, key: str) -> Any:
        """Return what was kept under a key, or None."""
        return copy.deepcopy(self._derived.get(key))

    def forget(self, prefix: str = "") -> int:
        """Drop what was kept under keys with this beginning."""
        gone = [key for key in self._derived if key.startswith(prefix)]
        for key in gone:
            del self._derived[key]
        return len(gone)
