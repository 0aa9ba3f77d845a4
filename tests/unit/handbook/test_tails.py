"""An error that is now and then a far wider one."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from inkhorn.daybook.measures import measures
from inkhorn.handbook.load import row
from inkhorn.handbook.tails import Tail
from inkhorn.quantities import read_quantity
from inkhorn.replay.draws import STANDARD, Draws, Unknown, quantity_row, slips


@pytest.mark.parametrize("scale", [0.03, 0.15, 0.4])
def test_it_is_the_mixture_of_two_normals(scale: float) -> None:
    """The share of draws beyond a place is that of the mixture, reckoned with scipy.stats (general-purpose library)."""
    tail = Tail(share=0.03, size=0.7)
    wide = float(f"{np.hypot(1.0, 0.7 / scale):.2g}")
    z = np.linspace(-4, 4, 81)
    x = tail.reach(z, scale)
    mixture = 0.97 * stats.norm.cdf(x) + 0.03 * stats.norm.cdf(x / wide)
    assert np.allclose(stats.norm.ppf(mixture), z, atol=0.01)


def test_nothing_is_changed_where_it_never_happens_or_is_no_wider() -> None:
    """A share of nought, or an error that is as wide anyway."""
    z = np.linspace(-3, 3, 7)
    assert Tail(share=0.0, size=0.7).reach(z, 0.1) is z
    assert Tail(share=0.03, size=0.1).reach(z, 0.2) is z


def amount(text: str, dimension: str, z: np.ndarray, **known) -> np.ndarray:
    """Return the draws of an amount of an entry over what was written."""
    told = read_quantity(text, expect=(dimension,), measures=measures(), where="test")
    one = Unknown("entry:1/amount", quantity_row("entry:1/amount", told), tail=slips(told), **known)
    rows = {u.name: u for u in (one, *([Unknown("eye", row(STANDARD))] if known else []))}
    return Draws(rows, z).amount(1, "amount", told) / told.value


def test_a_weighed_amount_is_mostly_what_was_written_and_now_and_then_half_or_twice() -> None:
    """Nearly as often within twice the scale's own error as before; one in fifty is beyond a third off."""
    off = np.abs(np.log(amount("20 g", "mass", np.random.default_rng(5).standard_normal((1, 200_000)))))
    assert np.mean(off < 2 * np.log1p(1.005 / 20)) == pytest.approx(0.97 * 0.954 + 0.03 * 0.11, abs=0.01)
    assert np.mean(off > np.log(4 / 3)) == pytest.approx(0.03 * 0.68, abs=0.004)


def test_a_slip_is_not_the_person_s_lasting_bias() -> None:
    """Where the eye that is common to all amounts is far off, an amount is so far off, not more."""
    z = np.array([[0.0, 0.0], [0.0, 3.0]])
    usual, far = amount("about 20 g", "mass", z, common="eye", share=0.4)
    assert usual == pytest.approx(1.0)
    assert np.log(far) == pytest.approx(np.sqrt(0.4) * 3.0 * np.log1p(0.15), rel=1e-6)


def test_a_time_has_no_such_tail() -> None:
    """Only masses, volumes and shares: what is weighed out or poured."""
    told = read_quantity("about 3 h", expect=("time",), measures=measures(), where="test")
    assert slips(told) is None


@pytest.mark.parametrize("text", ["20 g", "about 20 g"])
def test_what_is_said_of_an_amount_beforehand_holds_its_tail(text: str) -> None:
    """The quantiles that an estimate shows of an amount before any reading are those of its draws, shared part and all."""
    z = np.random.default_rng(8).standard_normal((2, 200_000))
    drawn = 20 * amount(text, "mass", z, common="eye", share=0.4)
    told = read_quantity(text, expect=("mass",), measures=measures(), where="test")
    known = Unknown("a", quantity_row("a", told), common="eye", share=0.4, tail=slips(told))
    shares = np.array([0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99])
    assert np.log(known.at(stats.norm.ppf(shares)) / 20) == pytest.approx(
        np.log(np.quantile(drawn, shares) / 20), rel=0.05, abs=2e-4
    )
