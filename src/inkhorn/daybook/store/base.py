"""What every store of a daybook can do, whatever it is kept in."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Any, Protocol

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Entry
from inkhorn.errors import StoreError

#: Called with the book as it stands inside the writing transaction; what it raises undoes the writing.
Allow = Callable[[tuple[Recorded, ...]], object]


class Store(Protocol):
    """An append-only record of entries, numbered from 1 without gaps, and a cache of what was worked out."""

    def append(
        self, raw: Mapping[str, Any] | str, entry: Entry, *, allow: Allow | None = None, key: str = ""
    ) -> int:
        """Record one entry in one transaction and return its number.

        Parameters
        ----------
        raw : mapping or str
            The JSON as given; kept to the letter where it is text.
        entry : Entry
            The same, as it was understood.
        allow : callable, optional
            Called inside the transaction with the whole book as it then is.
        key : str
            What the sender calls it, if anything: a key that is known already writes nothing and
            returns the number that it was given.
        """
        ...

    def arrived(self, key: str) -> int | None:
        """Return the number of the entry that was sent under a key, or None."""
        ...

    def sent_with(self, number: int) -> tuple[int, ...]:
        """Return the numbers of the entries that were sent in one go with one, itself among them; () where it was alone."""
        ...

    def recorded(self) -> tuple[Recorded, ...]:
        """Return the whole book in the order of recording."""
        ...

    def remember(self, key: str, value: Any) -> None:
        """Keep something worked out, JSON or bytes, under a key; a former value is replaced."""
        ...

    def recall(self, key: str) -> Any:
        """Return what was kept under a key, or None."""
        ...

    def forget(self, prefix: str = "") -> int:
        """Drop what was kept under keys with this beginning; return how many."""
        ...


def as_text(raw: Mapping[str, Any] | str) -> str:
    """Return JSON text of an entry; text is left as it is."""
    if isinstance(raw, str):
        return raw
    try:
        return json.dumps(dict(raw), ensure_ascii=False, allow_nan=False)
    except (TypeError, ValueError) as error:
        raise StoreError(f"the entry cannot be written as JSON ({error})") from error


def now() -> datetime:
    """Return the present moment in UTC."""
    return datetime.now(UTC)
