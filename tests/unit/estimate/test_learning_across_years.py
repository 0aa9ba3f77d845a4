"""What one gathering taught of its source is where the next one starts, and one person's bias follows them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from inkhorn.estimate.posterior import Posterior, sample_posterior
from inkhorn.handbook.load import row, value
from inkhorn.replay.fold import make_plan
from support.daybooks import recorded


def gathered(year: int, lot: str, source: str) -> dict[str, Any]:
    """Return a gathering of sumac leaf."""
    return {
        "at": f"{year}-08-20T10:00", "kind": "gather", "lot": lot, "material": "sumac leaf", "amount": "900 g", "source": source,
    }  # fmt: skip


ASSAY = {
    "at": "2026-09-01T10:00", "kind": "reading", "of": "lot:first-sumac-leaf", "what": "total_phenols", "value": "30 %", "sd": "1 %",
}  # fmt: skip


def steeped(lot: str, year: int) -> dict[str, Any]:
    """Return a steep, so that a lot's strength is asked for."""
    return {
        "at": f"{year}-09-12T10:00", "kind": "steep", "lot": lot, "amount": "200 g", "liquid": "rainwater", "liquid_amount": "2 L", "into": f"tub-{year}", "for": "12 h",
    }  # fmt: skip


def place(post: Posterior, lot: str) -> np.ndarray:
    """Return where a lot's tannin lies in its prior, in standard deviations, (N,)."""
    prior = row("materials.sumac-leaf.tannin")
    drawn = post.draws.of(f"lot:{lot}/tannin", prior)
    if prior.shape == "lognormal":
        return np.log(drawn / prior.value) / prior.scale()
    return (drawn - prior.value) / prior.scale()


def estimated(second: str) -> tuple[np.ndarray, np.ndarray]:
    """Return both lots' places, after an assay of the first."""
    book = [
        gathered(2026, "first-sumac-leaf", "South bank"),
        ASSAY,
        steeped("first-sumac-leaf", 2026),
        gathered(2027, "second-sumac-leaf", second),
        steeped("second-sumac-leaf", 2027),
    ]
    post = sample_posterior(make_plan(recorded(book)), particles=2048)
    return place(post, "first-sumac-leaf"), place(post, "second-sumac-leaf")


def test_the_next_gathering_starts_from_what_was_learnt() -> None:
    """Linear-normal theory: the second lot moves by the shared part of what the first one moved, and narrows by its square.

    With z1 and z2 of unit variance and covariance r, E[z2 | data of lot 1] is
    r E[z1 | data], and var[z2] is 1 - r^2 (1 - var[z1 | data]).
    """
    r = value("harvest.kin.tannin")
    one, two = estimated("south bank")
    assert one.mean() > 0.5
    assert two.mean() == pytest.approx(r * one.mean(), abs=0.08)
    assert two.std() == pytest.approx(np.sqrt(1 - r**2 * (1 - one.var())), rel=0.06)


def test_another_source_teaches_nothing() -> None:
    """A lot from elsewhere keeps its prior, whatever was assayed here."""
    one, two = estimated("north bank")
    assert one.mean() > 0.5
    assert two.mean() == pytest.approx(0, abs=0.08)
    assert two.std() == pytest.approx(1, rel=0.06)


def _pours(who: str) -> list[dict[str, Any]]:
    pour = {"kind": "add", "liquid": "water", "amount": "about 1000 ml"}
    jug = {"kind": "reading", "what": "volume", "sd": "5 ml"}
    out: list[dict[str, Any]] = []
    for day in range(1, 7):
        out.append({"at": f"2026-09-0{day}T08:00", "into": f"jar-{day}", "who": "anna", **pour})
        out.append({"at": f"2026-09-0{day}T08:10", "of": f"vessel:jar-{day}", "value": "1150 ml", **jug})
    return [*out, {"at": "2026-09-08T08:00", "into": "pot", "who": who, **pour}]


@pytest.mark.parametrize(("who", "learns"), [("anna", True), ("bert", False)])
def test_a_person_who_pours_long_is_known_for_it(who: str, learns: bool) -> None:
    """Six pours of one person that a jug found 15 % long are expected of her seventh; of another's first nothing is.

    Normal theory with share r of variance in common and n pours known exactly:
    the next is expected n r / (1 + (n - 1) r) of their mean.
    """
    post = sample_posterior(make_plan(recorded(_pours(who))), particles=2048)
    got = np.log(post.played.world.vessels["pot"].liquor["water"] / 998.6).mean()
    r, n = value("readings.eye_share"), 6
    expected = np.log(1.15) * n * r / (1 + (n - 1) * r) if learns else 0.0
    assert got == pytest.approx(expected, abs=0.015)


def test_words_of_one_person_are_learnt() -> None:
    """Who calls water "thin", not "watery", time and again is expected to draw her lines lower than the handbook."""
    pot = [{"at": "2026-09-01T08:00", "kind": "add", "into": "pot", "liquid": "water", "amount": "1 L"}]
    known = {
        "at": "2026-09-01T09:00",
        "kind": "reading",
        "of": "vessel:pot",
        "what": "viscosity",
        "value": "1.05 mPa s",
    }
    said = {"kind": "reading", "of": "vessel:pot", "what": "body", "value": "thin", "who": "anna"}
    book = [*pot, known, *({"at": f"2026-09-0{day}T10:00", **said} for day in range(2, 7))]
    post = sample_posterior(make_plan(recorded(book)), particles=1024)
    shift = post.draws.of("who:anna/body.shift", "misfit.unit")
    assert shift.mean() < -0.5
    assert shift.std() < 1.0
