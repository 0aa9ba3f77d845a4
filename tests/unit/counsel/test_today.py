"""The day's adjustment: water where water went, warmth where it is cold, nothing where nothing changed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from inkhorn.cli.main import cli
from inkhorn.counsel.daily.adjust import adjust
from inkhorn.counsel.daily.result import Likeness, Today
from inkhorn.counsel.daily.say import sentence
from inkhorn.errors import CounselError
from inkhorn.estimate.figures import Figure
from inkhorn.estimate.posterior import Posterior, sample_posterior
from inkhorn.handbook.load import group
from inkhorn.replay.fold import make_plan
from inkhorn.workshop import Workshop
from support.answers import faults
from support.daybooks import recorded

# An invented ink, poured into an inkwell in the morning and tried at 20 degC.
MADE: list[dict[str, Any]] = [
    {"at": "2026-09-12T10:00", "kind": "gather", "lot": "leaf", "material": "sumac leaf", "amount": "500 g"},
    {"at": "2026-09-12T10:01", "kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "200 g"},
    {"at": "2026-09-12T10:02", "kind": "gather", "lot": "gum", "material": "plum gum", "amount": "60 g"},
    {"at": "2026-09-12T10:15", "kind": "steep", "lot": "leaf", "amount": "200 g", "liquid": "spring water", "liquid_amount": "2000 ml", "into": "pot", "for": "18 h", "temperature": "17 degC", "pieces": "crushed"},
    {"at": "2026-09-13T05:00", "kind": "strain", "vessel": "pot", "into": "pot"},
    {"at": "2026-09-13T09:00", "kind": "reduce", "vessel": "pot", "to": "800 ml"},
    {"at": "2026-09-13T15:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "12 g"},
    {"at": "2026-09-13T15:05", "kind": "add", "into": "pot", "lot": "gum", "amount": "8 g"},
    {"at": "2026-09-14T09:00", "kind": "pour", "from": "pot", "into": "inkwell", "amount": "60 ml"},
    {"at": "2026-09-14T09:30", "kind": "discard", "vessel": "pot", "amount": "all"},
]  # fmt: skip
LIKE: dict[str, Any] = {"at": "2026-09-14T10:00", "kind": "mark", "vessel": "inkwell", "trial": "t1", "support": "goat-1", "method": "line", "pen": "reed-3mm", "temperature": "20 degC"}  # fmt: skip


def stored(how: str) -> list[dict[str, Any]]:
    """Return the record of an inkwell that stood so for the night."""
    return [*MADE, {"at": "2026-09-14T09:35", "kind": "store", "vessel": "inkwell", "how": how}, LIKE]


MORNING: dict[str, Any] = {"at": "2026-09-15T08:00", "kind": "remark", "text": "morning"}


def read(
    what: str, value: Any, of: str = "vessel:inkwell", at: str = "2026-09-15T08:05", **more: Any
) -> dict[str, Any]:
    """Return a reading of the morning."""
    return {"at": at, "kind": "reading", "of": of, "what": what, "value": value, **more}


def posterior(entries: list[dict[str, Any]]) -> Posterior:
    """Return the posterior of a record."""
    return sample_posterior(make_plan(recorded(sorted(entries, key=lambda e: e["at"]))), particles=192)


def asked(entries: list[dict[str, Any]], **how: Any) -> Today:
    """Ask about the inkwell."""
    return adjust(posterior(entries), "inkwell", like="t1", **{"temperature": "20 degC", **how})


def water_in(answer: Today) -> float:
    """Return the ml of water that an answer asks for."""
    actions = () if answer.adjustment is None else answer.adjustment.actions
    return sum(float(a["amount"].split()[0]) for a in actions if "liquid" in a)


def test_nothing_changed_is_left_alone() -> None:
    """A stoppered inkwell at the same warmth: leave it, and no entry is asked for."""
    answer = asked([*stored("stoppered"), MORNING])
    assert answer.adjustment is None
    assert answer.sentence.startswith("Leave it")
    assert answer.now.distance.median < 1.0


def test_water_that_went_is_put_back() -> None:
    """An inkwell that stood open and holds 45 of its 60 ml wants about the 15 ml back, and comes near the trial again."""
    answer = asked([*stored("open"), MORNING, read("volume", "45 ml", **{"with": "cylinder"}),
                    read("volume", "60 ml", at="2026-09-14T09:40", **{"with": "cylinder"})])  # fmt: skip
    assert answer.evaporated is not None
    assert answer.evaporated.median == pytest.approx(15, rel=0.2)
    assert water_in(answer) == pytest.approx(15, rel=0.3)
    assert answer.adjustment is not None
    assert answer.adjustment.after.distance.median < 0.4 * answer.now.distance.median
    assert answer.adjustment.after.thickness.median == pytest.approx(1, abs=0.08)
    assert "teaspoon" in answer.sentence or "tablespoon" in answer.sentence


def test_a_cold_morning_thickens() -> None:
    """At 8 degC an ink is thicker than it was at 20 (water alone by 1.38: IAPWS SR6-08), and warmth or water is told."""
    answer = asked([*stored("stoppered"), MORNING], temperature="8 degC")
    assert answer.now.thickness.median > 1.3
    assert answer.adjustment is not None
    kinds = {a["kind"] for a in answer.adjustment.actions}
    assert kinds <= {"warm", "add"}
    assert answer.adjustment.after.thickness.median == pytest.approx(1, abs=0.12)
    if "warm" in kinds:
        assert "warm water" in answer.sentence


def test_too_much_water_asks_for_stock_or_gum() -> None:
    """An ink thinned too far cannot be unthinned with water: what is told is something else, or to leave it."""
    thinned = [
        *stored("stoppered"),
        {
            "at": "2026-09-15T07:00",
            "kind": "add",
            "into": "inkwell",
            "liquid": "spring water",
            "amount": "25 ml",
        },
    ]
    answer = asked(thinned)
    assert water_in(answer) == 0
    assert answer.evaporated is None
    assert answer.now.thickness.median < 1


def test_time_alone_dries() -> None:
    """Asked three days later of an open inkwell, more has gone than asked the next morning."""
    post = posterior([*stored("open"), MORNING])
    soon = adjust(post, "inkwell", like="t1", temperature="20 degC")
    late = adjust(
        post,
        "inkwell",
        like="t1",
        temperature="20 degC",
        at=post.problem.plan.entries[-1].entry.at.replace(day=18),
    )
    assert soon.evaporated is not None
    assert late.evaporated is not None
    assert late.evaporated.median > 2 * soon.evaporated.median


@pytest.mark.parametrize(
    ("reading", "hint"),
    [
        (read("line_width", "4.2 mm", "trial:m1"), "wider"),
        (read("line_width", "2.2 mm", "trial:m1"), "narrower"),
        (read("flow", "floods", "trial:m1"), "wet"),
        (read("flow", "skips", "trial:m1"), "dry"),
        (read("line_width", "3.1 mm", "trial:m1"), None),
    ],
)
def test_the_pen_is_told_where_the_ink_is_not_at_fault(reading: dict[str, Any], hint: str | None) -> None:
    """A line that is off though the ink is as it was brings common practice about the pen, marked as such."""
    stroke = {**LIKE, "at": "2026-09-15T08:01", "trial": "m1"}
    then = read("line_width", "3.1 mm", "trial:t1", "2026-09-14T12:00")
    answer = asked([*stored("stoppered"), then, MORNING, stroke, reading], strokes=["m1"])
    assert [h.what for h in answer.hints] == ([] if hint is None else [hint])
    for told in answer.hints:
        assert told.mark == group("today.hint")[told.what]["mark"] == "common practice"


def test_no_hint_where_the_ink_explains_it() -> None:
    """An ink that is thicker by a half may well skip: that is the ink's, and no pen is blamed."""
    stroke = {**LIKE, "at": "2026-09-15T08:01", "trial": "m1"}
    answer = asked([*stored("stoppered"), MORNING, stroke, read("flow", "skips", "trial:m1")], strokes=["m1"], temperature="2 degC")  # fmt: skip
    assert answer.hints == ()


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({"vessel": "kettle", "like": "t1"}, "no vessel"),
        ({"vessel": "pot", "like": "t1"}, "empty"),
        ({"vessel": "inkwell", "like": "t9"}, "no trial"),
        ({"vessel": "inkwell", "like": "t1", "strokes": ["t9"]}, "no trial"),
    ],
)
def test_what_cannot_be_asked_is_said(how: dict[str, Any], told: str) -> None:
    """A wrong name is told in words."""
    with pytest.raises(CounselError) as error:
        adjust(posterior(stored("stoppered")), **how)
    assert told in error.value.sentence()


def test_commands_answer_in_words_and_json(tmp_path: Path) -> None:
    """`today` and `again` answer over a real workshop: in words, in JSON that keeps to its schema, and faults as one sentence."""
    with Workshop.create(tmp_path / "w") as shop:
        for entry in [*stored("open"), MORNING]:
            shop.record(entry)

    def run(*args: str, code: int = 0) -> str:
        result = CliRunner().invoke(cli, [args[0], str(tmp_path / "w"), *args[1:]])
        assert result.exit_code == code, result.output
        return result.output

    daily = json.loads(run("today", "--vessel", "inkwell", "--like", "t1", "--json"))
    assert faults("today", daily) == []
    assert daily["sentence"] in run("today", "--vessel", "inkwell", "--like", "t1")
    recipe = json.loads(run("again", "--vessel", "inkwell", "--ml", "500", "--json"))
    assert faults("again", recipe) == []
    assert recipe["steps"][0]["sentence"] in run("again", "--vessel", "inkwell", "--ml", "500")
    assert json.loads(run("again", "--trial", "t1", "--json"))["vessel"] == "inkwell"
    for wrong in (
        ("today", "--vessel", "inkwell", "--like", "t1", "--temperature", "14 g"),
        ("again", "--vessel", "jar"),
    ):
        answer = json.loads(run(*wrong, "--json", code=2))
        assert faults("error", answer) == []


def test_what_dried_away_is_never_told_in_powers_of_ten() -> None:
    """A pot of litres loses hundreds of ml: told as 370, not as 3.7e+02."""
    one = Figure(median=368.0, p05=12.4, p25=200.0, p75=900.0, p95=1612.0, unit="ml")
    same = Figure(median=1.0, p05=0.9, p25=1.0, p75=1.0, p95=1.1, unit="1")
    now = Likeness(distance=same, thickness=same, flow_ok=1.0)
    assert "about 370 ml dried away (between 12 and 1600)" in sentence([], "t1", now, now, one, alike=True)
