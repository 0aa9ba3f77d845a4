"""Strokes that the pen set apart are not worn; strokes that wear cut are."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from inkhorn.imaging.gaps import Continuity, lost_odds
from inkhorn.imaging.read import read_picture
from inkhorn.imaging.settings import from_handbook
from inkhorn.imaging.torn import torn_ends
from support.rendered_strokes import strokes

SETTINGS = from_handbook()


@pytest.mark.parametrize("is_round", [True, False], ids=["round", "square"])
@pytest.mark.parametrize("kind", ["dashes", "words", "uprights"])
def test_fresh_strokes_with_clean_ends_are_whole(kind: str, is_round: bool) -> None:
    """Dashes, words in line and rows of uprights, fresh, lose a tenth at most to what is called bare."""
    read = [read_picture(strokes(kind, seed, is_round=is_round)[0]).wear.bare for seed in (21, 22)]
    assert np.mean(read) < 0.1
    assert max(read) < 0.15


@pytest.mark.parametrize("bare", [0.2, 0.4])
def test_lines_that_wear_cut_are_worn(bare: float) -> None:
    """Long lines cut by wear into pieces keep their loss, to a tenth."""
    off = []
    for seed in (21, 22, 23):
        data, truth = strokes("long", seed, bare=bare, thinned=bare / 2)
        off.append(read_picture(data).wear.bare - truth)
    assert abs(np.mean(off)) < 0.1


@pytest.mark.parametrize("kind", ["dashes", "words"])
def test_worn_dashes_are_told_from_fresh_ones(kind: str) -> None:
    """Dashes with a fifth gone read as plainly worn, within two of the errors stated: their own gaps cannot all be told apart."""
    data, truth = strokes(kind, 21, bare=0.2, thinned=0.1)
    reading = read_picture(data)
    assert reading.wear.bare > 0.1
    assert abs(reading.wear.bare - truth) < 2 * reading.wear_sd.bare


def _stroke(thin: float, *, hollow: bool = False) -> np.ndarray:
    """Return the light lost by one stroke of 12 px that ends at x = 100, its last part thinned or bitten."""
    lost = np.zeros((80, 160), np.float32)
    lost[34:46, 10:100] = 0.85
    lost[34:46, 88:100] *= thin
    if hollow:
        cv2.circle(lost, (100, 40), 5, 0.0, -1)
    return cv2.GaussianBlur(lost, (0, 0), 0.8)


@pytest.mark.parametrize(
    ("lost", "torn"), [(_stroke(1.0), False), (_stroke(0.6), True), (_stroke(1.0, hollow=True), True)]
)
def test_an_end_tells_how_it_came_about(lost: np.ndarray, torn: bool) -> None:
    """Whole to its square end: the pen's. Thinned beside its end, or bitten hollow: torn."""
    found = torn_ends(np.array([[100.0, 39.5]]), np.array([[1.0, 0.0]]), np.array([6.0]), lost, 0.8, SETTINGS)
    assert (found[0] > 0.9) if torn else (found[0] < 0.1)


def test_clean_ends_are_not_counted() -> None:
    """The same many ends and pairs mean loss if they look torn as torn ends do, and none if hardly any does."""
    common = {"length": 400.0, "ends": 200, "pairs": 90, "mean_gap": 2.0, "spots": 0.0}
    every = lost_odds(Continuity(**common), SETTINGS)[0]
    torn = lost_odds(Continuity(**common, torn=120, torn_pairs=75), SETTINGS)[0]
    clean = lost_odds(Continuity(**common, torn=10, torn_pairs=9), SETTINGS)[0]
    assert torn == pytest.approx(every, rel=0.05)
    assert clean < 0.02
