"""JSON to entries: what is understood, and how faults are told."""

from __future__ import annotations

import pickle
from datetime import datetime, timedelta, timezone

import pytest

from inkhorn.daybook.entries import Amend, Reduce, Steep
from inkhorn.daybook.wire import decode, encode, upcast
from inkhorn.errors import (
    EntryError,
    EntryErrors,
    MissingKeyError,
    QuantityError,
    TimeError,
    UnknownKeyError,
    UnknownNameError,
)

STEEP = {
    "at": "2026-09-12T10:15",
    "kind": "steep",
    "lot": "sumac-leaf",
    "amount": "640 g",
    "liquid": "spring water",
    "liquid_amount": "about 5 L",
    "into": "tub",
    "for": "18 h",
    "temperature": "17 degC",
    "pieces": "crushed",
}


def faults(raw: object) -> tuple[EntryError, ...]:
    """Return the faults of an entry that must not be understood."""
    with pytest.raises(EntryErrors) as caught:
        decode(raw)  # type: ignore[arg-type]
    return caught.value.faults  # type: ignore[return-value]


def test_a_steep() -> None:
    """A whole steep is read into its class."""
    entry = decode(STEEP)
    assert isinstance(entry, Steep)
    assert entry.at == datetime(2026, 9, 12, 10, 15)  # noqa: DTZ001 - local
    assert (entry.lot, entry.liquid, entry.into, entry.pieces) == (
        "sumac-leaf",
        "spring-water",
        "tub",
        "crushed",
    )
    assert (entry.amount.value, entry.liquid_amount.sd, entry.for_.value) == (640, 750, 64800)
    assert entry.temperature.value == 17


def test_names_are_stored_one_way() -> None:
    """Case and spaces of a name do not make another thing."""
    entry = decode({**STEEP, "lot": "Sumac leaf", "into": " The_Tub "})
    assert (entry.lot, entry.into) == ("sumac-leaf", "the-tub")


def test_all_faults_at_once() -> None:
    """Six faults of one entry are told together, each with its key."""
    raw = {
        "at": "yesterday",
        "kind": "steep",
        "lott": "x",
        "amount": "-5 g",
        "liquid": "sprng water",
        "liquid_amount": "3 h",
        "into": "tub",
    }
    found = faults(raw)
    kinds = {type(fault) for fault in found}
    assert {TimeError, UnknownKeyError, QuantityError, UnknownNameError, MissingKeyError} <= kinds
    where = {fault.where for fault in found}
    assert {"steep at", "steep amount", "steep liquid", "steep liquid_amount"} <= where
    assert len(found) >= 6


def test_the_nearest_key_is_named() -> None:
    """A misspelt key names the one that was meant."""
    (fault,) = faults({**STEEP, "temprature": "17 degC"})
    assert isinstance(fault, UnknownKeyError)
    assert "temperature" in fault.mend


def test_the_nearest_material_is_named() -> None:
    """A misspelt material names the one that was meant."""
    (fault,) = faults(
        {"at": "2026-08-20T10:00", "kind": "gather", "lot": "l", "material": "sumak leaf", "amount": "1 kg"}
    )
    assert isinstance(fault, UnknownNameError)
    assert "sumac" in fault.mend


def test_the_nearest_kind_is_named() -> None:
    """A misspelt kind names the one that was meant."""
    (fault,) = faults({"at": "2026-09-12T10:15", "kind": "steap"})
    assert "steep" in fault.mend


def test_errors_can_be_sent_between_processes() -> None:
    """The faults survive pickling and have one JSON shape."""
    error = EntryErrors(faults({**STEEP, "for": "3 kg", "into": ""}))
    again = pickle.loads(pickle.dumps(error))  # noqa: S301 - our own bytes
    assert again.sentence() == error.sentence()
    assert [fault["error"] for fault in again.to_dict()["faults"]] == [type(f).__name__ for f in error.faults]


@pytest.mark.parametrize("raw", [None, [], "x", 3, {}, {"kind": 3}, {"kind": None, "at": "2026-09-12T10:15"}])
def test_what_is_no_entry(raw: object) -> None:
    """Anything but an object with a kind is refused as our own error."""
    assert faults(raw)


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("2026-09-12T10:15", (2026, 9, 12, 10, 15, 0)),
        ("2026-09-12 10:15", (2026, 9, 12, 10, 15, 0)),
        ("2026-09-12T10:15:30", (2026, 9, 12, 10, 15, 30)),
        ("20260912T1015", (2026, 9, 12, 10, 15, 0)),
    ],
)
def test_times(text: str, at: tuple[int, ...]) -> None:
    """ISO 8601 with or without seconds; without an offset it is local."""
    entry = decode({"at": text, "kind": "remark", "text": "x"})
    assert entry.at == datetime(*at)  # type: ignore[arg-type]  # noqa: DTZ001


def test_an_offset_is_brought_to_local_time() -> None:
    """A time with an offset is the same moment, told as the local clock tells it."""
    moment = datetime(2026, 9, 12, 10, 15, tzinfo=timezone(timedelta(hours=5, minutes=30)))
    entry = decode({"at": moment.isoformat(), "kind": "remark", "text": "x"})
    assert entry.at.tzinfo is None
    assert entry.at.astimezone() == moment


@pytest.mark.parametrize("text", ["2026-09-12", "12.9.2026 10:15", "10:15", "2026-13-01T10:15", "", 5, True])
def test_times_refused(text: object) -> None:
    """What is no date and time is refused with an example of one."""
    (fault,) = faults({"at": text, "kind": "remark", "text": "x"})
    assert isinstance(fault, TimeError)
    assert "T10:15" in fault.mend


@pytest.mark.parametrize(
    "keys",
    [
        {"lot": "gum", "amount": "5 g", "liquid": "water"},
        {"liquid": "water", "amount": "5 ml", "up_to": "1 L"},
        {"lot": "gum"},
        {"liquid": "water"},
        {"amount": "5 ml"},
        {},
    ],
)
def test_add_takes_one_form(keys: dict[str, str]) -> None:
    """Add is a lot and an amount, or a liquid with an amount or a level: nothing between."""
    assert any(
        "add" in fault.what
        for fault in faults({"at": "2026-09-12T10:15", "kind": "add", "into": "t", **keys})
    )


@pytest.mark.parametrize(
    ("keys", "whole"),
    [
        ({"to": "700 ml"}, True),
        ({"to": "half"}, True),
        ({"to": "700 ml", "for": "2 h"}, True),
        ({"for": "2 h", "heat": "simmer"}, True),
        ({"for": "2 h"}, False),
        ({"heat": "simmer"}, False),
        ({}, False),
    ],
)
def test_reduce_is_to_something_or_for_a_time(keys: dict[str, str], whole: bool) -> None:
    """Reduce needs a volume, or a time and a heat."""
    raw = {"at": "2026-09-12T10:15", "kind": "reduce", "vessel": "pot", **keys}
    if whole:
        assert isinstance(decode(raw), Reduce)
    else:
        assert isinstance(faults(raw)[0], MissingKeyError)


def test_steep_of_lot_or_marc() -> None:
    """A steep is of a lot or of a marc, never of both or neither."""
    plain = {k: v for k, v in STEEP.items() if k not in ("lot", "amount")}
    assert decode({**plain, "marc_of": "tub"}).marc_of == "tub"
    assert faults(plain)
    assert faults({**STEEP, "marc_of": "tub"})


def test_null_is_not_given() -> None:
    """A key that is null is a key that is not there."""
    assert decode({**STEEP, "temperature": None}).temperature is None
    assert isinstance(faults({**STEEP, "into": None})[0], MissingKeyError)


def test_an_amendment_holds_a_whole_entry() -> None:
    """The replacement is read like any entry, and its faults are told."""
    raw = {"at": "2026-09-14T08:00", "kind": "amend", "entry": 2, "replacement": STEEP}
    entry = decode(raw)
    assert isinstance(entry, Amend)
    assert entry.replacement == decode(STEEP)
    assert faults({**raw, "replacement": {**STEEP, "for": "5 g"}})
    assert faults({**raw, "replacement": raw})
    assert faults({**raw, "replacement": "x"})
    assert faults({**raw, "entry": 0})
    assert faults({**raw, "entry": True})


def test_an_action_without_a_time() -> None:
    """What is only advised is written without a time."""
    assert "at" not in encode(decode(STEEP), at=False)


def test_upcasting_goes_step_by_step() -> None:
    """Old JSON passes through every version between; JSON from the future is refused."""
    steps = {
        1: lambda raw: {**raw, "kind": "steep"},
        2: lambda raw: {**raw, "for": raw["for"] + " h"},
    }
    assert upcast({"kind": "soak", "for": "18"}, 1, steps=steps, newest=3) == {"kind": "steep", "for": "18 h"}
    assert upcast({"kind": "soak", "for": "18"}, 2, steps=steps, newest=3)["kind"] == "soak"
    with pytest.raises(EntryError, match="Update inkhorn"):
        upcast({}, 4, steps=steps, newest=3)


def test_iron_and_sulfides_are_recorded_like_any_other() -> None:
    """Kinds and materials that are hard to reckon with are no less written down."""
    at = {"at": "2026-09-12T10:15"}
    for raw in (
        {"kind": "weather", "lot": "pyrite", "amount": "2 kg", "liquid": "rainwater", "liquid_amount": "1 L",
         "into": "tub", "for": "90 days"},
        {"kind": "neutralise", "vessel": "tub", "lot": "iron-filings", "amount": "50 g", "for": "2 days"},
        {"kind": "crystallise", "vessel": "tub", "lot": "green-1", "amount": "120 g"},
        {**STEEP, "lot": "iron-nails", "amount": "50 g", "liquid": "vinegar"},
        {"kind": "add", "into": "tub", "lot": "marcasite", "amount": "20 g"},
    ):  # fmt: skip
        assert decode({**at, **raw}).kind == raw["kind"]
