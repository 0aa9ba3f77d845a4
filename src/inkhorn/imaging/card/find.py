"""Find the card in a photograph: which one, where, and how sure that is."""

from __future__ import annotations

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.handbook.load import row, value
from inkhorn.imaging.card.edges import refined
from inkhorn.imaging.card.layout import Card, card_of_marker
from inkhorn.imaging.card.place import Place, fit_place
from inkhorn.imaging.picture import Picture

Array = NDArray[np.float64]

#: Open square markers with error correction (Garrido-Jurado and others 2014), as OpenCV has them.
DICTIONARY = cv2.aruco.DICT_5X5_50


@attrs.frozen(kw_only=True, eq=False)
class Found:
    """A card in a picture.

    Attributes
    ----------
    card : Card
    place : Place
        From millimetres on the card as it was meant to be printed, to pixels of the picture.
    markers : tuple of int
        The markers that were seen and fit.
    """

    card: Card
    place: Place
    markers: tuple[int, ...]


def find_card(picture: Picture) -> Found | None:
    """Return the card that lies in a picture, or None.

    Markers are looked for in a reduced grey picture, then at a finer scale
    where only some are seen; their edges are measured in linear light at full
    resolution.
    """
    height, width = picture.shape
    best: dict[int, Array] = {}
    for megapixels in (value("card.search_megapixels"), 4 * value("card.search_megapixels")):
        by = max(1.0, float(np.sqrt(height * width / (megapixels * 10**6))))
        seen = _markers(picture.encoded_grey(by), (width, height))
        best |= {number: corners for number, corners in seen.items() if number not in best}
        if not best or len(best) >= value("card.markers_enough") or by <= 1:
            break
    return _fitted(picture, best)


def _markers(grey: NDArray[np.uint8], size: tuple[int, int]) -> dict[int, Array]:
    """Return marker corners in px of the whole picture (pixel centres at whole numbers)."""
    found: dict[int, Array] = {}
    scale = np.array([size[0] / grey.shape[1], size[1] / grey.shape[0]])
    detector = _detector()
    for evened in (False, True):
        if evened:
            if len(found) >= value("card.markers_enough") or not (found or _is_dark(grey)):
                break
            grey = np.asarray(cv2.createCLAHE(clipLimit=4, tileGridSize=(8, 8)).apply(grey), dtype=np.uint8)
        quads, numbers, _ = detector.detectMarkers(grey)
        for quad, number in zip(quads, () if numbers is None else numbers.ravel(), strict=True):
            corners = (np.asarray(quad, float).reshape(4, 2) + 0.5) * scale - 0.5
            found.setdefault(int(number), corners)
    return found


def _is_dark(grey: NDArray[np.uint8]) -> bool:
    """Return whether a picture is so dark that black on white may be too near to each other for the search."""
    # numbers-in-code: a median needs no more pixels
    return float(np.median(grey[::8, ::8])) < value("card.dark")


def _detector() -> cv2.aruco.ArucoDetector:
    options = cv2.aruco.DetectorParameters()
    # numbers-in-code: settings of a library's search, px and shares of the picture's side
    options.adaptiveThreshWinSizeMin, options.adaptiveThreshWinSizeMax = 5, 45
    options.adaptiveThreshWinSizeStep = 20  # numbers-in-code: setting of a library's search, px
    # numbers-in-code: settings of a library's search, px and shares of the picture's side
    options.minMarkerPerimeterRate, options.polygonalApproxAccuracyRate = 0.03, 0.06
    options.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    dictionary = cv2.aruco.getPredefinedDictionary(DICTIONARY)
    return cv2.aruco.ArucoDetector(dictionary, options)


def _fitted(picture: Picture, seen: dict[int, Array]) -> Found | None:
    """Return the card that most markers agree on, with its place fitted to their edges."""
    kinds: dict[int, tuple[Card, list[int]]] = {}
    for number in seen:
        card = card_of_marker(number)
        if card is not None:
            kinds.setdefault(id(card), (card, []))[1].append(number)
    if not kinds:
        return None
    card, numbers = max(kinds.values(), key=lambda kind: len(kind[1]))
    if len(numbers) < value("card.markers_least"):
        return None
    nominal = [card.corners(number) for number in numbers]
    rough = [seen[number] for number in numbers]
    fine = [refined(picture, corners) for corners in rough]
    place, kept = fit_place(
        np.array(nominal),
        np.array([a if b is None else b for a, b in zip(rough, fine, strict=True)]),
        sure=np.array([b is not None for b in fine]),
        size=(picture.shape[1], picture.shape[0]),
        bend_sd=row("card.lens_bend").spread,
        growth_sd=row("card.growth").spread,
        floor=value("card.corner_floor"),
        far=value("card.corner_far"),
    )
    if place is None or kept.sum() < value("card.markers_least"):
        return None
    return Found(card=card, place=place, markers=tuple(n for n, k in zip(numbers, kept, strict=True) if k))
