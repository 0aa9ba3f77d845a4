"""A little of the pot with more iron or tannin in it, a word on how the pen ran, and a line written warm a second time."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

import inkhorn
from inkhorn.chemistry import binding
from inkhorn.counsel.actions import menu
from inkhorn.counsel.advise import _looked_into
from inkhorn.counsel.checks import quick_readings
from inkhorn.counsel.saucer import darkness, with_more
from inkhorn.counsel.trial_run import Table, changes, lay_table, narrowed, try_courses
from inkhorn.estimate.contents import dry_stroke
from inkhorn.replay import composition
from inkhorn.replay.draws import Draws

PAGE = {"at": "2026-09-12T10:00", "kind": "reading", "of": "exemplar:roll", "what": "optical_density", "value": {"R": 0.64, "G": 0.68, "B": 0.62}, "sd": 0.03}  # fmt: skip
LINE = {"kind": "mark", "vessel": "pot", "support": "goat-1", "method": "line", "pen": "reed-3mm"}


def book(iron: str, *, dyed: bool = True) -> list[dict[str, Any]]:
    """Return an invented daybook whose pot has so much vitriol in half a litre of sumac liquor."""
    return [
        PAGE,
        {"at": "2026-09-12T10:05", "kind": "gather", "lot": "sumac-leaf", "material": "sumac leaf", "amount": "500 g"},
        {"at": "2026-09-12T10:15", "kind": "steep", "lot": "sumac-leaf", "amount": "200 g", "liquid": "spring water", "liquid_amount": "2 L", "into": "tub", "for": "18 h", "temperature": "17 degC"},
        {"at": "2026-09-13T05:00", "kind": "strain", "vessel": "tub", "into": "pot"},
        *([{"at": "2026-09-13T08:30", "kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "200 g"},
           {"at": "2026-09-13T09:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": iron}] if dyed else []),
        {"at": "2026-09-13T10:00", **LINE, "trial": "t1"},
    ]  # fmt: skip


def opened(folder: Path, entries: list[dict[str, Any]]) -> inkhorn.Workshop:
    """Return a workshop with entries."""
    shop = inkhorn.Workshop.create(folder / "shop")
    for entry in entries:
        shop.record(entry)
    return shop


def laid(shop: inkhorn.Workshop) -> Table:
    """Return the pot's table."""
    post = shop._posterior(0)
    return lay_table(post, "pot", post.problem.plan.scene.targets["roll"], menu(post, "pot"), as_="now")


def gained(table: Table, more: str = "iron") -> tuple[np.ndarray, np.ndarray]:
    """Return by how much more of it darkens a stroke on each draw, and the pot's iron over capacity."""
    saucer = with_more(more, table)
    assert saucer is not None
    draws, pot = Draws(table.unknowns, table.z), narrowed(table).vessels["pot"]
    was = dry_stroke(pot, table.hand, table.post.problem.plan, table.goal.reflectance, draws).density
    held = composition.dry_binding(pot.liquor, draws)
    return (darkness(saucer, table) / was)[:, 0], binding.iron_to_capacity(held.iron, held.capacity)


def test_more_iron_darkens_only_where_iron_runs_short(tmp_path: Path) -> None:
    """Common practice: a stroke grows darker by iron until the tannin is full, and then no more."""
    with opened(tmp_path, book("4 g")) as shop:
        darker, ratio = gained(laid(shop))
    short = ratio < 0.4
    assert short.sum() > 50
    assert np.median(darker[short]) > 1.3
    (tmp_path / "much").mkdir()
    with opened(tmp_path / "much", book("120 g")) as shop:
        darker, ratio = gained(laid(shop))
    full = ratio > 2
    assert full.sum() > 50
    assert np.median(darker[full]) < 1.05


def test_more_tannin_darkens_only_where_tannin_runs_short(tmp_path: Path) -> None:
    """The other way round: plain liquor of its own strength keeps an ink dark that has iron left over, and thins one without."""
    stock = {"at": "2026-09-13T06:00", "kind": "pour", "from": "pot", "into": "stock", "amount": "400 ml"}
    for iron, much in (("120 g", True), ("2 g", False)):
        (tmp_path / iron).mkdir()
        entries = book(iron)
        with opened(tmp_path / iron, [*entries[:4], stock, *entries[4:]]) as shop:
            table = laid(shop)
            saucer = with_more("tannin", table)
            assert saucer is not None
            assert saucer.what == "stock"
            darker, ratio = gained(table, "tannin")
        sure = ratio > 2 if much else ratio < 0.4
        assert sure.sum() > 50
        assert (float(np.median(darker[sure])) > 0.9) is much


def test_it_can_be_done_and_tells_the_iron(tmp_path: Path) -> None:
    """Its entries are entries of the daybook; "darker than t1" makes less iron likelier, "the same" more."""
    believed = {}
    for word in ("darker", "same"):
        (tmp_path / word).mkdir()
        with opened(tmp_path / word, book("12 g")) as shop:
            saucer = with_more("iron", laid(shop))
            assert saucer is not None
            for hour, entry in enumerate(saucer.entries):
                shop.record({"at": f"2026-09-14T1{hour}:00", **entry})
            shop.record({"at": "2026-09-14T13:00", **LINE, "vessel": saucer.name, "trial": "t2"})
            shop.record({"at": "2026-09-15T15:00", "kind": "reading", "of": "trial:t2", "what": "than", "value": f"{word} t1"})  # fmt: skip
            believed[word] = shop.estimate().to_dict()["vessels"]["pot"]["iron_to_capacity"]["median"]
    assert believed["darker"] < 0.8 * believed["same"]


def test_nothing_is_asked_without_iron_or_without_tannin(tmp_path: Path) -> None:
    """A pot without an iron at hand has no such check."""
    with opened(tmp_path, book("", dyed=False)) as shop:
        table = laid(shop)
        assert with_more("iron", table) is None
        assert "more_iron" not in {q.reading for q in quick_readings(table)}


def test_what_is_weighed_can_be_weighed_and_is_there(tmp_path: Path) -> None:
    """At least a tenth of a gram, at most what is left of the lot, and little of the pot."""
    with opened(tmp_path, book("4 g")) as shop:
        saucer = with_more("iron", laid(shop))
    assert saucer is not None
    assert 0.1 <= saucer.amount <= 196
    assert saucer.ml <= 0.15 * 2000
    assert "not one to eat from" in saucer.ask


def test_how_the_pen_ran_is_asked_once(tmp_path: Path) -> None:
    """A line that somebody has said a word about is not asked about again."""
    with opened(tmp_path, book("12 g")) as shop:
        assert "flow" in {q.reading for q in quick_readings(laid(shop))}
        shop.record(
            {"at": "2026-09-13T11:00", "kind": "reading", "of": "trial:t1", "what": "flow", "value": "wet"}
        )
        assert "flow" not in {q.reading for q in quick_readings(laid(shop))}


def test_to_warm_it_again_is_no_trial(tmp_path: Path) -> None:
    """Where the last line was written at 40 degrees, warming to 40 changes nothing; to write it cold does."""
    with opened(tmp_path, [*book("12 g")[:-1], {"at": "2026-09-13T10:00", **LINE, "trial": "t1", "temperature": "40 degC"}]) as shop:  # fmt: skip
        post = shop._posterior(0)
        side = _looked_into(post, "pot", post.problem.plan.scene.targets["roll"], "now", 0.0)
    warm = next(i for i, a in enumerate(side.actions) if a.kind == "warm")
    water = next(i for i, a in enumerate(side.actions) if a.kind == "add-liquid")
    rows = np.zeros((2, len(side.actions)))
    rows[0, warm] = 40 - 18
    rows[1, water] = 1000.0
    seen = changes(try_courses(side.table, side.actions, rows), side.table)
    assert seen[0] < 0.5
    assert seen[1] > 1
    assert side.table.written is not None
    for course in side.found[:3]:
        assert not (course.used == (warm,) and abs(course.amounts[warm] - 22) < 5)


def test_another_ink_may_be_written_as_warm(tmp_path: Path) -> None:
    """Once water was added since, a line written as warm as the last is a trial."""
    warm = {"at": "2026-09-13T10:00", **LINE, "trial": "t1", "temperature": "40 degC"}
    water = {
        "at": "2026-09-13T11:00",
        "kind": "add",
        "into": "pot",
        "liquid": "rainwater",
        "amount": "500 ml",
    }
    with opened(tmp_path, [*book("12 g")[:-1], warm, water]) as shop:
        post = shop._posterior(0)
        side = _looked_into(post, "pot", post.problem.plan.scene.targets["roll"], "now", 0.0)
    assert side.table.written is None
