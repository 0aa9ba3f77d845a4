"""What is wrong with a pot: each reading moves the odds its own way, and the answer keeps to its schema."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from inkhorn.counsel.wrong import checks
from inkhorn.counsel.wrong.asked import look
from inkhorn.errors import CounselError
from inkhorn.workshop import Workshop
from support.answers import faults

BASE: list[dict[str, Any]] = [
    {"kind": "gather", "lot": "galls", "material": "oak galls", "amount": "300 g"},
    {"kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "200 g"},
    {"kind": "gather", "lot": "gum", "material": "gum arabic", "amount": "100 g"},
    {"kind": "support", "name": "skin-1", "material": "goat parchment"},
    {"kind": "steep", "lot": "galls", "amount": "60 g", "liquid": "spring water", "liquid_amount": "1 L",
     "into": "tub", "for": "24 h", "pieces": "crushed"},
    {"kind": "strain", "vessel": "tub", "into": "pot"},
    {"kind": "add", "into": "pot", "lot": "vitriol", "amount": "25 g"},
    {"kind": "add", "into": "pot", "lot": "gum", "amount": "25 g"},
    {"kind": "mark", "vessel": "pot", "trial": "t1", "support": "skin-1", "method": "pen", "pen": "quill-1"},
]  # fmt: skip


def asked(
    folder: Path,
    complaint: str,
    more: Iterable[dict[str, Any]] = (),
    *,
    instead: dict[int, dict[str, Any]] | None = None,
    **how: Any,
) -> dict[str, Any]:
    """Return the answer about a pot of ink, some entries changed, some more noticed."""
    entries = [{**e, **(instead or {}).get(i, {})} for i, e in enumerate(BASE)]
    with Workshop.create(folder) as shop:
        for hour, entry in enumerate([*entries, *more]):
            # The steep takes its day: what comes after it is dated after it.
            day = 2 if hour < 5 else 4
            shop.record({"at": f"2026-10-{day:02d}T{hour:02d}:00", **entry})
        return shop.why(complaint, **how).to_dict()


def chance(answer: dict[str, Any], cause: str) -> float:
    """Return how likely a cause is said to be."""
    return next(c["chance"] for c in answer["causes"] if c["cause"] == cause)


def lift(answer: dict[str, Any], cause: str) -> float:
    """Return by how much the pot raised a cause."""
    return next(c["lift"] for c in answer["causes"] if c["cause"] == cause)


def reading(of: str, what: str, value: str, **more: Any) -> dict[str, Any]:
    """Return a reading."""
    return {"kind": "reading", "of": of, "what": what, "value": value, **more}


@pytest.mark.parametrize(
    ("complaint", "cause", "noticed"),
    [
        ("beads", "greasy-skin", reading("support:skin-1", "absorbency", "beads")),
        ("blotchy", "absorbent-skin", reading("support:skin-1", "absorbency", "blots")),
        ("mouldy", "mould", reading("vessel:pot", "surface", "mould skin")),
        ("sediment", "hard-water", reading("vessel:pot", "ph", "5", **{"with": "strip"})),
        ("eats my nib", "too-acid", reading("vessel:pot", "ph", "1", **{"with": "strip"})),
        ("flakes", "too-much-gum", reading("vessel:pot", "viscosity", "6 mPa s")),
        ("pale", "weak-extract", reading("vessel:pot", "total_phenols", "3 g/L")),
    ],
)
def test_a_reading_raises_what_it_shows(
    tmp_path: Path, complaint: str, cause: str, noticed: dict[str, Any]
) -> None:
    """With the reading the cause is likelier than without it: readings enter through the estimate."""
    without = asked(tmp_path / "a", complaint)
    told = asked(tmp_path / "b", complaint, [noticed])
    assert chance(told, cause) > 1.15 * chance(without, cause)
    assert lift(told, cause) > lift(without, cause)


@pytest.mark.parametrize(
    ("complaint", "cause", "noticed"),
    [
        ("beads", "greasy-skin", reading("support:skin-1", "absorbency", "drinks")),
        ("sediment", "hard-water", reading("vessel:pot", "ph", "2.5", **{"with": "strip"})),
        ("eats my nib", "too-acid", reading("vessel:pot", "ph", "3.5", **{"with": "strip"})),
        ("flakes", "too-much-gum", reading("vessel:pot", "body", "watery")),
    ],
)
def test_a_reading_lowers_what_it_excludes(
    tmp_path: Path, complaint: str, cause: str, noticed: dict[str, Any]
) -> None:
    """With a reading against it the cause is less likely than without."""
    assert chance(asked(tmp_path / "b", complaint, [noticed]), cause) < chance(
        asked(tmp_path / "a", complaint), cause
    )


def test_what_went_in_counts(tmp_path: Path) -> None:
    """Five times the vitriol makes too much iron the first answer to browning; none of it makes it unlikely."""
    much = asked(tmp_path / "a", "browned", instead={6: {"amount": "125 g"}})
    little = asked(tmp_path / "b", "browned", instead={6: {"amount": "3 g"}})
    assert much["causes"][0]["cause"] == "too-much-iron"
    assert lift(much, "too-much-iron") > 3
    assert lift(little, "too-much-iron") < 1
    assert chance(little, "too-much-iron") < chance(much, "too-much-iron") / 2


def test_rain_is_never_hard(tmp_path: Path) -> None:
    """Steeped on rainwater, hard water is less likely than common practice has it."""
    answer = asked(tmp_path / "a", "sediment", instead={4: {"liquid": "rainwater"}})
    assert lift(answer, "hard-water") < 0.5


def test_the_answer_keeps_to_its_schema_and_adds_up(tmp_path: Path) -> None:
    """It validates, chances make one, the likeliest comes first and what is none of them last."""
    answer = asked(tmp_path / "a", "pale", trial="t1", found=["thinned-drop: pale"])
    assert faults("why", answer) == []
    chances = [c["chance"] for c in answer["causes"]]
    assert sum(chances) == pytest.approx(1, abs=1e-3)
    assert chances[:-1] == sorted(chances[:-1], reverse=True)
    assert answer["causes"][-1]["cause"] == "something-else"
    assert answer["basis"] == "pot"
    outcomes = answer["check"]["outcomes"]
    assert sum(o["chance"] for o in outcomes) == pytest.approx(1, abs=1e-3)
    assert answer["check"]["check"] != "thinned-drop"
    assert answer["found"] == [{"check": "thinned-drop", "outcome": "pale"}]


def test_a_reading_taken_is_not_asked_for_again(tmp_path: Path) -> None:
    """How fast it drops is not asked for where the body was noticed; after more gum went in, it may be again."""
    body = reading("vessel:pot", "body", "flows well")
    more = {"kind": "add", "into": "pot", "lot": "gum", "amount": "1 g"}
    with Workshop.create(tmp_path / "a") as shop:
        for hour, entry in enumerate([*BASE, body]):
            shop.record({"at": f"2026-10-{2 if hour < 5 else 4:02d}T{hour:02d}:00", **entry})
        pot = look(shop._posterior(0), "pot", None)
        shop.record({"at": "2026-10-04T20:00", **more})
        stirred = look(shop._posterior(0), "pot", None)
    assert pot is not None
    assert stirred is not None
    assert "ten-drops" in checks.known_already(pot.taken, True, ())
    assert "ten-drops" not in checks.known_already(stirred.taken, True, ())
    assert "ph-strip" not in checks.known_already(pot.taken, True, ())


def test_an_empty_daybook_is_answered_by_common_practice(tmp_path: Path) -> None:
    """Nothing is known of the pot: no lift, the basis says so, and the note too."""
    with Workshop.create(tmp_path / "empty") as shop:
        answer = shop.why("beads").to_dict()
    assert faults("why", answer) == []
    assert answer["basis"] == "common practice"
    assert "Nothing is known of the pot" in answer["note"]
    assert all(c["lift"] is None and c["because"] is None for c in answer["causes"])
    assert answer["causes"][0]["cause"] == "greasy-skin"
    assert answer["check"] is not None


def test_hazards_are_named_where_they_are(tmp_path: Path) -> None:
    """Mould is never to be tasted or smelt, free iron and acid eat nib and page; the general line comes last."""
    with Workshop.create(tmp_path / "empty") as shop:
        mould = shop.why("mouldy").to_dict()
        nib = shop.why("eats the nib").to_dict()
    assert any("Never taste" in text for text in mould["cautions"])
    assert any("parchment" in text for text in nib["cautions"])
    assert any("Acid burns" in text for text in nib["cautions"])
    for answer in (mould, nib):
        assert answer["cautions"][-1].startswith("These are general cautions")


@pytest.mark.parametrize("how", [{"vessel": "nowhere"}, {"trial": "t9"}])
def test_what_is_not_there_is_refused(tmp_path: Path, how: dict[str, str]) -> None:
    """An unknown vessel or trial is an error that names those there are."""
    with Workshop.create(tmp_path / "empty") as shop, pytest.raises(CounselError) as error:
        shop.why("pale", **how)
    assert "Known" in error.value.mend


def test_several_pots_must_be_told_apart(tmp_path: Path) -> None:
    """Where two pots were written with, one must be named."""
    second = {"kind": "mark", "vessel": "tub", "trial": "t2", "support": "skin-1", "method": "dip"}
    with pytest.raises(CounselError, match="more than one vessel"):
        asked(tmp_path / "a", "pale", [second])
