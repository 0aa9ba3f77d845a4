"""What is told for the next trial: a fresh cup, what can be seen, and what it tells that somebody went on."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pytest

import inkhorn
from inkhorn.counsel import advise, checks, fresh, went_on
from inkhorn.counsel.actions import Action, menu, written
from inkhorn.counsel.checks import quick_readings, to_know
from inkhorn.counsel.courses import Kept
from inkhorn.counsel.reach import match_chance
from inkhorn.counsel.search import judge
from inkhorn.counsel.trial_run import Outcome, Table, changes, harms, lay_table, try_courses
from inkhorn.daybook.entries import Add
from inkhorn.daybook.wire import decode
from inkhorn.handbook.load import value

# An invented pot with far too much iron and gum in it, and plain liquor beside it.
ENTRIES: list[dict[str, Any]] = [
    {"at": "2026-09-12T10:05", "kind": "gather", "lot": "sumac-leaf", "material": "sumac leaf", "amount": "500 g"},
    {"at": "2026-09-12T10:15", "kind": "steep", "lot": "sumac-leaf", "amount": "200 g", "liquid": "spring water", "liquid_amount": "2 L", "into": "tub", "for": "18 h", "temperature": "17 degC"},
    {"at": "2026-09-13T05:00", "kind": "strain", "vessel": "tub", "into": "stock"},
    {"at": "2026-09-13T08:00", "kind": "pour", "from": "stock", "into": "pot", "amount": "400 ml"},
    {"at": "2026-09-13T08:30", "kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "200 g"},
    {"at": "2026-09-13T09:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "40 g"},
    {"at": "2026-09-13T10:00", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "line", "pen": "reed-3mm"},
    {"at": "2026-09-14T10:00", "kind": "reading", "of": "trial:t1", "what": "optical_density", "value": {"R": 0.62, "G": 0.66, "B": 0.6}, "sd": 0.03},
]  # fmt: skip
PAGE = {"at": "2026-09-12T10:00", "kind": "reading", "of": "exemplar:roll", "what": "optical_density", "value": {"R": 0.64, "G": 0.68, "B": 0.62}, "sd": 0.03}  # fmt: skip


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[inkhorn.Workshop]:
    """Return a workshop whose pot has the page's colour and an iron that will not last."""
    with inkhorn.Workshop.create(tmp_path_factory.mktemp("saltmere") / "shop") as opened:
        for entry in (PAGE, *ENTRIES):
            opened.record(entry)
        yield opened


def _laid(shop: inkhorn.Workshop) -> tuple[tuple[Action, ...], Table, Outcome]:
    """Return what can be done to the pot, its table, and doing nothing."""
    post = shop._posterior(0)
    actions = menu(post, "pot")
    table = lay_table(post, "pot", post.problem.plan.scene.targets["roll"], actions, as_="now")
    return actions, table, try_courses(table, actions, np.zeros((1, len(actions))))


def test_a_fresh_cup_is_offered_where_the_pot_cannot_be_mended(shop: inkhorn.Workshop) -> None:
    """Iron does not come out again: the course draws plain stock, and leaves the pot where it is."""
    counsel = shop.counsel("pot", "roll")
    course = next(c for c in counsel.courses if c.vessel != "pot")
    first = course.actions[0]
    assert (first["kind"], first["from"], first["into"]) == ("pour", "stock", course.vessel)
    assert all(a.get("into", a.get("vessel")) == course.vessel for a in course.actions)
    assert "leave the pot" in course.sentence.lower()
    assert course.standing.permanence_ok > counsel.now.permanence_ok


def test_what_is_offered_can_be_recorded_and_gone_on_with(tmp_path: Path) -> None:
    """The entries of a fresh cup are entries of the daybook, and counsel then is asked for about the cup."""
    with inkhorn.Workshop.create(tmp_path / "shop") as opened:
        for entry in (PAGE, *ENTRIES):
            opened.record(entry)
        course = next(c for c in opened.counsel("pot", "roll").courses if c.vessel != "pot")
        at = datetime.fromisoformat("2026-09-14T11:00")
        for hour, action in enumerate(course.actions):
            opened.record({"at": (at + timedelta(hours=hour)).isoformat(timespec="minutes"), **action})
        then = opened.counsel(course.vessel, "roll")
    assert then.vessel == course.vessel
    # What was foreseen for the cup is what is then believed of it, within the noise of the draws.
    assert then.now.distance.median == pytest.approx(course.standing.distance.median, abs=2.5)


def test_the_pot_as_it_stands_is_told_as_its_courses_are(tmp_path: Path) -> None:
    """That somebody asks again counts in both, or a course could be told that is worse than doing nothing."""
    gum = {"at": "2026-09-13T09:10", "kind": "add", "into": "pot", "lot": "gum-arabic", "amount": "20 g"}
    little = [
        {**e, "amount": "3 g"} if e.get("lot") == "vitriol" and e["kind"] == "add" else e for e in ENTRIES
    ]
    with inkhorn.Workshop.create(tmp_path / "shop") as opened:
        for entry in (PAGE, *little[:-2], gum, *little[-2:]):
            opened.record(entry)
        counsel, post = opened.counsel("pot", "roll"), opened._posterior(0)
    actions, goal = menu(post, "pot"), post.problem.plan.scene.targets["roll"]
    told = []
    for counts in (True, False):
        table = lay_table(post, "pot", goal, actions, as_="now", draws=post.draws.n, went_on=counts)
        told.append((table, try_courses(table, actions, np.zeros((1, len(actions))))))
    assert counsel.now.distance.median == pytest.approx(float(np.median(told[0][1].distance[0])))
    assert counsel.match == match_chance(*told[0])
    assert match_chance(*told[0]) < 0.5 * match_chance(*told[1])


def test_what_gains_little_is_not_told_beside_the_best(
    shop: inkhorn.Workshop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Were all of what the best course gains asked of another, the best would be told alone."""
    usual = advise.value
    assert len(shop.counsel("pot", "roll").courses) > 1
    monkeypatch.setattr(advise, "value", lambda name: 1.0 if name == "counsel.alternative" else usual(name))
    assert len(shop.counsel("pot", "roll").courses) == 1


def test_where_nothing_is_better_one_venture_is_told(
    shop: inkhorn.Workshop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where no course beats leaving the pot, the best alone is told, and that it is a venture."""
    usual, asked = advise._Case._kept, []

    def none_at_first(case: advise._Case, idle: float) -> list[Kept]:
        asked.append(idle)
        return usual(case, idle) if len(asked) > 1 else []

    monkeypatch.setattr(advise._Case, "_kept", none_at_first)
    counsel = shop.counsel("pot", "roll")
    assert asked[1] == asked[0] + value("counsel.venture")
    assert len(counsel.courses) == 1
    assert "If you go on, this one" in counsel.note


def test_plain_liquor_is_drawn_first(shop: inkhorn.Workshop) -> None:
    """Plain stock before ink, never the pot itself, never more than there is, and no water."""
    post = shop._posterior(0)
    cups = fresh.cups(post, "pot")
    assert [c.source for c in cups] == ["stock"]
    assert cups[0].name == "pot-2"
    assert [c.source for c in fresh.cups(post, "stock")] == ["pot"]
    assert [c.source for c in fresh.cups(post, "elsewhere")] == ["stock", "pot"]
    (all_of_it,) = fresh.cups(post, "pot", keep=1e6)
    assert all_of_it.ml <= 2000


def test_what_cannot_be_taken_back_is_better_tried_on_a_cup(tmp_path: Path) -> None:
    """The cup's amounts are the course's in the proportion of cup to pot, and can be recorded; the pot stays."""
    with inkhorn.Workshop.create(tmp_path / "shop") as opened:
        for entry in (PAGE, *ENTRIES):
            if entry.get("amount") != "40 g":
                opened.record(entry)
        counsel = opened.counsel("pot", "roll")
        course = next(c for c in counsel.courses if c.cup)
        drawn, _, *steps = course.cup
        assert drawn["from"] == "pot"
        assert "on a cup of it" in course.sentence
        ml, pot = float(drawn["amount"].split()[0]), 400.0
        assert ml < pot / 2
        for small, whole in zip(steps, course.actions, strict=True):
            assert small["kind"] == whole["kind"]
            if small["kind"] in {"add", "pour"}:
                share = float(small["amount"].split()[0]) / float(whole["amount"].split()[0])
                assert share == pytest.approx(ml / pot, rel=0.2)
        at = datetime.fromisoformat("2026-09-14T11:00")
        for hour, action in enumerate(course.cup):
            opened.record({"at": (at + timedelta(hours=hour)).isoformat(timespec="minutes"), **action})
        left = opened.estimate().to_dict()["vessels"]
    assert left["pot"]["volume"]["median"] == pytest.approx(pot - ml, rel=0.2)
    for course in counsel.courses:
        if all(a["kind"] in {"reduce", "warm"} or "liquid" in a for a in course.actions):
            assert not course.cup


def test_who_goes_on_has_not_found_a_match(shop: inkhorn.Workshop) -> None:
    """On draws on which the strip looked at was a match, it is less likely that somebody asks again; on the rest it is not."""
    post = shop._posterior(0)
    goal = post.problem.plan.scene.targets["roll"]
    wide = attrs.evolve(goal, tolerance=60.0)
    told = went_on.likelihood(post, wide, (0.1, 100.0))
    assert set(np.unique(told)) <= {1.0, value("counsel.went_on")}
    # Anything at all would match within 60 steps; only iron in excess still explains going on.
    unmatched = went_on.likelihood(post, wide, (99.0, 100.0))
    assert (unmatched == 1).all()
    actions = menu(post, "pot")
    nothing = np.zeros((1, len(actions)))
    plain = lay_table(post, "pot", goal, actions, as_="now")
    asked = lay_table(post, "pot", goal, actions, as_="now", went_on=True)
    assert match_chance(asked, try_courses(asked, actions, nothing)) <= match_chance(
        plain, try_courses(plain, actions, nothing)
    )


def test_nothing_looked_at_tells_nothing(tmp_path: Path) -> None:
    """Without a reading of a strip every draw weighs the same."""
    with inkhorn.Workshop.create(tmp_path / "shop") as opened:
        for entry in (PAGE, *ENTRIES[:-1]):
            opened.record(entry)
        post = opened._posterior(0)
    assert (went_on.likelihood(post, post.problem.plan.scene.targets["roll"], (0.1, 100.0)) == 1).all()


def test_a_change_that_nobody_sees_is_charged(shop: inkhorn.Workshop) -> None:
    """A drop of water changes nothing to be seen and costs for it; half as much again does not; iron in excess is a harm."""
    actions, table, still = _laid(shop)
    table = attrs.evolve(table, still=still)
    water = next(i for i, a in enumerate(actions) if a.kind == "add-liquid")
    iron = next(i for i, a in enumerate(actions) if a.kind == "add-lot")
    rows = np.zeros((4, len(actions)))
    rows[1, water], rows[2, water], rows[3, iron] = 0.01, 200.0, actions[iron].most
    outcome = try_courses(table, actions, rows)
    seen = changes(outcome, table)
    assert seen[0] == pytest.approx(0, abs=1e-9)
    assert seen[1] < 0.1
    assert seen[2] > 1
    cost = judge(table, outcome, actions, rows).cost.mean(axis=1)
    assert cost[1] - cost[0] > value("counsel.weight.trifle")
    assert list(harms(outcome, table)) == [False, False, False, True]


def test_where_no_reading_turns_the_counsel_the_most_telling_is_asked_for(shop: inkhorn.Workshop) -> None:
    """It is a reading that counsel knows, told as what it makes surer; none where nothing is unsure."""
    _, table, still = _laid(shop)
    check = to_know(table, still, quick_readings(table))[0]
    assert check.gain == 0
    assert re.search(
        r"that tells best (how far .* surer|whether the ink flows|whether the tannin holds)", check.sentence
    )
    certain = attrs.evolve(table, aim=np.broadcast_to(table.goal.density, table.aim.shape).copy())
    sure = attrs.evolve(
        still,
        density=np.broadcast_to(still.density.mean(axis=1, keepdims=True), still.density.shape).copy(),
        flow_ok=np.ones_like(still.flow_ok),
        permanence_ok=np.ones_like(still.permanence_ok),
    )
    assert to_know(certain, sure, quick_readings(certain)) == ()
    # Where all else is sure, whether the iron keeps its limit is what is asked about.
    torn = attrs.evolve(sure, permanence_ok=still.iron_ratio <= np.median(still.iron_ratio))
    assert "tannin holds the iron" in to_know(certain, torn, quick_readings(certain))[0].sentence
    # Where what will be written is sure, and the page is not, only what is held against the page tells.
    assert to_know(table, sure, quick_readings(table))[0].reading in {"page", "depth", "hue"}


def test_what_is_learnt_of_the_page_serves_more_than_the_next_stroke(
    shop: inkhorn.Workshop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page stays while the pot changes: counted for enough strokes to come, to photograph it once more comes first."""
    _, table, still = _laid(shop)
    usual = checks.value
    for strokes, first in ((0.0, False), (100.0, True)):
        monkeypatch.setattr(
            checks, "value", lambda n, k=strokes: k if n == "counsel.check.page.serves" else usual(n)
        )
        assert (to_know(table, still, quick_readings(table))[0].reading == "page") is first


@pytest.mark.parametrize(
    ("amount", "unit", "text"),
    [(1.0, "g", "1.0 g"), (0.62, "g", "0.62 g"), (6.0, "ml", "6.0 ml"), (350, "ml", "350 ml")],
)
def test_an_amount_is_written_as_closely_as_it_is_meant(amount: float, unit: str, text: str) -> None:
    """A course of "1 g" would be read back as weighed to the gram only, and its outcome as anybody's guess."""
    assert written(amount, unit) == text
    entry = decode({"at": "2026-09-14T11:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": text})
    assert isinstance(entry, Add)
    assert entry.amount.value == amount
    assert entry.amount.scale() < 0.11
