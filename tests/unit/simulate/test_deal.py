"""The wider variety of make-believe workshops: every kind, every way to iron, the daybook takes all of it."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.daybook.check import check
from inkhorn.daybook.store.memory import MemoryStore
from inkhorn.daybook.wire import decode
from inkhorn.handbook.load import value
from inkhorn.simulate import nature
from inkhorn.simulate.deal import IRONS, KINDS, deal
from inkhorn.simulate.draws import Draws
from inkhorn.simulate.maker import Maker
from inkhorn.simulate.originals import original_ink


@pytest.fixture(scope="module")
def dealt():
    """Return one workshop for each pair of a kind of original and a way to iron."""
    return [deal(seed) for seed in range(20)]


def test_each_pair_once(dealt):
    """Twenty seeds hold each kind of original with each way to iron."""
    assert {(d.kind, d.iron) for d in dealt} == {(k, i) for k in KINDS for i in IRONS}


def test_same_seed_same_deal(dealt):
    """A seed deals the same record twice."""
    assert deal(7).entries == dealt[7].entries
    assert deal(7).truth.true("pot") == dealt[7].truth.true("pot")


def test_no_trial_yet_and_the_pot_is_off(dealt):
    """The record ends before the first trial, with the pot clearly off its original."""
    for one in dealt:
        assert not [e for e in one.entries if e["kind"] == "mark"]
        assert 12 <= len(one.entries) <= 28
        assert one.truth.distance("pot", "page", pen=one.pen) >= value("simulate.dealt.least_off")


def test_the_daybook_takes_every_entry(dealt):
    """Each dealt record passes the daybook's own checks."""
    for one in dealt:
        store = MemoryStore()
        for raw in one.entries:
            entry = decode(raw)
            check(entry, store.recorded())
            store.append(raw, entry)


def test_kinds_look_as_they_are_called(dealt):
    """Pale brown is lighter than black and browner than grey: their medians over the seeds keep that order."""
    look = {k: np.median([d.truth.original("page").lab for d in dealt if d.kind == k], axis=0) for k in KINDS}
    assert look["pale-brown"][0] > look["brown"][0]
    assert look["grey"][0] > look["black"][0]
    assert look["brown"][2] > look["blue-black"][2]
    assert look["pale-brown"][2] > look["grey"][2]


def test_originals_owe_nothing_to_the_pot():
    """An original's ink follows from the seed and its kind alone."""
    one, two = (original_ink(Draws(seed=5), "black") for _ in range(2))
    assert one.amounts == two.amounts


def test_second_laws_keep_their_limits():
    """Toth's isotherm keeps the mass balance and its limits; the variant laws are at work.

    J. Toth, Acta Chimica Academiae Scientiarum Hungaricae 69 (1971) 311: b/S -> K f/S for small f, -> 1 for large.
    """
    laws = {"hold_blue": 30.0, "hold_green": 8.0, "hill": 0.9, "toth": 0.6}
    for iron in (1e-6, 0.02, 0.1, 1.0, 100.0):
        ends = nature.bind(iron, 0.08, 0.02, **laws)
        assert ends.blue + ends.green + ends.free == pytest.approx(iron, rel=1e-9)
        assert ends.blue <= 0.08
        assert ends.green <= 0.02
    small = nature.bind(1e-9, 0.1, 0.0, **laws)
    assert small.blue / 0.1 == pytest.approx(30.0 * small.free / 0.1, rel=1e-3)
    assert Draws(seed=1, variant="other")("law.thickness") == 1
    assert Draws(seed=1)("law.thickness") == 0


def test_eilers_meets_einstein_and_the_packing():
    """Eilers's law rises from Einstein's slope and without end towards the packing.

    H. Eilers, Kolloid-Zeitschrift 97 (1941) 313; A. Einstein, Annalen der Physik 19 (1906) 289: 1 + 2.5 phi.
    """
    n = Draws(seed=3, variant="violet")
    ink = deal(0).truth.bench.vessels["pot"].liquor.take(0.5)
    for part in (
        "gallotannin",
        "gallic",
        "ellagi",
        "condensed",
        "other",
        "brown",
        "arabic",
        "plum",
        "cherry",
        "gel",
    ):
        ink.amounts[part] = 0.0
    base = nature.viscosity(ink, n, celsius=20.0)
    assert base == pytest.approx(nature.water_viscosity(20.0, n), rel=1e-9)
    ink.amounts["other"] = 1e-3 * nature.millilitres(ink, n) / n("flow.solids")
    assert nature.viscosity(ink, n, celsius=20.0) / base - 1 == pytest.approx(2.5e-3, rel=0.02)


def test_spills_lose_some_and_only_where_told():
    """A maker who spills loses now and then; one who does not never does."""
    n = Draws(seed=2)
    assert Maker().spilt(n, "x") == 0
    lost = [Maker(spills=0.5).spilt(n, str(i)) for i in range(100)]
    assert 20 <= np.count_nonzero(lost) <= 80
    assert max(lost) <= 0.5
