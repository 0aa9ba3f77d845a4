"""The invented roll: a record the daybook takes, labelled as invented, about a pot that is too pale and thin."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from inkhorn.daybook.check import check
from inkhorn.daybook.store.memory import MemoryStore
from inkhorn.daybook.wire import decode
from inkhorn.demo.story import EXEMPLAR, POT, Roll, make


@pytest.fixture(scope="module")
def roll(tmp_path_factory: pytest.TempPathFactory) -> Roll:
    """Return the roll, its pictures in a folder of their own."""
    return make(tmp_path_factory.mktemp("roll"))


def test_the_daybook_takes_every_entry(roll: Roll) -> None:
    """Each entry decodes and passes the daybook's own checks in the order of recording."""
    store = MemoryStore()
    for raw in roll.entries:
        entry = decode(raw)
        check(entry, store.recorded())
        store.append(raw, entry)
    assert 28 <= len(store.recorded()) <= 40


def test_it_says_that_it_is_invented(roll: Roll) -> None:
    """The first line says so, and nobody is named anywhere."""
    assert "Invented" in roll.entries[0]["text"]
    assert not any("who" in entry for entry in roll.entries)


def test_it_shows_steps_readings_remarks_pictures_and_a_mended_slip(roll: Roll) -> None:
    """All that a newcomer should see is there once at least."""
    kinds = {entry["kind"] for entry in roll.entries}
    assert {
        "gather",
        "steep",
        "strain",
        "reduce",
        "add",
        "rest",
        "mark",
        "reading",
        "remark",
        "amend",
    } <= kinds
    methods = {entry["method"] for entry in roll.entries if entry["kind"] == "mark"}
    assert methods == {"dip", "drop", "line", "pangram"}
    photos = [Path(entry["value"]) for entry in roll.entries if entry.get("what") == "photo"]
    assert len(photos) == 5
    for photo in photos:
        with Image.open(photo) as picture:
            assert "invented" in picture.getexif()[270]


def test_the_pot_is_too_pale_and_could_be_mended(roll: Roll) -> None:
    """The truth's stroke is clearly paler than the roll, its iron is not short, and boiling off a third comes close."""
    truth = roll.truth
    before = truth.distance(POT, EXEMPLAR)
    assert before > 6
    assert truth.stroke(f"vessel:{POT}", "goat-1").lab[0] > truth.original(EXEMPLAR).lab[0] + 6
    assert truth.true(POT)["iron_to_capacity"] < 1
    what_if = truth.copy()
    what_if.apply({"kind": "reduce", "vessel": POT, "to": "1.7 L"})
    assert what_if.distance(POT, EXEMPLAR) < before / 2


def test_the_slip_was_in_the_writing_only(roll: Roll) -> None:
    """The pot holds what the amended entry says, not what was first written down."""
    faulty = next(i for i, e in enumerate(roll.entries) if e.get("lot") == "vitriol" and e["kind"] == "add")
    amend = next(e for e in roll.entries if e["kind"] == "amend")
    assert amend["entry"] == faulty + 1
    true = roll.truth.true(POT)
    grams = true["iron_total"] * true["volume"] / 1e6 * 278.0
    assert grams == pytest.approx(float(amend["replacement"]["amount"].split()[0]), rel=0.15)
