"""Gaps: placed where strokes run into each other, counted where nothing is left."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from inkhorn.imaging.gaps import Continuity, envelope, find_ends, length_of, lost_odds
from inkhorn.imaging.settings import from_handbook
from inkhorn.imaging.thin import skeleton

SETTINGS = from_handbook()


def _blank() -> np.ndarray:
    return np.zeros((200, 400), np.uint8)


def _broken_page() -> np.ndarray:
    """Return long strokes that break off every 40 px for 12 px: a page that is plainly worn."""
    page = _blank()
    for y in range(20, 200, 25):
        for x in range(20, 340, 52):
            cv2.line(page, (x, y), (x + 40, y), 1, 5)
    return page > 0


def test_a_gap_along_a_stroke_is_bridged() -> None:
    """Two ends that face each other are joined by a band of the stroke's own width."""
    page = _broken_page()
    filled, breaks = envelope(page, 5, SETTINGS)
    assert breaks.pairs == 8 * 6
    assert breaks.mean_gap * 5 == pytest.approx(12 - 5, abs=2)  # the pen's round ends reach into it
    assert filled[:, 66].sum() == pytest.approx(8 * 5, abs=10)


def test_a_gap_in_a_curve_follows_the_curve() -> None:
    """A gap in an arc is bridged along the arc, not by its chord."""
    arc = np.zeros((200, 200), np.uint8)
    cv2.ellipse(arc, (100, 100), (30, 30), 0, 20, 340, 1, 5)
    both = np.hstack([_broken_page(), arc > 0])
    filled, _ = envelope(both, 5, SETTINGS)
    rows, columns = np.nonzero(filled[:, 400:] & ~both[:, 400:])
    assert len(rows) > 30
    radius = np.hypot(columns - 100, rows - 100)
    assert abs(np.median(radius) - 30) < 2.5


def test_strokes_side_by_side_are_not_joined() -> None:
    """Parallel strokes, as of an n or an m, keep their counters."""
    page = _blank()
    for x in range(20, 380, 15):
        cv2.line(page, (x, 60), (x, 120), 1, 5)
    filled, _ = envelope(page > 0, 5, SETTINGS)
    assert filled[90].sum() == pytest.approx((page[90] > 0).sum(), abs=4)


def test_a_fresh_page_is_left_alone() -> None:
    """A few far ends on a page that does not break off are not joined: the pen was lifted there."""
    page = _blank()
    cv2.line(page, (10, 50), (180, 50), 1, 5)
    cv2.line(page, (200, 50), (390, 50), 1, 5)
    for y in (90, 130, 170):
        cv2.line(page, (10, y), (390, y), 1, 5)
    filled, _ = envelope(page > 0, 5, SETTINGS)
    assert not filled[:, 190][30:70].any()


def test_a_pinhole_is_filled_and_counted() -> None:
    """Spots narrower than a stroke are filled, and their share is kept."""
    page = _blank()
    cv2.line(page, (20, 100), (380, 100), 1, 9)
    for x in range(40, 380, 20):
        page[99:102, x : x + 3] = 0
    filled, breaks = envelope(page > 0, 9, SETTINGS)
    assert filled[96:104, 30:370].mean() > 0.98
    assert breaks.spots > 0


def test_ends_point_outwards() -> None:
    """A bar has two ends; each tip lies at the bar's end and points away from it."""
    page = _blank()
    cv2.line(page, (100, 100), (300, 100), 1, 7)
    ends = find_ends(page, 7)
    assert len(ends.half) == 2
    order = np.argsort(ends.tip[:, 0])
    np.testing.assert_allclose(ends.tip[order], [[98, 100], [302, 100]], atol=4)
    np.testing.assert_allclose(ends.way[order], [[-1, 0], [1, 0]], atol=0.1)


def test_length_counts_diagonal_steps() -> None:
    """A diagonal line of n steps is n sqrt 2 long."""
    assert length_of(np.eye(50, dtype=bool)) == pytest.approx(49 * np.sqrt(2))
    assert length_of(np.eye(1, 60, 3, dtype=bool) | (np.arange(60) < 30)[None]) == pytest.approx(29)


def test_counted_gaps_follow_the_renewal_law() -> None:
    """Ink and gaps that alternate with known mean lengths give back the odds gap/ink.

    Alternating renewal process: the long-run share of gap is m0/(m0 + m1)
    (for instance S. M. Ross, Stochastic Processes, 1996, theorem 3.4.4).
    """
    rng = np.random.default_rng(6)
    mean_gap, mean_ink = SETTINGS.gap_mean, 16.0
    gaps, runs = rng.exponential(mean_gap, 4000), rng.exponential(mean_ink, 4000)
    length = float(runs.sum())
    pairs = round(4000 * SETTINGS.pairs_found + SETTINGS.pairs_natural * length)
    breaks = Continuity(
        length=length,
        ends=round(2 * 4000 + SETTINGS.ends_natural * length),
        pairs=pairs,
        mean_gap=mean_gap / SETTINGS.gap_ratio,
        spots=0.0,
    )
    odds, sd = lost_odds(breaks, SETTINGS)
    assert odds == pytest.approx(gaps.sum() / runs.sum(), rel=0.06)
    assert 0 < sd < odds


def test_many_ends_alone_are_not_wear() -> None:
    """A hand of short separate strokes has ends, but few that face each other: nothing is counted gone."""
    separate = Continuity(length=1000, ends=400, pairs=6, mean_gap=3, spots=0)
    joined = Continuity(length=1000, ends=80, pairs=40, mean_gap=1, spots=0)
    assert lost_odds(separate, SETTINGS)[0] < 0.03
    assert lost_odds(joined, SETTINGS)[0] == 0


def test_thinning_leaves_one_line_for_one_stroke() -> None:
    """The centre line of a stroke is about as long as the stroke."""
    page = _blank()
    cv2.line(page, (100, 100), (300, 100), 1, 7)
    assert length_of(skeleton(page > 0)) == pytest.approx(200, abs=8)
