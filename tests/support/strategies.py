"""Random but legal daybooks."""

from __future__ import annotations

from collections.abc import Callable
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
    "filings": "iron filings",
    "nails": "iron nails",
    "pyrite": "pyrite",
    "marcasite": "marcasite",
}
PLANTS = ("galls", "leaf", "cones")
VESSELS = ("tub", "pot", "jar")
MADE_OF = ("stoneware", "cast iron", "aluminium", "enamelled iron", "glass")
IRON_STEPS = (
    "weather",
    "neutralise",
    "chalk",
    "crystallise",
    "weighed crystals",
    "crystals used",
    "drawn",
    "dried",
)
LIQUIDS = ("water", "spring water", "rainwater", "wine", "vinegar", "beer")


def _number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda x: round(x, 1))


def iron_step(draw: st.DrawFn, put: Callable[..., None], kind: str, vessel: str, other: str) -> None:
    """Put one step, or a short run of steps, that has to do with iron from the ground up."""
    metal, ore = draw(st.sampled_from(("filings", "nails"))), draw(st.sampled_from(("pyrite", "marcasite")))
    if kind == "weather":
        put(24 * 70, kind="weather", lot=ore, amount=f"{draw(_number(20, 300))} g", liquid="rainwater",
            liquid_amount=draw(st.sampled_from(["20 ml", "300 ml"])), into=vessel, **{"for": "8 weeks"})  # fmt: skip
        put(1, kind="strain", vessel=vessel, into=draw(st.sampled_from((vessel, other))))
    elif kind == "neutralise":
        put(
            60,
            kind="neutralise",
            vessel=vessel,
            lot=metal,
            amount=f"{draw(_number(0.5, 30))} g",
            **{"for": "2 days"},
        )
    elif kind == "chalk":
        put(1, kind="neutralise", vessel=vessel, lot="chalk", amount=f"{draw(_number(0.5, 10))} g")
    elif kind == "drawn":
        put(24 * 15, kind="steep", lot=metal, amount="40 g", liquid=draw(st.sampled_from(("vinegar", "wine"))),
            liquid_amount="300 ml", into=vessel, **{"for": "14 days"})  # fmt: skip
        put(1, kind="strain", vessel=vessel, into=other)
    elif kind == "dried":
        put(1, kind="prepare", lot=draw(st.sampled_from(PLANTS)), how="dry")
    else:
        put(1, kind="add", into=vessel, lot="crust", amount="150 g")
        put(8, kind="reduce", vessel=vessel, to="a third")
        amount = {"amount": "20 g"} if kind == "weighed crystals" else {}
        put(1, kind="crystallise", vessel=vessel, lot="crystals", **amount)
        if kind == "crystals used":
            put(1, kind="prepare", lot="crystals", how="dry", to="15 g")
            put(
                1,
                kind="add",
                into=other,
                lot="crystals",
                amount=draw(st.sampled_from(("half", "3 g", "all"))),
            )


@st.composite
def daybooks(draw: st.DrawFn, *, most: int = 14) -> list[dict[str, Any]]:  # noqa: PLR0915 (one branch a kind)
    """Draw a daybook whose steps are all modelled; amounts are kept small against what is there."""
    clock = datetime(2026, 9, 1, 8)  # noqa: DTZ001 (daybook times carry no zone)
    out: list[dict[str, Any]] = []

    def put(hours: float, **entry: Any) -> None:
        nonlocal clock
        out.append({"at": clock.isoformat(), **entry})
        clock += timedelta(hours=hours)

    for lot, material in LOTS.items():
        said = draw(
            st.sampled_from(({}, {"part": "fresh, cut in spring"}, {"age": "old", "source": "autumn"}))
        )
        put(0, kind="gather", lot=lot, material=material, amount="2000 g", **(said if lot in PLANTS else {}))
    for vessel in VESSELS:
        put(0, kind="vessel", name=vessel, made_of=draw(st.sampled_from(MADE_OF)))
    for vessel in VESSELS:
        put(0.1, kind="add", into=vessel, liquid=draw(st.sampled_from(LIQUIDS)), amount="900 ml")
    for _ in range(draw(st.integers(1, most))):
        vessel, other = draw(st.permutations(VESSELS))[:2]
        kind = draw(
            st.sampled_from(
                [
                    "add",
                    "steep",
                    "resteep",
                    "strain",
                    "reduce",
                    "boil",
                    "pour",
                    "rest",
                    "warm",
                    "skim",
                    "store",
                    "discard",
                    "mark",
                    "water",
                    "keep warm",
                    "forget",
                    "bring",
                    *IRON_STEPS,
                ]
            )
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
            put(
                13,
                kind="steep",
                marc_of=vessel,
                liquid="water",
                liquid_amount="300 ml",
                into=vessel,
                **{"for": "12 h"},
            )
        elif kind == "strain":
            put(1, kind="strain", vessel=vessel, into=other)
        elif kind == "reduce":
            put(
                8,
                kind="reduce",
                vessel=vessel,
                to=draw(st.sampled_from(["about half", "a third", "two thirds"])),
            )
        elif kind == "boil":
            put(8, kind="reduce", vessel=vessel, heat="simmer", **{"for": "20 minutes"})
        elif kind == "pour":
            put(
                1,
                kind="pour",
                into=other,
                amount=draw(st.sampled_from(["half", "all", "a quarter"])),
                **{"from": vessel},
            )
        elif kind == "rest":
            put(50, kind="rest", vessel=vessel, covered=draw(st.booleans()), **{"for": "2 days"})
        elif kind == "warm":
            put(1, kind="warm", vessel=vessel, to="40 degC")
        elif kind == "skim":
            put(1, kind="skim", vessel=vessel)
        elif kind == "store":
            put(100, kind="store", vessel=vessel, how="stoppered jar")
        elif kind == "keep warm":
            put(6, kind="warm", vessel=vessel, to="80 degC", **{"for": "5 h"})
        elif kind == "forget":
            put(24 * 45, kind="rest", vessel=vessel, covered=draw(st.booleans()), **{"for": "40 days"})
        elif kind == "bring":
            put(1, kind="bring", vessel=vessel, amount="about 200 ml",
                material=draw(st.sampled_from(["alder bark", "green vitriol", "gum arabic", "vinegar"])))  # fmt: skip
        elif kind in IRON_STEPS:
            iron_step(draw, put, kind, vessel, other)
        elif kind == "discard":
            put(1, kind="discard", vessel=vessel, amount="a tenth")
        elif kind == "water":
            put(1, kind="add", into=vessel, liquid="rainwater", up_to="1 L")
        else:
            put(
                1,
                kind="mark",
                vessel=vessel,
                trial=f"t{len(out)}",
                support="goat-parchment",
                method="pen",
                pen="reed",
            )
    return out
