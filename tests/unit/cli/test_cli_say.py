"""``inkhorn record DIR "a sentence"``: recorded at once, or one question on standard error."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import inkhorn
from inkhorn.cli.main import command_of
from inkhorn.daybook.book import effective


@pytest.fixture
def workshop(tmp_path: Path) -> Path:
    """Return an empty workshop."""
    inkhorn.Workshop.create(tmp_path / "w").close()
    return tmp_path / "w"


def _say(workshop: Path, *words: str) -> Result:
    return CliRunner().invoke(command_of("record"), [str(workshop), *words, "--at", "2026-09-12T10:15"])


def _book(workshop: Path) -> list[dict]:
    with inkhorn.Workshop.open(workshop) as shop:
        return [line.to_dict() for line in shop.daybook]


def test_a_sentence_is_read_back(workshop: Path) -> None:
    """What was understood is recorded and said back with its number and the way to take it back."""
    done = _say(workshop, "gathered 640 g of alder cones by the weir")
    assert done.exit_code == 0, done.output
    assert "1  Gather 640 g of alder cones" in done.stdout
    assert "void 1" in done.stdout
    assert _book(workshop)[0]["source"] == "by the weir"


def test_several_steps_are_taken_back_together(workshop: Path) -> None:
    """The way back that is printed takes all of it back, by sentence and by JSON; nothing is deleted."""
    course = [
        {
            "at": "2026-09-12T09:00",
            "kind": "bring",
            "vessel": "pot",
            "material": "oak galls",
            "amount": "2 L",
        },
        {"at": "2026-09-12T09:30", "kind": "reduce", "vessel": "pot", "to": "1 L"},
        {"at": "2026-09-12T09:40", "kind": "add", "into": "pot", "lot": "plum-gum", "amount": "5 g"},
    ]
    done = CliRunner().invoke(command_of("record"), [str(workshop), json.dumps(course)])
    assert done.exit_code == 0, done.output
    assert 'To take them back: inkhorn record DIR "void 1, 2, 3"' in done.stdout
    said = _say(workshop, "stirred 10 g of plum gum and 20 g of bought vitriol into the pot", "--yes")
    assert said.exit_code == 0, said.output
    assert 'To take both back: inkhorn record DIR "void 4, 5"' in said.stdout
    assert _say(workshop, "void 4, 5").exit_code == 0
    assert [(line["kind"], line["entry"]) for line in _book(workshop)[5:]] == [("void", 5), ("void", 4)]
    assert _say(workshop, "void 2, 3").exit_code == 0
    assert len(_book(workshop)) == 9
    with inkhorn.Workshop.open(workshop) as shop:
        assert [line.number for line in effective(shop.daybook)] == [1]


@pytest.mark.parametrize(
    ("said", "struck"),
    [("undo the last two", [3, 2]), ("strike out entries 1 to 3", [3, 2, 1]), ("void 1 and 3", [3, 1]),
     ("scrap the last three entries", [3, 2, 1]), ("void 3", [3]), ("take back 2 and 3", [3, 2])],
)  # fmt: skip
def test_several_entries_are_named_together(workshop: Path, said: str, struck: list[int]) -> None:
    """A list, a range, or the last so many: each is struck out, the newest first; none is dropped without a word."""
    for n in range(1, 4):
        assert _say(workshop, f"note: tide {n}").exit_code == 0
    done = _say(workshop, said)
    assert done.exit_code == 0, done.output
    assert [line["entry"] for line in _book(workshop)[3:]] == struck


@pytest.mark.parametrize(
    "said", ["undo the last nine", "void 2, 7", "undo the last five", "scrap the last few"]
)
def test_entries_that_are_not_there_are_asked_for(workshop: Path, said: str) -> None:
    """More than there are, or one that is not there: asked, and none of them struck out."""
    for n in range(1, 4):
        assert _say(workshop, f"note: tide {n}").exit_code == 0
    assert _say(workshop, said).exit_code == 2
    assert len(_book(workshop)) == 3


def test_what_lacks_something_is_asked(workshop: Path) -> None:
    """One question on standard error, exit code 2, and nothing in the book."""
    asked = _say(workshop, "steep 300 g of the cones in 2 l of rainwater in the tub")
    assert asked.exit_code == 2
    assert "For how long?" in asked.stderr
    assert _book(workshop) == []


def test_a_guess_is_recorded_with_yes(workshop: Path) -> None:
    """A misspelt word is told, and recorded only with --yes."""
    guessed = _say(workshop, "gathered 640 g of aldar cones")
    assert guessed.exit_code == 2
    assert "aldar as alder" in guessed.stdout
    assert _book(workshop) == []
    assert _say(workshop, "gathered 640 g of aldar cones", "--yes").exit_code == 0
    assert len(_book(workshop)) == 1


def test_chatter_becomes_a_remark_only_where_told(workshop: Path) -> None:
    """What is no entry is refused with the way to keep it; with --remark it is kept as it was said."""
    refused = _say(workshop, "a heron on the weir")
    assert refused.exit_code == 2
    assert "--remark" in refused.stderr
    assert _say(workshop, "a heron on the weir", "--remark").exit_code == 0
    assert _book(workshop)[0]["text"] == "a heron on the weir"


def test_a_dry_sentence_is_only_read(workshop: Path) -> None:
    """--dry says how it would be understood and stores nothing."""
    tried = _say(workshop, "gathered 640 g of alder cones", "--dry")
    assert tried.exit_code == 0
    assert "Gather 640 g of alder cones" in tried.stdout
    assert _book(workshop) == []


def test_the_answer_as_json(workshop: Path) -> None:
    """With --json the whole answer comes in parts."""
    done = _say(workshop, "--json", "gathered 640 g of alder cones")
    answer = json.loads(done.stdout)
    assert answer["outcome"] == "recorded"
    assert answer["entries"][0]["entry"]["lot"] == "alder-cones"
