"""What the daybook refuses, and what it says when it takes something for granted."""

from __future__ import annotations

from datetime import datetime

import pytest

from inkhorn.daybook.check import check
from inkhorn.daybook.inventory import held_against
from inkhorn.daybook.wire import decode
from inkhorn.errors import EntryErrors, ImpossibleError, TimeError, UnknownNameError
from support.book_builder import Bench


def refused(bench: Bench, at: str, kind: str, **keys: object) -> EntryErrors:
    """Return the error of an entry that must not be recorded; the book is unchanged."""
    before = bench.book
    with pytest.raises(EntryErrors) as caught:
        bench.record(at, kind, **keys)
    assert bench.book == before
    return caught.value


class TestTime:
    """A later entry on a vessel waits until the step before it has ended."""

    def test_the_earliest_time_is_named(self) -> None:
        """A strain inside an 18 h steep of 10:15 is told 04:15 the next day."""
        error = refused(Bench().steeped(), "2026-09-13T03:00", "strain", vessel="tub", into="pot")
        assert isinstance(error.faults[0], TimeError)
        assert "2026-09-13T04:15" in error.sentence()

    def test_the_earliest_time_is_allowed(self) -> None:
        """At the very end of the step the next may begin."""
        Bench().steeped().record("2026-09-13T04:15", "strain", vessel="tub", into="pot")

    def test_readings_wait_too(self) -> None:
        """A reading of the vessel is an entry on that vessel."""
        error = refused(
            Bench().steeped(), "2026-09-12T20:00", "reading", of="vessel:tub", what="ph", value="4"
        )
        assert isinstance(error.faults[0], TimeError)

    def test_other_vessels_do_not_wait(self) -> None:
        """What happens in another vessel goes on."""
        bench = Bench().steeped()
        bench.record("2026-09-12T12:00", "add", into="jar", liquid="rainwater", amount="200 ml")
        bench.record("2026-09-12T12:00", "vessel", name="tub", capacity="8 L")

    def test_entries_need_not_arrive_in_order(self) -> None:
        """An entry from before the steep may be written down after it."""
        bench = Bench().steeped()
        bench.record("2026-09-12T09:00", "add", into="tub", liquid="rainwater", amount="100 ml")
        assert [line.number for line in bench.standing] == [1, 3, 2]

    def test_a_late_entry_may_not_run_into_what_stands(self) -> None:
        """A rest written down late that would still run when the steep begins is refused, naming the steep."""
        bench = Bench().steeped()
        bench.record("2026-09-12T08:00", "add", into="tub", liquid="rainwater", amount="100 ml")
        error = refused(bench, "2026-09-12T09:00", "rest", vessel="tub", for_="2 h")
        assert "entry 2 (steep at)" in error.sentence()
        assert "2026-09-12T11:00" in error.sentence()

    def test_a_length_by_eye_is_not_held_to_the_minute(self) -> None:
        """After "about 18 h" an end at 16 h is merely early; at 2 h it cannot be."""
        bench = Bench().strained()
        bench.record("2026-09-14T09:00", "rest", vessel="pot", for_="about 18 h")
        assert "earliest" in refused(bench, "2026-09-14T11:00", "skim", vessel="pot").sentence()
        bench.record("2026-09-15T01:00", "skim", vessel="pot")

    def test_reducing_to_a_volume_takes_no_known_time(self) -> None:
        """Boiling down to a volume is held to take no time, unless `for` says how long."""
        bench = Bench().strained()
        bench.record("2026-09-13T13:00", "reduce", vessel="pot", to="about 700 ml")
        bench.record("2026-09-13T13:00", "skim", vessel="pot")
        bench.record("2026-09-13T14:00", "reduce", vessel="pot", to="about 500 ml", for_="2 h")
        refused(bench, "2026-09-13T15:00", "skim", vessel="pot")

    def test_marc_steeps_again_only_when_done(self) -> None:
        """The marc of a vessel cannot be steeped elsewhere while its first steep runs."""
        error = refused(
            Bench().steeped(), "2026-09-12T20:00", "steep", marc_of="tub", liquid="water", liquid_amount="2 L",
            into="pail", for_="6 h",
        )  # fmt: skip
        assert isinstance(error.faults[0], TimeError)


class TestImpossible:
    """More than was ever put in, more than a vessel holds."""

    def test_more_of_a_lot_than_was_gathered(self) -> None:
        """640 g of 900 g are steeped: 400 g more cannot be there, 265 g just may."""
        bench = Bench().strained()
        error = refused(bench, "2026-09-13T06:00", "add", into="pot", lot="sumac-leaf", amount="400 g")
        assert isinstance(error.faults[0], ImpossibleError)
        bench.record("2026-09-13T06:00", "add", into="pot", lot="sumac-leaf", amount="265 g")

    def test_the_bound_is_three_standard_deviations(self) -> None:
        """Of "about 200 g" (sd 15 %) up to 200 x 1.15^3 g may have been there, and a scale reads 1 g and 0.5 %."""
        bound = 200 * 1.15**3
        for amount, fits in ((bound * 1.005, True), (bound * 1.06, False)):
            bench = Bench()
            bench.record(
                "2026-09-01T10:00", "gather", lot="plum-gum", material="plum gum", amount="about 200 g"
            )
            keys = {"into": "jar", "lot": "plum-gum", "amount": f"{amount:.0f} g"}
            if fits:
                bench.record("2026-09-02T10:00", "add", **keys)
            else:
                refused(bench, "2026-09-02T10:00", "add", **keys)

    def test_a_lot_all_of_which_is_gone(self) -> None:
        """After all of it, nothing is left."""
        bench = Bench().strained()
        bench.record("2026-09-13T05:00", "gather", lot="plum-gum", material="plum gum", amount="80 g")
        bench.record("2026-09-13T06:00", "add", into="pot", lot="plum-gum", amount="all")
        assert (
            "can be left"
            in refused(bench, "2026-09-13T07:00", "add", into="pot", lot="plum-gum", amount="5 g").sentence()
        )

    def test_a_lot_of_unknown_size_has_no_bound(self) -> None:
        """Of what was never weighed any amount may be used."""
        bench = Bench().strained()
        bench.record("2026-09-13T06:00", "add", into="pot", lot="plum-gum", amount="900 kg")

    def test_more_than_a_vessel_can_hold_of_what_went_in(self) -> None:
        """Out of about 5 L no 20 L can be poured or boiled down to."""
        bench = Bench().strained()
        for kind, keys in (
            ("pour", {"from_": "pot", "into": "jar", "amount": "20 L"}),
            ("discard", {"vessel": "pot", "amount": "20 L"}),
            ("reduce", {"vessel": "pot", "to": "20 L"}),
        ):
            assert "at most" in refused(bench, "2026-09-13T06:00", kind, **keys).sentence()

    def test_more_than_a_stated_capacity(self) -> None:
        """Eight litres do not go into six, by one pour, by several, by a level or by a reading."""
        bench = Bench()
        bench.record("2026-09-01T10:00", "vessel", name="crock", capacity="6 L")
        refused(bench, "2026-09-01T11:00", "add", into="crock", liquid="water", amount="8 L")
        refused(bench, "2026-09-01T11:00", "add", into="crock", liquid="water", up_to="8 L")
        bench.record("2026-09-01T11:00", "add", into="crock", liquid="water", amount="4 L")
        error = refused(bench, "2026-09-01T11:05", "add", into="crock", liquid="water", amount="4 L")
        assert "it holds 6 L" in error.sentence()
        refused(bench, "2026-09-01T11:05", "reading", of="vessel:crock", what="volume", value="8 L")

    def test_a_capacity_told_later_counts(self) -> None:
        """A capacity that contradicts what was put in is refused, naming the entry."""
        bench = Bench().steeped()
        error = refused(bench, "2026-09-14T10:00", "vessel", name="tub", capacity="1 L")
        assert "entry 2" in error.sentence()

    def test_what_is_merely_unlikely_is_recorded(self) -> None:
        """A reading at odds with everything is evidence, not an error."""
        bench = Bench().strained()
        bench.record("2026-09-13T06:00", "reading", of="vessel:pot", what="ph", value="12")
        bench.record("2026-09-13T06:00", "reading", of="vessel:pot", what="volume", value="40 L")
        bench.record("2026-09-13T06:00", "reading", of="vessel:pot", what="total_iron", value="0 mmol/L")

    def test_nothing_comes_out_of_an_empty_vessel(self) -> None:
        """A vessel that never held anything names the nearest that did."""
        bench = Bench().strained()
        for kind, keys in (
            ("pour", {"from_": "pott", "into": "jar", "amount": "half"}),
            ("reduce", {"vessel": "pott", "to": "700 ml"}),
            ("mark", {"vessel": "pott", "trial": "t1", "support": "goat-1", "method": "dip"}),
            ("rest", {"vessel": "pott", "for_": "2 h"}),
        ):
            assert "is pot" in refused(bench, "2026-09-13T06:00", kind, **keys).sentence()

    def test_a_pot_is_not_poured_into_itself(self) -> None:
        """From and into are two vessels."""
        refused(Bench().strained(), "2026-09-13T06:00", "pour", from_="pot", into="pot", amount="half")

    def test_no_marc(self) -> None:
        """Only the marc of a steep can be steeped again, and when all of it is moved it is gone."""
        again = {"liquid": "water", "liquid_amount": "2 L", "for_": "6 h"}
        bench = Bench().strained()
        assert (
            "tub"
            in refused(bench, "2026-09-13T06:00", "steep", marc_of="pot", into="pail", **again).sentence()
        )
        bench.record("2026-09-13T06:00", "steep", marc_of="tub", into="pail", **again)
        refused(bench, "2026-09-14T06:00", "steep", marc_of="tub", into="pail", **again)

    def test_amendments_are_checked_as_the_book_would_stand(self) -> None:
        """A harvest cannot be amended below what was used of it; the entry that then fails is named."""
        bench = Bench().steeped()
        raw = {
            "at": "2026-08-20T10:00",
            "kind": "gather",
            "lot": "sumac-leaf",
            "material": "sumac",
            "amount": "100 g",
        }
        error = refused(bench, "2026-09-14T08:00", "amend", entry=1, replacement=raw)
        assert "entry 2 (steep amount)" in error.sentence()

    def test_voids_are_checked_as_the_book_would_stand(self) -> None:
        """A strain cannot be struck out while what was poured from its pot stands."""
        bench = Bench().strained()
        bench.record("2026-09-13T06:00", "pour", from_="pot", into="jar", amount="half")
        assert "entry 4" in refused(bench, "2026-09-14T08:00", "void", entry=3, why="x").sentence()


class TestNames:
    """Things are created where that can be, and refused where not."""

    def test_what_is_created_is_said(self) -> None:
        """A lot, vessel, support or pen that was not declared is taken as what its name says, in a sentence."""
        bench = Bench().strained()
        assert bench.notices == ("The pot is new here; how much it holds is not known.",)
        bench.record("2026-09-13T06:00", "add", into="pot", lot="plum gum", amount="20 g")
        assert bench.notices == ("Plum gum is new here, taken for what its name says.",)
        bench.record(
            "2026-09-13T07:00",
            "mark",
            vessel="pot",
            trial="t1",
            support="goat-1",
            method="pen",
            pen="old-favourite",
        )
        assert bench.notices == (
            "Goat 1 is new here, taken as goat parchment.",
            "The pen old favourite is new here; of which kind it is, is not known.",
        )
        bench.record("2026-09-13T08:00", "skim", vessel="pot")
        assert bench.notices == ()

    def test_a_second_lot_of_the_same_is_said(self) -> None:
        """A lot named by another name of a material that is already there is said to be apart from it."""
        bench = Bench().strained()
        bench.record("2026-09-13T06:00", "add", into="pot", lot="sumac", amount="20 g")
        assert bench.notices == ("Sumac is new here, taken as sumac leaf, apart from sumac leaf.",)

    def test_a_lot_that_is_no_material(self) -> None:
        """A lot whose name is no material cannot be created; the nearest is named."""
        bench = Bench().strained()
        error = refused(
            bench, "2026-09-13T06:00", "add", into="pot", lot="bag-from-the-market", amount="20 g"
        )
        assert isinstance(error.faults[0], UnknownNameError)
        error = refused(bench, "2026-09-13T06:00", "add", into="pot", lot="sumac-laef", amount="20 g")
        assert "nearest is sumac" in error.sentence()

    def test_one_lot_one_material(self) -> None:
        """A lot is of one material."""
        bench = Bench().steeped()
        refused(bench, "2026-08-21T10:00", "gather", lot="sumac-leaf", material="tea", amount="1 kg")
        bench.record("2026-08-21T10:00", "gather", lot="sumac-leaf", material="sumac", amount="1 kg")

    def test_trials(self) -> None:
        """A trial is marked once, and read only after it was marked."""
        bench = Bench().strained()
        mark = {"vessel": "pot", "trial": "t1", "support": "goat-1", "method": "dip"}
        bench.record("2026-09-13T07:00", "mark", **mark)
        assert "Call it t2" in refused(bench, "2026-09-13T08:00", "mark", **mark).sentence()
        read = {"what": "flow", "value": "wet"}
        assert "later time" in refused(bench, "2026-09-13T06:00", "reading", of="trial:t1", **read).sentence()
        assert (
            "nearest is t1"
            in refused(bench, "2026-09-13T09:00", "reading", of="trial:t11", **read).sentence()
        )
        refused(bench, "2026-09-13T09:00", "reading", of="trial:t1", what="than", value="darker t9")
        bench.record("2026-09-13T09:00", "reading", of="trial:t1", **read)

    def test_exemplars(self) -> None:
        """A trial is held against an exemplar that is known; which one is asked only where there are two."""
        bench = Bench().strained()
        bench.record("2026-09-13T07:00", "mark", vessel="pot", trial="t1", support="goat-1", method="dip")
        depth = {"of": "trial:t1", "what": "depth", "value": "a little pale"}
        refused(bench, "2026-09-13T09:00", "reading", **depth, against="page")
        lab = {"what": "lab", "value": {"L": 30, "a": 1, "b": 2}}
        bench.record("2026-09-13T07:00", "reading", of="exemplar:page", **lab)
        bench.record("2026-09-13T09:00", "reading", **depth, against="page")
        bench.record("2026-09-13T09:00", "reading", **depth)
        bench.record("2026-09-13T10:00", "reading", of="exemplar:leaf", **lab)
        assert "page or leaf" in refused(bench, "2026-09-13T10:00", "reading", **depth).sentence()
        bench.record("2026-09-13T10:00", "reading", **depth, against="leaf")
        told = [
            line for line in bench.standing if line.entry.kind == "reading" and line.entry.what == "depth"
        ]
        assert [held_against(line, bench.inventory) for line in told] == ["page", "page", "leaf"]

    def test_vessels_of_readings(self) -> None:
        """A reading of a vessel nobody mentioned names the nearest."""
        bench = Bench().strained()
        error = refused(bench, "2026-09-13T06:00", "reading", of="vessel:ptt", what="ph", value="4")
        assert "nearest vessel is pot" in error.sentence()

    def test_fingers_need_a_known_vessel(self) -> None:
        """A depth is an amount only where capacity and inner depth are declared."""
        bench = Bench()
        bench.record("2026-09-01T10:00", "vessel", name="crock", capacity="6 L", depth="30 cm")
        bench.record("2026-09-01T11:00", "add", into="crock", liquid="water", amount="two fingers")
        refused(bench, "2026-09-01T11:00", "add", into="jar", liquid="water", amount="two fingers")


def test_a_hypothetical_step_is_checked_against_what_stands() -> None:
    """The check takes the standing book as well as the whole."""
    bench = Bench().strained()
    entry = decode({"at": "2026-09-13T06:00", "kind": "pour", "from": "pot", "into": "jar", "amount": "20 L"})
    with pytest.raises(EntryErrors):
        check(entry, bench.standing)


def test_a_book_at_odds_with_a_rule_still_takes_entries() -> None:
    """A fault that stood before does not keep a sound entry out."""
    bench = Bench().steeped()
    raw = {"at": "2026-09-12T12:00", "kind": "strain", "vessel": "tub", "into": "pot"}
    bench.store.append(raw, decode(raw))  # past the check, as an older version may have done
    bench.record("2026-09-20T10:00", "remark", text="rain")


def test_many_entries_are_checked_quickly() -> None:
    """Checking the next entry of a book of 400 takes well under a second, so that the bench never waits."""
    bench = Bench().strained()
    for i in range(400):
        raw = {"at": f"2026-10-{1 + i // 20:02d}T{i % 20:02d}:00", "kind": "skim", "vessel": "pot"}
        bench.store.append(raw, decode(raw))
    began = datetime.now()  # noqa: DTZ005
    bench.record("2026-11-20T10:00", "skim", vessel="pot")
    assert (datetime.now() - began).total_seconds() < 1  # noqa: DTZ005
