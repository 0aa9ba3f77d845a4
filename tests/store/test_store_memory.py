"""The store in memory keeps the contract."""

from __future__ import annotations

import pytest

from inkhorn.daybook.store.memory import MemoryStore
from support.store_contract import StoreContract


class TestMemoryStore(StoreContract):
    """The contract, on plain Python objects."""

    @pytest.fixture
    def store(self) -> MemoryStore:
        """Return an empty store."""
        return MemoryStore()
