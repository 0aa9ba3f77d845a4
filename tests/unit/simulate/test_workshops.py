"""Dealt workshops: varied, clearly off, in reach, and the same under a seed."""

from __future__ import annotations

import pytest

from inkhorn.daybook.check import check
from inkhorn.daybook.store.memory import MemoryStore
from inkhorn.daybook.wire import decode
from inkhorn.simulate.workshops import Scenario, exemplar_entries, random_workshop


@pytest.fixture(scope="module")
def dealt() -> list[Scenario]:
    """Return a dozen workshops."""
    return [random_workshop(seed) for seed in range(12)]


def test_each_is_off_and_in_reach(dealt: list[Scenario]) -> None:
    """The pot is clearly off the original and some plan would come close."""
    for deal in dealt:
        assert deal.exemplar["now"] >= 7
        assert deal.exemplar["best"] <= 2.5
        assert deal.truth.distance(deal.exemplar["pot"], "page") == pytest.approx(deal.exemplar["now"])


def test_each_has_a_dozen_entries_or_two(dealt: list[Scenario]) -> None:
    """Records are 12 to 25 entries long, in order of time, with readings of pots and trials."""
    for deal in dealt:
        times = [e["at"] for e in deal.entries]
        assert 12 <= len(deal.entries) <= 25
        assert times == sorted(times)
        readings = {e["of"].partition(":")[0] for e in deal.entries if e["kind"] == "reading"}
        assert {"vessel", "trial"} <= readings


def test_they_vary(dealt: list[Scenario]) -> None:
    """Plants, gums and originals differ from deal to deal, pale ones and dark ones among them."""
    assert len({d.entries[0]["material"] for d in dealt}) >= 4
    assert len({d.entries[2]["material"] for d in dealt}) >= 2
    depths = [d.exemplar["lab"]["L"] for d in dealt]
    assert min(depths) < 45
    assert max(depths) > 60


def test_same_seed_same_deal() -> None:
    """A seed deals the same record twice."""
    one, two = random_workshop(7), random_workshop(7)
    assert one.entries == two.entries
    assert one.exemplar == two.exemplar


def test_exemplar_facts_become_readings(dealt: list[Scenario]) -> None:
    """The facts of the original go into the daybook as two readings of it."""
    got = list(exemplar_entries(dealt[0].exemplar, "2026-11-01T09:00"))
    assert [e["what"] for e in got] == ["optical_density", "support_lab"]
    assert all(e["of"] == "exemplar:page" for e in got)


def test_the_daybook_takes_every_dealt_entry(dealt: list[Scenario]) -> None:
    """Each record, its exemplar first, passes the daybook's own checks in the order it was written."""
    for deal in dealt:
        store = MemoryStore()
        for raw in [*exemplar_entries(deal.exemplar, deal.entries[0]["at"]), *deal.entries]:
            entry = decode(raw)
            check(entry, store.recorded())
            store.append(raw, entry)
        assert len(store.recorded()) == len(deal.entries) + 2
