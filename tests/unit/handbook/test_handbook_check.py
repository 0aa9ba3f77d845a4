"""The check of the handbook finds each thing a row may lack."""

from __future__ import annotations

import pytest

from inkhorn.handbook.check import bibliography, check, check_tables, keys_of

BOOKS = {"IAPWS2008": "a full reference", "SPARE": "another"}
GOOD = {
    "what": "viscosity of water",
    "value": 0.89,
    "unit": "mPa s",
    "spread": 0.01,
    "mark": "published",
    "source": "IAPWS2008, table 2",
}


def _without(field: str) -> dict[str, object]:
    return {key: value for key, value in GOOD.items() if key != field}


def test_a_whole_row_has_no_fault() -> None:
    """A row with all its parts and a known source passes, and its source counts as used."""
    report = check_tables({"water": {"viscosity": GOOD}}, BOOKS)
    assert report.passed
    assert report.rows == 1
    assert report.unused == ("SPARE",)
    assert report.marks["published"] == 1


@pytest.mark.parametrize("field", ["what", "unit", "spread", "mark", "source", "value"])
def test_each_missing_part_is_a_fault(field: str) -> None:
    """A row that lacks one part is named, with that part."""
    report = check_tables({"water": {"viscosity": _without(field)}}, BOOKS)
    assert not report.passed
    assert report.faults[0].where == "water.viscosity"
    assert field in report.faults[0].what


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"source": "NOBODY1900, p. 1"}, "NOBODY1900"),
        ({"mark": "hearsay"}, "hearsay"),
        ({"spread": -1}, "negative"),
        ({"value": "much"}, "not a number"),
        ({"shape": "round"}, "round"),
        ({"colour": "blue"}, "colour"),
        ({"mark": "memory", "spread": 0, "source": ""}, "no spread"),
    ],
)
def test_each_wrong_part_is_a_fault(change: dict[str, object], word: str) -> None:
    """A wrong source, mark, spread, value, shape or field is named in the fault."""
    report = check_tables({"water": {"viscosity": GOOD | change}}, BOOKS)
    assert any(word in fault.what for fault in report.faults)


def test_all_faults_come_at_once() -> None:
    """Two bad rows give two faults in one run."""
    tables = {"a": {"x": _without("unit")}, "b": {"deep": {"y": _without("mark")}}}
    assert {fault.where for fault in check_tables(tables, BOOKS).faults} == {"a.x", "b.deep.y"}


def test_rows_from_memory_are_listed() -> None:
    """A row given from memory passes with a spread, and is listed by name."""
    report = check_tables({"water": {"guess": GOOD | {"mark": "memory", "source": ""}}}, BOOKS)
    assert report.passed
    assert report.memory == ("water.guess",)


def test_a_grid_needs_its_description_beside_it() -> None:
    """A CSV without a TOML of the same name is a fault; with one it needs no value or spread."""
    described = {"observer": {"what": "curves", "mark": "published", "source": "IAPWS2008"}}
    assert check_tables({}, BOOKS, grids={"observer": False}).faults[0].where == "observer.csv"
    report = check_tables(described, BOOKS, grids={"observer": True})
    assert (report.passed, report.rows, report.grids) == (True, 0, 1)


def test_keys_are_the_first_word_of_each_part() -> None:
    """Pages and remarks after a key are not keys."""
    assert keys_of("COOL, entry galls; PAAVER (table 2)") == ("COOL", "PAAVER")
    assert keys_of("") == ()


def test_the_handbook_that_is_shipped_passes() -> None:
    """Every row of the installed tables has unit, spread, mark and a known source."""
    report = check()
    assert report.rows > 100
    assert [f"{fault.where}: {fault.what}" for fault in report.faults] == []


def test_every_reference_is_cited() -> None:
    """No bibliography entry stands unused by a row, a grid or a docstring."""
    assert bibliography()[1] == ()
    assert check().unused == ()
