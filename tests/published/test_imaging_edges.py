"""Widths, blur and raggedness of strokes against closed forms for a normal edge."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from inkhorn.imaging.analysis import blur_of
from inkhorn.imaging.edges import find_edges, raggedness
from inkhorn.imaging.settings import from_handbook
from inkhorn.imaging.strokes import lines, usual_width


def _bar(
    width: float,
    blur: float,
    *,
    wave: float = 0.0,
    period: float = 16.0,
    length: int = 240,
    slope: float = 0.0,
):
    """Return lost light of a straight stroke whose edges are normal distribution functions."""
    y, x = np.mgrid[0:120, 0 : length + 60].astype(float)
    middle = 60 + slope * (x - length / 2)
    across = (y - middle) / np.hypot(1, slope)
    edge = width / 2 + wave * np.sin(2 * np.pi * x / period)
    lost = 0.9 * (norm.cdf((across + edge) / blur) - norm.cdf((across - edge) / blur))
    lost[:, :30] = 0
    lost[:, -30:] = 0
    return lost.astype(np.float32)


def _line(lost):
    ink = lost > 0.45
    found = lines(ink, ink, lost, usual_width(ink), from_handbook())
    return max(found, key=lambda line: len(line.points))


class TestNormalEdge:
    """ISO/IEC 13660:2001, levels as widely quoted (R60 for the outline, R10 to R90 for blur).

    R_p = Rmax - (p/100)(Rmax - Rmin) counts down from the support. For an edge that
    is a normal distribution function of standard deviation s the outline R60
    lies where 60 % of the light is lost: each edge moves in by s z(0.6), so
    the contours are W - 2 s z(0.6) apart; the distance from R10 to R90 is 2 s z(0.9).
    Elementary; the quantiles are scipy's. The width as answered is W again.
    """

    @pytest.mark.parametrize(("width", "blur"), [(7.0, 0.8), (9.5, 1.0), (14.0, 1.6), (20.0, 2.5)])
    def test_width_at_the_outline(self, width: float, blur: float) -> None:
        """The R60 contours are W - 2 s z(0.6) apart, and the width is W, to a tenth of a pixel."""
        at = np.arange(-30, 30.01, 0.25)
        lost = 0.9 * (norm.cdf((at + width / 2) / blur) - norm.cdf((at - width / 2) / blur))
        edges = find_edges(lost[None].astype(np.float32), at, np.ones(1, bool), from_handbook())
        apart = float(edges.outline[0, 1] - edges.outline[0, 0])
        assert apart == pytest.approx(width - 2 * blur * norm.ppf(0.6), abs=0.12)
        assert _line(_bar(width, blur)).width == pytest.approx(width, abs=0.12)

    @pytest.mark.parametrize(("width", "blur"), [(9.0, 1.0), (14.0, 1.6), (20.0, 2.5)])
    def test_blur_from_ten_to_ninety(self, width: float, blur: float) -> None:
        """Blur agrees with 2 s z(0.9) to 8 %: sampling between pixels adds up to 1/6 px squared of spread."""
        line = _line(_bar(width, blur))
        assert line.blur == pytest.approx(2 * blur * norm.ppf(0.9), rel=0.08)
        assert blur_of((line,)) == pytest.approx(blur, rel=0.08)

    def test_a_slanting_stroke_is_as_wide(self) -> None:
        """Width is measured along the normal, not along rows."""
        level = _line(_bar(9.0, 1.0)).width
        assert _line(_bar(9.0, 1.0, slope=0.2)).width == pytest.approx(level, abs=0.15)

    def test_raggedness_of_a_wave(self) -> None:
        """An edge waved by amplitude a has standard deviation a/sqrt 2 (mean of a sine squared)."""
        ragged = _line(_bar(12.0, 1.0, wave=1.2, period=12)).raggedness
        assert ragged == pytest.approx(1.2 / np.sqrt(2), rel=0.25)
        assert _line(_bar(12.0, 1.0)).raggedness < 0.05

    def test_skips_are_counted(self) -> None:
        """Places along a stroke without ink are skips."""
        lost = _bar(9.0, 0.8)
        whole = lost > 0.45
        lost[:, 100:112] = 0
        lost[:, 180:190] = 0
        found = lines(whole, lost > 0.45, lost, 9.0, from_handbook())
        assert max(found, key=lambda line: len(line.points)).skips == 2

    def test_the_other_levels(self) -> None:
        """R10 to R70 is s (z(0.9) + z(0.7)); contrast and fill of a deep line follow from the same edge."""
        width, blur = 20.0, 2.0
        at = np.arange(-30, 30.01, 0.25)
        lost = 0.9 * (norm.cdf((at + width / 2) / blur) - norm.cdf((at - width / 2) / blur))
        found = find_edges(lost[None].astype(np.float32), at, np.ones(1, bool), from_handbook())
        assert found.blur70[0] == pytest.approx(blur * (norm.ppf(0.9) + norm.ppf(0.7)), rel=0.01)
        outline = width / 2 - blur * norm.ppf(0.6)
        np.testing.assert_allclose(found.outline[0], [-outline, outline], atol=0.01)
        line = np.abs(at) <= width / 2 + blur * norm.ppf(0.75)
        assert found.contrast[0] == pytest.approx(lost[line].mean(), abs=0.005)
        assert found.darkness[0] == pytest.approx(-np.log10(1 - lost[line]).mean(), abs=0.01)
        full = (width / 2 - blur * norm.ppf(0.75)) / outline
        assert found.fill[0] == pytest.approx(full, abs=0.02)
        assert abs(found.beyond[0]) < 0.02  # a normal edge does not feather

    def test_ink_that_runs_out_is_feathering(self) -> None:
        """A faint skirt outside the edge is measured as the distance by which R10 lies further out."""
        at = np.arange(-30, 30.01, 0.25)
        lost = 0.9 * (norm.cdf((at + 8) / 1.0) - norm.cdf((at - 8) / 1.0))
        skirt = np.maximum(lost, 0.2 * (norm.cdf((at + 14) / 0.5) - norm.cdf((at - 14) / 0.5)))
        clean, run = (
            find_edges(p[None].astype(np.float32), at, np.ones(1, bool), from_handbook()).beyond[0]
            for p in (lost, skirt)
        )
        assert abs(clean) < 0.02
        # R10 of the whole line (0.09 of the support's light) lies at 14 + 0.5 z(0.55) instead of 8 + z(0.9)
        assert run == pytest.approx(14 + 0.5 * norm.ppf(0.55) - 8 - norm.ppf(0.9), abs=0.1)


class TestRunningParabola:
    """Least squares: the residual of a fitted point has variance s^2 (1 - h), h its leverage (any text on regression)."""

    def test_noise_of_known_spread_is_given_back(self) -> None:
        """Independent errors of the outline come back as their standard deviation, whatever the bend."""
        rng = np.random.default_rng(5)
        x = np.arange(4000.0)
        bend = 3e-6 * (x - 2000) ** 2
        outline = np.column_stack([bend - 5, bend + 5]) + rng.normal(0, 0.3, (4000, 2))
        group = np.zeros(4000, np.int64)
        assert raggedness(outline, group, 1, 7)[0] == pytest.approx(0.3, rel=0.05)
        bare = np.column_stack([bend - 5, bend + 5])
        assert raggedness(bare, group, 1, 7)[0] < 1e-3

    def test_strokes_do_not_mix(self) -> None:
        """A smooth and a waved stroke beside each other keep their own raggedness."""
        x = np.arange(200.0)
        wave = np.sin(2 * np.pi * x / 9)
        smooth, waved = np.column_stack([0 * x - 4, 0 * x + 4]), np.column_stack([wave - 4, wave + 4])
        found = raggedness(np.concatenate([smooth, waved]), np.repeat([0, 1], 200), 2, 12)
        assert found[0] < 1e-6
        assert found[1] == pytest.approx(2**-0.5, rel=0.1)
