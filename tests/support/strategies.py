"""Random but legal daybooks."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from hypothesis import strategies as st

LOTS = {
    "galls": "oak galls",
    "leaf": "sumac leaf",
    "cones": "alder cones",
    "vitriol": "bought green vitriol",
    "crust": "scraped green vitriol",
    "gum": "plum gum",
    "arabic": "gum arabic",
    "tannic": "tannic acid",
    "gallic": "gallic acid",
    "chalk": "chalk",
    "acid": "hydrochloric acid 10 %",
    "oil": "sulfuric acid",
}
PLANTS = ("galls", "leaf", "cones")
VESSELS = ("tub", "pot", "jar")
LIQUIDS = ("water", "spring water", "rainwater", "wine", "vinegar", "beer")


def _number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda x: round(x, 1))


@st.composite
def daybooks(draw: st.DrawFn, *, most: int = 14) -> list[dict[str, Any]]:
    """Draw a daybook whose steps are all modelled; amounts are kept small against what is there."""
    clock = datetime(2026, 9, 1, 8)
    out: list[dict[str, Any]] = []

    def put(hours: float, **entry: Any) -> None:
        nonlocal clock
        out.append({"at": clock.isoformat(), **entry})
        clock += timedelta(hours=hours)

    for lot, material in LOTS.items():
        put(0, kind="gather", lot=lot, material=material, amount="2000 g")
    for vessel in VESSELS:
        put(0.1, kind="add", into=vessel, liquid=draw(st.sampled_from(LIQUIDS)), amount="900 ml")
    for _ in range(draw(st.integers(1, most))):
        vessel, other = draw(st.permutations(VESSELS))[:2]
        kind = draw(
            st.sampled_from(["add", "steep", "resteep", "strain", "reduce", "boil", "pour", "rest", "warm",
                             "skim", "store", "discard", "mark", "water"])  # fmt: skip
        )
        if kind == "add":
            lot = draw(st.sampled_from(sorted(LOTS)))
            put(1, kind="add", into=vessel, lot=lot, amount=f"{draw(_number(0.2, 20))} g")
        elif kind == "steep":
            put(
                30, kind="steep", lot=draw(st.sampled_from(PLANTS)), amount=f"{draw(_number(5, 60))} g",
                liquid=draw(st.sampled_from(LIQUIDS)), liquid_amount="about 400 ml", into=vessel, **{"for": "24 h"},
            )  # fmt: skip
        elif kind == "resteep":
            put(1, kind="add", into=vessel, lot=draw(st.sampled_from(PLANTS)), amount="20 g")
            put(1, kind="strain", vessel=vessel, into=other)
            put(13, kind="steep", marc_of=vessel, liquid="water", liquid_amount="300 ml", into=vessel, **{"for": "12 h"})
        elif kind == "strain":
            put(1, kind="strain", vessel=vessel, into=other)
        elif kind == "reduce":
            put(8, kind="reduce", vessel=vessel, to=draw(st.sampled_from(["about half", "a third", "two thirds"])))
        elif kind == "boil":
            put(8, kind="reduce", vessel=vessel, heat="simmer", **{"for": "20 minutes"})
        elif kind == "pour":
            put(1, kind="pour", into=other, amount=draw(st.sampled_from(["half", "all", "a quarter"])), **{"from": vessel})
        elif kind == "rest":
            put(50, kind="rest", vessel=vessel, covered=draw(st.booleans()), **{"for": "2 days"})
        elif kind == "warm":
            put(1, kind="warm", vessel=vessel, to="40 degC")
        elif kind == "skim":
            put(1, kind="skim", vessel=vessel)
        elif kind == "store":
            put(100, kind="store", vessel=vessel, how="stoppered jar")
        elif kind == "discard":
            put(1, kind="discard", vessel=vessel, amount="a tenth")
        elif kind == "water":
            put(1, kind="add", into=vessel, liquid="rainwater", up_to="1 L")
        else:
            put(1, kind="mark", vessel=vessel, trial=f"t{len(out)}", support="goat-parchment", method="pen", pen="reed")
    return out
