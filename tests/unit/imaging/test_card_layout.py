"""The card: nothing on it touches anything else, and its PDF is what the layout says."""

from __future__ import annotations

import itertools

import cv2
import numpy as np
import pypdfium2
import pytest

from inkhorn.imaging.card.find import DICTIONARY
from inkhorn.imaging.card.layout import BAR, MARKERS, card, card_of_marker
from inkhorn.imaging.card.steps import bands
from inkhorn.report.card import pdf

KINDS = [(size, black) for size in ("a6", "a5") for black in (False, True)]


def _raster(data: bytes, dpi: int) -> np.ndarray:
    with pypdfium2.PdfDocument(data) as document:
        return np.asarray(document[0].render(scale=dpi / 72, grayscale=True).to_pil().convert("L")) / 255


def _cut(kind, dpi: int) -> np.ndarray:
    """Return the card out of the middle of its A4 sheet (210 x 297 mm, ISO 216)."""
    sheet = _raster(pdf(kind), dpi)
    if kind.width > 200:
        sheet = np.rot90(sheet, -1)
    height, width = sheet.shape
    x, y = (width - kind.width / 25.4 * dpi) / 2, (height - kind.height / 25.4 * dpi) / 2
    return sheet[
        round(y) : round(y + kind.height / 25.4 * dpi), round(x) : round(x + kind.width / 25.4 * dpi)
    ]


@pytest.mark.parametrize(("size", "black_only"), KINDS)
def test_nothing_overlaps(size: str, black_only: bool) -> None:
    """Markers with their white border, steps, the paper beside them and the frame keep clear of each other."""
    kind = card(size, black_only=black_only)
    border = kind.marker / 7
    rects = [
        (x - border, y - border, kind.marker + 2 * border, kind.marker + 2 * border)
        for x, y in kind.markers.values()
    ]
    rects += [patch.rect for patch in kind.patches]
    rects.append(kind.window)
    for a, b in itertools.combinations(rects, 2):
        apart = a[0] + a[2] <= b[0] or b[0] + b[2] <= a[0] or a[1] + a[3] <= b[1] or b[1] + b[3] <= a[1]
        assert apart, (a, b)
    for patch in kind.patches:
        for left, top, width, height in bands(kind, patch):
            assert left >= 0
            assert top >= 0
            assert left + width <= kind.width
            assert top + height <= kind.height


@pytest.mark.parametrize(("size", "black_only"), KINDS)
def test_a_marker_tells_its_card(size: str, black_only: bool) -> None:
    """Each marker's number leads back to its card and to no other."""
    kind = card(size, black_only=black_only)
    assert len(kind.markers) == MARKERS
    assert all(card_of_marker(number) is kind for number in kind.markers)
    assert card_of_marker(4 * MARKERS) is None


@pytest.mark.parametrize(("size", "black_only"), KINDS)
def test_the_printed_screens_hold_their_share_of_black(size: str, black_only: bool) -> None:
    """Rasterised at 1200 dots an inch by another library, each screen's sample is black by its share to 0.005."""
    kind, dpi = card(size, black_only=black_only), 1200
    image = _cut(kind, dpi)
    for patch in kind.patches:
        left, top, width, height = (side / 25.4 * dpi for side in patch.sample(0.5))
        part = image[round(top) : round(top + height), round(left) : round(left + width)]
        wanted = 1 - patch.share if patch.kind != "grey" else patch.tint
        assert part.mean() == pytest.approx(wanted, abs=0.006), patch.name


@pytest.mark.parametrize(("size", "black_only"), KINDS)
def test_an_open_detector_finds_the_markers_where_they_are_drawn(size: str, black_only: bool) -> None:
    """OpenCV finds all markers in the plain raster, within 0.3 mm of the layout."""
    kind, dpi = card(size, black_only=black_only), 200
    image = (_cut(kind, dpi) * 255).astype(np.uint8)
    finder = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(DICTIONARY))
    quads, numbers, _ = finder.detectMarkers(image)
    found = dict(zip(numbers.ravel().tolist(), quads, strict=True))
    assert set(found) == set(kind.markers)
    for number, quad in found.items():
        np.testing.assert_allclose(quad.reshape(4, 2) / dpi * 25.4, kind.corners(number), atol=0.3)


def test_the_bar_is_as_long_as_it_says() -> None:
    """The bar of the printed card is 100 mm from end mark to end mark."""
    kind, dpi = card("a6"), 600
    image = _cut(kind, dpi)
    left, top, width, height = kind.bar
    line = image[round((top + height / 2) / 25.4 * dpi)]
    dark = np.flatnonzero(
        line[round((left - 0.8) / 25.4 * dpi) : round((left + width + 0.8) / 25.4 * dpi)] < 0.5
    )
    assert np.ptp(dark) / dpi * 25.4 == pytest.approx(BAR, abs=0.35)


def test_black_only_is_black_only() -> None:
    """The card for a printer with black only asks for no grey at all."""
    assert all(patch.kind != "grey" for patch in card("a6", black_only=True).patches)
    assert any(patch.kind == "grey" for patch in card("a6").patches)


def test_the_same_card_is_the_same_file() -> None:
    """Making the card twice gives the same bytes, so that a printed card can be compared with its file."""
    assert pdf(card("a6")) == pdf(card("a6"))
