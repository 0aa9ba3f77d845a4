"""Lay one picture of a page over another: another size, turned, a little tilted, another band of light.

What the two share is where the strokes are, not how dark: both are first reduced
to light against its surroundings. Matched features give a first homography by
consensus [FISCHLER1981]_, [LOWE2004]_; it is refined on all pixels by the enhanced
correlation coefficient [EVANGELIDIS2008]_, and then held against what chance would give.
"""

from __future__ import annotations

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.errors import PictureError
from inkhorn.handbook.load import value

Array = NDArray[np.float64]
Floats = NDArray[np.float32]

# numbers-in-code: settings of a search; tests over turned, scaled and tilted pairs hold for them
_SIDE = 1400
_FEATURES = 6000
_RATIO = 0.8
_NEAR_PX = 4.0
_DEEPEST = 3.0
_ROUNDS, _CLOSE = 60, 1e-5
_SMOOTH = 5
_MOST_SCALE = 8
_LEAST_MATCHES = 8
_BYTE = 255


@attrs.frozen(kw_only=True, eq=False)
class Registered:
    """How one picture lies over another.

    Attributes
    ----------
    transform : ndarray (3, 3)
        Takes px of the first (x, y, 1) to px of the second.
    agreement : float
        Correlation of light against surroundings, first with second laid over it; 1 is alike.
    scale, turned_deg : float
        Px of the second for each of the first, and by how many degrees it is turned.
    """

    transform: Array
    agreement: float
    scale: float
    turned_deg: float

    def laid_over(self, second: Floats, shape: tuple[int, int]) -> tuple[Floats, NDArray[np.bool_]]:
        """Return the second picture in the first's frame ``(H, W)``, and where it reaches at all."""
        size = shape[::-1]
        # A picture with more pixels is smoothed first: a pixel of the first takes the mean of what it covers.
        calm = second
        if self.scale > 1:
            calm = np.asarray(cv2.GaussianBlur(second, (0, 0), self.scale / 2), dtype=np.float32)
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        over = cv2.warpPerspective(calm, self.transform, size, flags=flags)
        room = np.ones(second.shape, np.float32)
        there = cv2.warpPerspective(room, self.transform, size, flags=flags)
        return np.asarray(over, dtype=np.float32), np.asarray(there > 1 - 1e-6)


def register(first: Floats, second: Floats, *, what: str = "the second picture") -> Registered:
    """Find how the second of two pictures lies over the first.

    Parameters
    ----------
    first, second : ndarray float32 (H, W)
        Linear light of one channel each; any sizes.
    what : str
        What the second is called in an error.

    Raises
    ------
    PictureError
        The two do not show the same page, or nothing is left in one of them to line up by.
    """
    (one, down), (two, other) = _reduced(first), _reduced(second)
    flat = (_against_surroundings(one), _against_surroundings(two))
    found = _by_features(*flat)
    if found is not None:
        found = _refined(*flat, found)
    agreement = -1.0 if found is None else _agreement(*flat, found)
    if found is None or agreement < value("infrared.pair.agreement"):
        raise PictureError(
            f"{what} and the first do not seem to show the same page",
            where="" if found is None else f"agreement {max(agreement, 0):.2f} of 1",
            mend="Photograph the same strokes in both, sharp, from about the same place; where the ink has vanished "
            "altogether take a shorter band",
        )
    transform = np.diag([1 / other, 1 / other, 1]) @ found @ np.diag([down, down, 1])
    transform = transform / transform[2, 2]
    height, width = first.shape
    scale, turned = _scale_and_turn(transform, (width / 2, height / 2))
    return Registered(transform=transform, agreement=agreement, scale=scale, turned_deg=turned)


def _reduced(light: Floats) -> tuple[Floats, float]:
    factor = min(1.0, _SIDE / max(light.shape))
    if factor == 1:
        return light, 1.0
    size = (round(light.shape[1] * factor), round(light.shape[0] * factor))
    return np.asarray(cv2.resize(light, size, interpolation=cv2.INTER_AREA), dtype=np.float32), factor


def _against_surroundings(light: Floats) -> Floats:
    """Return log light less that around it, in its own spreads, held within bounds; 0 is usual."""
    log = np.log(np.maximum(light, np.float32(1e-3)))
    wide = max(log.shape) / 12
    local = log - cv2.GaussianBlur(log, (0, 0), wide)
    spread = np.sqrt(cv2.GaussianBlur(local * local, (0, 0), 2 * wide))
    out = local / np.maximum(spread, np.float32(1e-6))
    return np.asarray(np.clip(out, -_DEEPEST, _DEEPEST), dtype=np.float32)


def _by_features(one: Floats, two: Floats) -> Array | None:
    """Return the homography that most matched features agree on; None where too few do."""
    seeker, matcher = cv2.SIFT.create(nfeatures=_FEATURES), cv2.BFMatcher(cv2.NORM_L2)
    bytes_ = [
        np.rint((np.clip(f, -_DEEPEST, _DEEPEST) + _DEEPEST) / (2 * _DEEPEST) * _BYTE).astype(np.uint8)
        for f in (one, two)
    ]
    (points, words), (others, other_words) = (seeker.detectAndCompute(b, None) for b in bytes_)
    if words is None or other_words is None or min(len(points), len(others)) < _LEAST_MATCHES:
        return None
    pairs = matcher.knnMatch(words, other_words, k=2)
    good = [p[0] for p in pairs if len(p) == 2 and p[0].distance < _RATIO * p[1].distance]
    if len(good) < _LEAST_MATCHES:
        return None
    here = np.array([points[m.queryIdx].pt for m in good], dtype=np.float64)
    there = np.array([others[m.trainIdx].pt for m in good], dtype=np.float64)
    # The search draws at random; the same pictures must give the same answer.
    cv2.setRNGSeed(0)
    found, inside = cv2.findHomography(here, there, cv2.USAC_MAGSAC, _NEAR_PX)
    if found is None or int(np.sum(inside)) < _LEAST_MATCHES:
        return None
    transform = np.asarray(found, dtype=np.float64)
    return transform if _is_sane(transform, one.shape) else None


def _is_sane(transform: Array, shape: tuple[int, ...]) -> bool:
    """Say whether a homography could be a camera's: no mirror, no fold, no wild scale anywhere."""
    height, width = shape[:2]
    for x, y in ((0, 0), (width, 0), (width, height), (0, height), (width / 2, height / 2)):
        slope = _slope(transform, (x, y))
        size = np.linalg.det(slope)
        if not 1 / _MOST_SCALE**2 < size < _MOST_SCALE**2:
            return False
    return True


def _slope(transform: Array, at: tuple[float, float]) -> Array:
    """Return the derivative (2, 2) of a homography at a point."""
    x, y, w = transform @ np.array([at[0], at[1], 1.0])
    return np.array([(transform[i, :2] * w - top * transform[2, :2]) / w**2 for i, top in enumerate((x, y))])


def _scale_and_turn(transform: Array, at: tuple[float, float]) -> tuple[float, float]:
    slope = _slope(transform, at)
    turn = np.degrees(np.arctan2(slope[1, 0] - slope[0, 1], slope[0, 0] + slope[1, 1]))
    return float(np.sqrt(abs(np.linalg.det(slope)))), float(turn)


def _refined(one: Floats, two: Floats, start: Array) -> Array:
    """Return the homography moved to where the two agree best; the start, where it does not settle."""
    criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, _ROUNDS, _CLOSE)
    whole = np.ones(two.shape, np.uint8)
    try:
        _, better = cv2.findTransformECC(
            one, two, start.astype(np.float32), cv2.MOTION_HOMOGRAPHY, criteria, whole, _SMOOTH
        )
    except cv2.error:
        return start
    found = np.asarray(better, dtype=np.float64)
    if not _is_sane(found, one.shape) or _agreement(one, two, found) < _agreement(one, two, start):
        return start
    return found


def _agreement(one: Floats, two: Floats, transform: Array) -> float:
    """Return the correlation of the two where both are, 0 where they hardly overlap."""
    size, flags = one.shape[::-1], cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    over = cv2.warpPerspective(two, transform, size, flags=flags)
    there = cv2.warpPerspective(np.ones(two.shape, np.float32), transform, size, flags=flags) > 1 - 1e-6
    if there.mean() < 1 / 10:
        return 0.0
    return float(np.corrcoef(one[there], over[there])[0, 1])
