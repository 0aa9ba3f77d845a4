"""An entry as one line: whole, in words that a maker says. The entries are made up (the invented Saltmere roll)."""

from __future__ import annotations

import pytest

from inkhorn.daybook.schema import KINDS
from inkhorn.report import lines

# Told apart from the line, or in words of their own.
_ELSEWHERE = {"amend": {"entry", "replacement"}}


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_no_key_is_left_out_of_the_line(kind: str) -> None:
    """What a maker told is read back whole: each key of a kind stands in its line with what it holds."""
    values = {key.name: f"x{n}x" for n, key in enumerate(KINDS[kind].keys)}
    told = lines.sentence({"kind": kind, **values})
    missing = {key for key, value in values.items() if value not in told.casefold()}
    assert missing <= _ELSEWHERE.get(kind, set())


def test_lengths_are_said_as_one_says_them() -> None:
    """One of anything is a word; a figure takes its unit whole; other words stay as they were told."""
    told = {"1 days": "a day", "1 h": "an hour", "18 h": "18 hours", "2,5 d": "2,5 days", "30 min": "30 minutes",
            "overnight": "overnight", "about 18 h": "about 18 h", "1 h 30 min": "1 h 30 min"}  # fmt: skip
    for given, said in told.items():
        assert lines.sentence({"kind": "rest", "vessel": "pot", "for": given}) == f"Let pot rest for {said}"


def test_a_lid_a_mark_and_a_heat_are_words_of_the_bench() -> None:
    """No "covered: yes", no "by line", no "at gentle"."""
    rest = {"kind": "rest", "vessel": "pot", "for": "2 days"}
    assert lines.sentence({**rest, "covered": True}) == "Let pot rest for 2 days, covered"
    assert lines.sentence({**rest, "covered": False}) == "Let pot rest for 2 days, uncovered"
    mark = {"kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "pen": "reed-3mm"}
    assert (
        lines.sentence({**mark, "method": "line"})
        == "Mark t1 with pot on goat 1: a written line, with reed 3mm"
    )
    for method in ("dip", "drop", "pen", "line", "pangram"):
        assert method not in lines.sentence({**mark, "method": method}).partition(": ")[2].split()[:2] or (
            method in {"drop", "pen"}
        )
    assert lines.sentence({"kind": "reduce", "vessel": "pot", "for": "20 min", "heat": "gentle"}) == (
        "Boil pot down for 20 minutes at a gentle heat"
    )
    steep = {
        "kind": "steep",
        "lot": "sumac-leaf",
        "amount": "1 kg",
        "liquid": "water",
        "liquid_amount": "4 L",
    }
    assert lines.sentence({**steep, "into": "tub", "for": "1 day", "temperature": "17 degC"}).endswith(
        "into tub, for a day, at 17 °C"
    )
    assert lines.sentence({**steep, "into": "tub", "for": "1 day", "temperature": "lukewarm"}).endswith(
        "for a day, lukewarm"
    )


def test_trials_held_together_make_a_sentence() -> None:
    """What is darker than what, without the name of the reading."""
    reading = {"kind": "reading", "of": "trial:t4", "what": "than"}
    assert lines.sentence({**reading, "value": "darker t3"}) == "t4 is darker than t3".capitalize()
    assert lines.sentence({**reading, "value": "same t3"}) == "T4 is the same as t3"
    ph = {"kind": "reading", "of": "vessel:pot", "what": "ph", "value": "3", "with": "strip"}
    assert lines.sentence(ph) == "Noticed of pot: pH 3, with strip"


def test_a_correction_says_what_stands_instead() -> None:
    """The whole of what replaces an entry is read back, with its time: that may be all that was mended."""
    instead = {"at": "2026-09-13T14:00", "kind": "add", "into": "pot", "lot": "chalk", "amount": "5 g"}
    assert lines.sentence({"kind": "amend", "entry": 16, "replacement": instead}) == (
        "Mend entry 16: add 5 g of chalk into pot (13 September 2026, 14:00)"
    )


def test_marc_that_is_only_set_aside() -> None:
    """Strained into the same vessel is no pouring."""
    assert (
        lines.sentence({"kind": "strain", "vessel": "tub", "into": "tub"})
        == "Strain tub and set its marc aside"
    )
