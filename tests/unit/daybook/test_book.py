"""The book as it stands, and what it names."""

from __future__ import annotations

from datetime import datetime

import pytest

from inkhorn.daybook.book import effective
from inkhorn.daybook.entries import Steep
from inkhorn.daybook.inventory import lot_named, volume_of_depth
from inkhorn.daybook.measures import measures
from inkhorn.errors import EntryErrors, ImpossibleError
from inkhorn.quantities import read_quantity
from support.book_builder import Bench

GATHER = {"at": "2026-08-20T10:00", "kind": "gather", "lot": "sumac-leaf", "material": "sumac leaf"}


def test_entries_stand_in_order_of_time() -> None:
    """Entries that arrive late stand where they belong."""
    bench = Bench()
    bench.record("2026-09-02T10:00", "remark", text="second")
    bench.record("2026-09-01T10:00", "remark", text="first")
    bench.record("2026-09-02T10:00", "remark", text="third")
    assert [line.entry.text for line in bench.standing] == ["first", "second", "third"]
    assert [line.number for line in bench.standing] == [2, 1, 3]


def test_an_amendment_replaces() -> None:
    """The later entry stands in the place and under the number of the one it amends."""
    bench = Bench().steeped()
    number = bench.record("2026-09-14T08:00", "amend", entry=1, replacement={**GATHER, "amount": "1 kg"})
    line = next(line for line in bench.standing if line.number == 1)
    assert line.entry.amount.value == 1000
    assert line.amended_by == number
    assert line.to_dict() == {**GATHER, "amount": "1 kg"}
    assert len(bench.standing) == 2
    assert bench.book[0].entry.amount.value == 900


def test_the_last_amendment_stands() -> None:
    """An entry may be amended again, through its own number or that of its amendment."""
    bench = Bench().steeped()
    second = bench.record("2026-09-14T08:00", "amend", entry=1, replacement={**GATHER, "amount": "1 kg"})
    bench.record("2026-09-14T09:00", "amend", entry=1, replacement={**GATHER, "amount": "2 kg"})
    assert bench.standing[0].entry.amount.value == 2000
    bench.record("2026-09-14T10:00", "amend", entry=second, replacement={**GATHER, "amount": "3 kg"})
    assert bench.standing[0].entry.amount.value == 3000


def test_a_void_strikes_out() -> None:
    """What is struck out does not stand; the record keeps it."""
    bench = Bench().steeped()
    bench.record("2026-09-14T08:00", "void", entry=2, why="it was the other tub")
    assert [line.number for line in bench.standing] == [1]
    assert len(bench.book) == 3


def test_a_void_of_an_amendment_brings_back() -> None:
    """When an amendment is struck out, what it amended stands again."""
    bench = Bench().steeped()
    bench.record("2026-09-14T08:00", "amend", entry=1, replacement={**GATHER, "amount": "1 kg"})
    bench.record("2026-09-14T08:10", "void", entry=3, why="the first figure was right")
    assert bench.standing[0].entry.amount.value == 900


def test_a_void_of_a_void_brings_back() -> None:
    """When a striking-out is struck out, the entry stands again."""
    bench = Bench().steeped()
    bench.record("2026-09-14T08:00", "void", entry=2, why="mistake")
    bench.record("2026-09-14T08:10", "void", entry=3, why="it was right")
    assert [line.number for line in bench.standing] == [1, 2]


@pytest.mark.parametrize(
    ("kind", "keys", "says"),
    [
        ("void", {"entry": 9, "why": "x"}, "no entry 9"),
        ("amend", {"entry": 9, "replacement": {**GATHER, "amount": "1 kg"}}, "no entry 9"),
        ("void", {"entry": 2, "why": "x"}, "already struck out"),
        ("amend", {"entry": 2, "replacement": {**GATHER, "amount": "1 kg"}}, "already struck out"),
        ("amend", {"entry": 3, "replacement": {**GATHER, "amount": "1 kg"}}, "strikes another out"),
    ],
)
def test_what_cannot_be_amended(kind: str, keys: dict, says: str) -> None:
    """Only what is there and stands can be amended or struck out."""
    bench = Bench().steeped()
    bench.record("2026-09-14T08:00", "void", entry=2, why="mistake")
    with pytest.raises(EntryErrors, match=says):
        bench.record("2026-09-14T09:00", kind, **keys)


def test_effective_of_effective_is_the_same() -> None:
    """What stands, stands."""
    bench = Bench().strained()
    assert effective(bench.standing) == bench.standing


def test_raw_is_what_was_given() -> None:
    """A line gives back its JSON to the letter, and a change to that changes nothing."""
    bench = Bench().steeped()
    raw = bench.book[1].to_dict()
    assert raw["liquid_amount"] == "about 5 L"
    raw["into"] = "elsewhere"
    assert bench.book[1].to_dict()["into"] == "tub"


def test_inventory_of_what_is_declared_and_mentioned() -> None:
    """Things are known from the first entry that names them, with what is declared of them later."""
    bench = Bench().strained()
    bench.record("2026-09-13T05:00", "add", into="pot", lot="bought-green-vitriol", amount="40 g")
    bench.record(
        "2026-09-13T06:00", "mark", vessel="pot", trial="t1", support="goat-1", method="pen", pen="reed-3mm"
    )
    bench.record("2026-09-13T07:00", "vessel", name="pot", capacity="3 L", made_of="stoneware")
    bench.record(
        "2026-09-13T07:00", "reading", of="exemplar:page", what="lab", value={"L": 30, "a": 1, "b": 2}
    )
    has = bench.inventory
    assert has.lots["sumac-leaf"].amount.value == 900
    assert not has.lots["sumac-leaf"].implied
    assert has.lots["bought-green-vitriol"].material == "bought-green-vitriol"
    assert has.lots["bought-green-vitriol"].implied
    assert has.vessels["tub"].implied
    assert has.vessels["tub"].created_by == 2
    pot = has.vessels["pot"]
    assert (pot.implied, pot.created_by, pot.capacity.value, pot.made_of) == (False, 3, 3000, "stoneware")
    assert has.supports["goat-1"].material == "goat-parchment"
    assert has.pens["reed-3mm"].material == "reed"
    assert has.pens["reed-3mm"].width.value == 3
    assert (has.trials["t1"].vessel, has.trials["t1"].support) == ("pot", "goat-1")
    assert set(has.exemplars) == {"page"}


def test_a_lot_by_a_loose_name() -> None:
    """The one lot of a material is found by any name of the material."""
    has = Bench().steeped().inventory
    assert lot_named("the sumac leaves".removeprefix("the "), has) == "sumac-leaf"
    assert lot_named("sumac", has) == "sumac-leaf"
    assert lot_named("alder cones", has) is None


def test_fingers_in_a_known_vessel() -> None:
    """A depth is a share of the inner depth, times the capacity (a straight-sided vessel)."""
    bench = Bench()
    bench.record("2026-09-01T10:00", "vessel", name="jar", capacity="1 L", depth="190 mm")
    fingers = read_quantity("two fingers", expect=("length",), measures=measures())
    found = volume_of_depth(fingers, bench.inventory.vessels["jar"])
    assert found.value == pytest.approx(1000 * 38 / 190)
    assert found.sd / found.value > fingers.sd / fingers.value
    bench.record("2026-09-01T10:00", "vessel", name="bowl", capacity="1 L")
    with pytest.raises(ImpossibleError, match="capacity and depth"):
        volume_of_depth(fingers, bench.inventory.vessels["bowl"])


def test_hypothetical_steps_need_no_json() -> None:
    """An entry can be built and checked without ever having been JSON."""
    book = Bench().steeped()
    line = book.standing[-1]
    assert isinstance(line.entry, Steep)
    assert line.recorded_at > datetime(2020, 1, 1, tzinfo=line.recorded_at.tzinfo)
