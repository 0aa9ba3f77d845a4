"""Random entries thrown at a daybook: it stays sound, and only our own errors come back."""

from __future__ import annotations

import contextlib
import itertools
from datetime import datetime, timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inkhorn.daybook.book import effective
from inkhorn.daybook.check import examine
from inkhorn.daybook.inventory import take_inventory
from inkhorn.daybook.times import surely_until, vessels_of
from inkhorn.errors import EntryErrors
from support.book_builder import Bench

POTS = st.sampled_from(["tub", "pot", "jar"])
LOTS = st.sampled_from(["sumac-leaf", "plum-gum", "gum-2"])
LITRES = st.sampled_from(["200 ml", "about 1 L", "3 L", "2-4 L"])
GRAMS = st.sampled_from(["20 g", "about 100 g", "300 g", "half", "all"])
START = datetime(2026, 9, 1, 6)  # noqa: DTZ001 - local


def entry(kind: str, **keys: st.SearchStrategy) -> st.SearchStrategy[dict]:
    """Draw an entry of a kind, at some half hour of a week."""
    at = st.integers(0, 300).map(lambda n: (START + timedelta(minutes=30 * n)).isoformat(timespec="minutes"))
    fixed = {name.rstrip("_"): value for name, value in keys.items()}
    return st.fixed_dictionaries({"at": at, "kind": st.just(kind), **fixed})


PLAIN = st.one_of(
    entry("gather", lot=LOTS, material=st.sampled_from(["sumac leaf", "plum gum"]), amount=st.just("300 g")),
    entry("vessel", name=POTS, capacity=st.sampled_from(["500 ml", "2 L", "8 L"])),
    entry(
        "steep", lot=LOTS, amount=GRAMS, liquid=st.just("rainwater"), liquid_amount=LITRES, into=POTS,
        for_=st.sampled_from(["2 h", "overnight"]),
    ),
    entry("strain", vessel=POTS, into=POTS),
    entry("pour", from_=POTS, into=POTS, amount=st.one_of(LITRES, st.sampled_from(["half", "all"]))),
    entry("add", into=POTS, lot=LOTS, amount=GRAMS),
    entry("add", into=POTS, liquid=st.just("water"), up_to=LITRES),
    entry("reduce", vessel=POTS, to=st.one_of(LITRES, st.just("a third"))),
    entry("rest", vessel=POTS, for_=st.just("5 h")),
    entry("discard", vessel=POTS, amount=st.one_of(LITRES, st.just("half"))),
    entry("reading", of=POTS.map("vessel:{}".format), what=st.just("volume"), value=LITRES),
)  # fmt: skip
NUMBER = st.integers(1, 30)
MOVES = st.one_of(
    PLAIN,
    PLAIN,
    PLAIN,
    entry("void", entry=NUMBER, why=st.just("x")),
    entry("amend", entry=NUMBER, replacement=PLAIN),
)


def play(bench: Bench, raw: dict) -> None:
    """Record an entry if the daybook takes it; any error but our own fails the test."""
    with contextlib.suppress(EntryErrors):
        bench.record(raw["at"], raw["kind"], **{k: v for k, v in raw.items() if k not in ("at", "kind")})


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(MOVES, max_size=30))
def test_a_daybook_stays_sound(moves: list[dict]) -> None:
    """Whatever is accepted, in whatever order, the standing book has no fault and no two steps overlap."""
    bench = Bench()
    for raw in moves:
        play(bench, raw)
    standing = bench.standing
    assert list(examine(standing, take_inventory(standing))) == []
    assert effective(standing) == standing
    for vessel in ("tub", "pot", "jar"):
        steps = [line.entry for line in standing if vessel in vessels_of(line.entry)]
        for first, second in itertools.pairwise(steps):
            assert surely_until(first) <= second.at or surely_until(first) == first.at


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(PLAIN, max_size=15))
def test_undoing_from_the_end_is_always_allowed(moves: list[dict]) -> None:
    """The last entry in the order of time can be struck out, again and again, until nothing stands."""
    bench = Bench()
    for raw in moves:
        play(bench, raw)
    facts = [line.number for line in bench.standing if line.kind in ("gather", "vessel")]
    steps = [line.number for line in bench.standing if line.number not in facts]
    for number in [*reversed(steps), *reversed(facts)]:
        bench.record("2027-01-01T00:00", "void", entry=number, why="undone")
    assert bench.standing == ()
