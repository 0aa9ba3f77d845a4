"""What every store of a daybook must do; the tests of each store inherit it."""

from __future__ import annotations

import json
import threading
from typing import Any

import pytest

from inkhorn.daybook.arriving import step_key
from inkhorn.daybook.store.base import Store
from inkhorn.daybook.wire import decode
from inkhorn.errors import EntryError, StoreError


def remark(text: str) -> dict[str, Any]:
    """Return a remark as JSON."""
    return {"at": "2026-09-12T10:15", "kind": "remark", "text": text}


class StoreContract:
    """Inherit, and give a fixture ``store`` with an empty one."""

    def put(self, store: Store, raw: dict[str, Any] | str, **more: Any) -> int:
        """Decode and append."""
        return store.append(raw, decode(json.loads(raw) if isinstance(raw, str) else raw), **more)

    def test_empty(self, store: Store) -> None:
        """A new store holds nothing."""
        assert store.recorded() == ()

    def test_numbers_from_one_without_gaps(self, store: Store) -> None:
        """Entries are numbered in the order of recording."""
        assert [self.put(store, remark(str(i))) for i in range(5)] == [1, 2, 3, 4, 5]
        assert [line.number for line in store.recorded()] == [1, 2, 3, 4, 5]

    def test_what_was_put_in_comes_out(self, store: Store) -> None:
        """Entry, JSON and kind are as they were given, and the moment of recording is in UTC."""
        raw = {**remark("Sumach, zerstoßen — ½ kg 🍂"), "who": "m"}
        self.put(store, raw)
        (line,) = store.recorded()
        assert line.entry == decode(raw)
        assert line.to_dict() == raw
        assert list(line.to_dict()) == list(raw)
        assert line.kind == "remark"
        assert line.recorded_at.utcoffset().total_seconds() == 0

    def test_text_is_kept_to_the_letter(self, store: Store) -> None:
        """JSON text with its own order and numbers comes out with the same meaning."""
        text = '{"kind": "remark",  "text": "x", "at": "2026-09-12T10:15", "note": "1.50"}'
        self.put(store, text)
        assert store.recorded()[0].to_dict() == json.loads(text)

    def test_what_is_sent_twice_under_one_key_is_kept_once(self, store: Store) -> None:
        """A known key writes nothing, asks no check and gives the number it was given; other keys are new."""
        first = self.put(store, remark("one"), key="a1")
        refused: list[int] = []
        assert self.put(store, remark("one"), key="a1", allow=lambda book: refused.append(len(book))) == first
        assert refused == []
        assert self.put(store, remark("one"), key="a2") == first + 1
        assert self.put(store, remark("one")) == first + 2
        assert (store.arrived("a1"), store.arrived("a2"), store.arrived("a3"), store.arrived("")) == (
            first,
            first + 1,
            None,
            None,
        )

    def test_what_was_sent_in_one_go_is_known_together(self, store: Store) -> None:
        """By the keys alone, which are kept: each of them leads to all; what was sent alone, or with other keys, to none."""
        alone = self.put(store, remark("alone"), key="a1")
        course = tuple(self.put(store, remark(str(n)), key=step_key("a1", n)) for n in range(3))
        other = self.put(store, remark("other"), key=step_key("a10", 0))
        like = self.put(store, remark("like"), key="a1-0")
        for number in course:
            assert store.sent_with(number) == course
        for number in (alone, other, like, self.put(store, remark("none")), 99):
            assert store.sent_with(number) == ()

    def test_a_refused_entry_leaves_its_key_free(self, store: Store) -> None:
        """What was refused may be mended and sent again under the same key."""

        def refuse(_book: tuple[Any, ...]) -> None:
            raise EntryError("no")

        with pytest.raises(EntryError):
            self.put(store, remark("one"), key="a1", allow=refuse)
        assert self.put(store, remark("two"), key="a1") == 1

    def test_a_refusal_inside_leaves_nothing(self, store: Store) -> None:
        """What the check raises undoes the writing, and the next number is not used up."""

        def refuse(book: tuple[Any, ...]) -> None:
            raise EntryError(f"not on top of {len(book)}")

        self.put(store, remark("one"))
        with pytest.raises(EntryError, match="not on top of 1"):
            self.put(store, remark("two"), allow=refuse)
        assert len(store.recorded()) == 1
        assert self.put(store, remark("three")) == 2

    def test_the_check_sees_the_whole_book(self, store: Store) -> None:
        """The check is given the book as it stands before the entry."""
        seen: list[int] = []
        for i in range(3):
            self.put(store, remark(str(i)), allow=lambda book: seen.append(len(book)))
        assert seen == [0, 1, 2]

    def test_what_was_given_out_does_not_change(self, store: Store) -> None:
        """A book that was read stays as it was while more is recorded."""
        self.put(store, remark("one"))
        before = store.recorded()
        self.put(store, remark("two"))
        assert len(before) == 1

    def test_threads_get_numbers_of_their_own(self, store: Store) -> None:
        """Four threads that record at once never share a number."""
        numbers: list[int] = []

        def run() -> None:
            numbers.extend(self.put(store, remark(str(i))) for i in range(10))

        threads = [threading.Thread(target=run) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert sorted(numbers) == list(range(1, 41))

    def test_json_that_is_none(self, store: Store) -> None:
        """What cannot be written as JSON is refused, and nothing is recorded."""
        for value in (float("nan"), {1, 2}):
            with pytest.raises(StoreError, match="JSON"):
                store.append({**remark("x"), "extra": value}, decode(remark("x")))
        assert store.recorded() == ()

    def test_derived_values(self, store: Store) -> None:
        """What was worked out is kept under a key, replaced, and dropped by the beginning of its key."""
        assert store.recall("a") is None
        store.remember("estimate:1", {"draws": [1.5, None, "x"]})
        store.remember("estimate:2", b"\x00\xff")
        store.remember("photo_1", [1])
        assert store.recall("estimate:1") == {"draws": [1.5, None, "x"]}
        assert store.recall("estimate:2") == b"\x00\xff"
        store.remember("estimate:1", 2)
        assert store.recall("estimate:1") == 2
        assert store.forget("photo%") == 0
        assert store.forget("estimate:") == 2
        assert store.recall("estimate:1") is None
        assert store.recall("photo_1") == [1]
        assert store.forget() == 1
