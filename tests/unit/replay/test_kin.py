"""Lots of one source, and amounts judged by one eye, have part of their spread in common; each alone is as it was."""

from __future__ import annotations

from typing import Any

import attrs
import numpy as np
import pytest

from inkhorn.handbook.load import row, value
from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import make_plan, play
from support.daybooks import recorded

N = 20000


def gathered(year: int, lot: str, **more: Any) -> dict[str, Any]:
    """Return a gathering of sumac leaf."""
    entry = {"at": f"{year}-08-20T10:00", "kind": "gather", "lot": lot, "material": "sumac leaf"}
    return {**entry, "amount": "900 g", **more}


def poured(hour: int, into: str, amount: str, **more: Any) -> dict[str, Any]:
    """Return some water poured."""
    at = f"2026-09-01T{hour:02d}:00"
    return {"at": at, "kind": "add", "into": into, "liquid": "water", "amount": amount, **more}


def drawn(entries: list[dict[str, Any]]) -> Draws:
    """Replay a daybook for draws of the prior."""
    plan = make_plan(recorded(entries))
    z = np.array([standard_normal(7, name, N) for name in plan.unknowns])
    draws = Draws(plan.unknowns, z)
    play(plan, draws)
    return draws


def log_tannin(draws: Draws, lot: str) -> np.ndarray:
    """Return the tannin of a lot on the scale of its prior, standardised."""
    prior = row("materials.sumac-leaf.tannin")
    drawn_ = draws.of(f"lot:{lot}/tannin", prior)
    if prior.shape == "lognormal":
        return np.log(drawn_ / prior.value) / prior.scale()
    return (drawn_ - prior.value) / prior.scale()


@pytest.mark.parametrize(
    ("second", "common"),
    [
        ("South bank, Saltmere", True),
        ("south bank Saltmere", True),
        ("north bank, Saltmere", False),
        (None, False),
    ],
)
def test_gatherings_of_one_source_share_their_part(second: str | None, common: bool) -> None:
    """Two lots correlate by the handbook's share if their source is one, not at all otherwise; each keeps its prior."""
    more = {} if second is None else {"source": second}
    draws = drawn(
        [gathered(2026, "first-leaf", source="South bank, Saltmere"), gathered(2027, "second-leaf", **more)]
    )
    one, two = log_tannin(draws, "first-leaf"), log_tannin(draws, "second-leaf")
    for z in (one, two):
        # Standard errors of mean and sd of N normal draws: 1/sqrt(N), 1/sqrt(2 N).
        assert z.mean() == pytest.approx(0, abs=4 / np.sqrt(N))
        assert z.std() == pytest.approx(1, abs=4 / np.sqrt(2 * N))
    expected = value("harvest.kin.tannin") if common else 0.0
    assert np.corrcoef(one, two)[0, 1] == pytest.approx(expected, abs=4 / np.sqrt(N))


def test_a_single_lot_is_as_it_was() -> None:
    """A lot alone draws exactly the same with and without a source, and no unknown is added for it."""
    told = make_plan(recorded([gathered(2026, "first-leaf", source="South bank, Saltmere")]))
    silent = make_plan(recorded([gathered(2026, "first-leaf")]))
    assert list(told.unknowns) == list(silent.unknowns)
    assert all(u.common == "" for u in told.unknowns.values())


@pytest.mark.parametrize(
    ("who", "common"), [(("anna", "Anna"), True), (("anna", "bert"), False), ((None, None), True)]
)
def test_one_eye_errs_alike(who: tuple[str | None, str | None], common: bool) -> None:
    """Two pours judged by one person share the handbook's part of their variance; by two people none.

    But for slips of the pen, which are each entry's own.
    """
    pours = [
        poured(8, "pot", "about 2 L", **({"who": who[0]} if who[0] else {})),
        poured(9, "jar", "about 1 L", **({"who": who[1]} if who[1] else {})),
    ]
    plan = make_plan(recorded(pours))
    unslipped = {name: attrs.evolve(known, tail=None) for name, known in plan.unknowns.items()}
    draws = Draws(unslipped, np.array([standard_normal(7, name, N) for name in unslipped]))
    world = play(plan, draws).world
    one, two = (np.log(world.vessels[name].liquor["water"]) for name in ("pot", "jar"))
    for ml in (one, two):
        assert ml.std() == pytest.approx(np.log1p(0.15), rel=0.03)
    expected = value("readings.eye_share") if common else 0.0
    assert np.corrcoef(one, two)[0, 1] == pytest.approx(expected, abs=0.03)


def test_a_measured_pour_has_no_eye() -> None:
    """A weighed or measured amount brings no unknown of a person."""
    plan = make_plan(recorded([poured(8, "pot", "2 L", who="anna")]))
    assert not [name for name in plan.unknowns if name.startswith("who:")]
