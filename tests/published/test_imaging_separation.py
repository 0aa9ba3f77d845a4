"""Ink told from support on real pages, against patches traced by hand and against Sauvola's threshold."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest
import skimage
from skimage.filters import threshold_sauvola

from inkhorn.imaging.load import load_picture
from inkhorn.imaging.read import read_all
from support.real_pages import LETTER, PHONE, real_page

TRACED = json.loads((Path(__file__).parent / "data" / "hand_traced_ink.json").read_text("utf-8"))["patches"]
FINE = 8  # the tracing is filled at this multiple of a pixel


def _picture(name: str) -> str | bytes:
    if name == "formulas":
        return str(Path(skimage.__file__).parent / "data" / "text.png")
    return real_page({"phone": PHONE, "letter": LETTER}[name])


def _traced(patch: dict) -> tuple[np.ndarray, np.ndarray]:
    """Return the traced ink of a patch and where it counts."""
    top, bottom, left, right = patch["box"]
    size = (bottom - top, right - left)
    ink, unknown = (np.zeros((size[0] * FINE, size[1] * FINE), np.uint8) for _ in range(2))

    def points(rows: list) -> np.ndarray:
        return np.rint(np.array(rows) * FINE).astype(np.int32)[:, None]

    for stroke in patch["strokes"]:
        cv2.polylines(ink, [points(stroke["points"])], False, 1, max(1, round(stroke["width"] * FINE)))
    for outline in patch["outlines"]:
        cv2.fillPoly(ink, [points(outline)], 1)
    for hole in patch["holes"]:
        cv2.fillPoly(ink, [points(hole)], 0)
    for area in patch["unknown"]:
        cv2.fillPoly(unknown, [points(area)], 1)

    def share(grid: np.ndarray) -> np.ndarray:
        return grid.reshape(size[0], FINE, size[1], FINE).mean(axis=(1, 3))

    return share(ink) >= 0.5, share(unknown) == 0


def f_measure(found: np.ndarray, truth: np.ndarray, counts: np.ndarray) -> float:
    """Return 2PR/(P + R), the harmonic mean of precision and recall."""
    hit = (found & truth & counts).sum()
    return float(2 * hit / ((found & counts).sum() + (truth & counts).sum()))


class TestSauvola:
    """J. Sauvola, M. Pietikainen, Pattern Recognition 33 (2000) 225-236, as scikit-image has it."""

    def test_the_score_itself(self) -> None:
        """A worked case of the F-measure: 79 hits, 21 false, 1 missed give 0.877778."""
        truth = np.zeros((40, 40), bool)
        truth[10:30, 18:22] = True
        found = np.zeros((40, 40), bool)
        found[10:30, 18:23] = True
        found[5, 5] = True
        found[29, 18] = False
        assert f_measure(found, truth, np.ones((40, 40), bool)) == pytest.approx(0.877778, abs=1e-6)

    @pytest.mark.parametrize("patch", TRACED, ids=lambda patch: patch["picture"])
    def test_separation_is_no_worse(self, patch: dict) -> None:
        """On each traced patch the F-measure is above 0.8 and no worse than Sauvola's at its usual settings."""
        data = _picture(patch["picture"])
        ours, sauvola = _scores(patch, data)
        assert ours > 0.8
        assert ours > sauvola - 0.01

    def test_separation_is_better_over_all(self) -> None:
        """Over all patches the mean F-measure is above Sauvola's."""
        scores = np.array([_scores(patch, _picture(patch["picture"])) for patch in TRACED])
        assert scores[:, 0].mean() > scores[:, 1].mean()


def _scores(patch: dict, data: str | bytes) -> tuple[float, float]:
    top, bottom, left, right = patch["box"]
    box = np.s_[top:bottom, left:right]
    truth, counts = _traced(patch)
    _, _, maps = read_all(data)
    grey = cv2.cvtColor(
        np.rint(255 * _encoded(load_picture(data).linear)).astype(np.uint8), cv2.COLOR_RGB2GRAY
    )
    threshold = threshold_sauvola(grey, window_size=25, k=0.2)
    return f_measure(maps.ink[box], truth, counts), f_measure((grey < threshold)[box], truth, counts)


def _encoded(linear: np.ndarray) -> np.ndarray:
    return np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    )
