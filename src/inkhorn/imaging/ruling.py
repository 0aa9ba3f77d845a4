"""Find ruled lines (pencil, dry-point shadow, pale ink) and leave them out."""

from __future__ import annotations

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import area, area_share, disc, opened, sampled
from inkhorn.imaging.settings import Settings


@attrs.frozen(kw_only=True, eq=False)
class Rule:
    """One ruled line: where it runs and how deep it is.

    Attributes
    ----------
    course : ndarray (K, 2)
        x, y of points along it, px.
    depth : float
        Median share of light lost along it.
    width : float
        px.
    """

    course: NDArray[np.float64]
    depth: float
    width: float


def find_rules(
    lost: Floats,
    sheet: Mask,
    *,
    noise: float,
    depth: float,
    width: float,
    scale: NDArray[np.float64],
    settings: Settings,
) -> tuple[Rule, ...]:
    """Return the ruled lines of a picture.

    Straight-line candidates come from a Hough transform of thin dark ridges at
    reduced size. A candidate is a rule if, along most of its length, it is
    darker than *both* its sides: a row of letters is dark too, but its sides
    are as dark as its middle about as often as not. A long straight stroke as
    deep and as wide as the ink's strokes is the pen's own, not a rule.
    """
    height, across = lost.shape
    shrink = max(1.0, max(height, across) / (2 * settings.coarse_side))
    size = (max(1, round(across / shrink)), max(1, round(height / shrink)))
    small, inside = area(lost, size), area_share(sheet, size) > 0.5
    ridge = small - opened(small, disc(7))
    level = max(noise, settings.ruling_contrast * depth)
    least = settings.ruling_span * max(size) / 2
    clear = ridge > 3 * level
    clearest, faint = _straight(clear & inside, least), _straight((ridge > level) & ~clear & inside, least)
    found = np.concatenate([clearest, faint])
    scale = scale * [across / size[0], height / size[1]]
    rules: list[Rule] = []
    tried: list[NDArray[np.float64]] = []
    for x0, y0, x1, y1 in found:
        ends = np.array([[x0, y0], [x1, y1]])
        if any(_beside(ends, other) for other in tried):
            continue
        tried.append(ends)
        rule = _verified(ends, small, inside, level=level, scale=scale, settings=settings)
        if rule is None:
            continue
        followed = rule.course[[0, -1]] / scale
        if not any(_beside(followed, other.course[[0, -1]] / scale) for other in rules):
            rules.append(rule)
            tried.append(followed)
    own = settings.ruling_own
    rules = [rule for rule in rules if rule.depth < own * depth or rule.width < own * width]
    return _company(rules, float(max(size) * scale.max()), settings)


def _straight(thin: Mask, least: float) -> NDArray[np.float64]:
    """Return straight-line candidates as rows x0, y0, x1, y1, the longest first."""
    # numbers-in-code: geometry of the search for straight lines, by the size of the picture
    most_gap = max(3, int(max(thin.shape) / 50))
    # numbers-in-code: a quarter of a degree
    found = cv2.HoughLinesP(
        thin.astype(np.uint8), 1, np.pi / 720, int(least / 2), minLineLength=int(least), maxLineGap=most_gap
    )
    if found is None:
        return np.empty((0, 4))
    rows = found.reshape(-1, 4).astype(np.float64)  # some versions nest one level deeper
    order = np.argsort(-np.hypot(*(rows[:, 2:] - rows[:, :2]).T), kind="stable")
    # numbers-in-code: more candidates than a page has lines
    return np.asarray(rows[order][:200])


def _beside(ends: NDArray[np.float64], other: NDArray[np.float64]) -> bool:
    """Return whether a candidate runs within a few px of a line that was tried before."""
    along = (other[1] - other[0]) / max(1e-6, float(np.hypot(*(other[1] - other[0]))))
    return bool(np.abs((ends - other[0]) @ np.array([-along[1], along[0]])).max() < 4)


def _verified(
    ends: NDArray[np.float64],
    small: Floats,
    inside: Mask,
    *,
    level: float,
    scale: NDArray[np.float64],
    settings: Settings,
) -> Rule | None:
    """Stretch a candidate over the whole sheet, follow it, and keep the part that is darker than both sides."""
    a, b = ends
    length = float(np.hypot(*(b - a)))
    along = (b - a) / length
    normal = np.array([-along[1], along[0]])
    reach = float(np.hypot(*small.shape))
    stations = np.arange(-reach, reach)
    offsets = np.arange(-6, 6 + 0.5, 0.5)
    points = (a + b)[None] / 2 + stations[:, None] * along
    fits = (points >= 0).all(axis=1) & (points < np.array(small.shape[::-1]) - 1).all(axis=1)
    points = points[fits]
    if len(points) < settings.ruling_span * max(small.shape) / 2:
        return None
    profile = sampled(small, points[:, None] + offsets[None, :, None] * normal)
    whole = inside[np.rint(points[:, 1]).astype(int), np.rint(points[:, 0]).astype(int)]
    # numbers-in-code: smoothing along a line, by its length
    smooth = ndimage.uniform_filter1d(np.minimum(profile, 6 * level), max(5, len(points) // 40), axis=0)
    course = offsets[(smooth - 0.1 * level * np.abs(offsets)).argmax(axis=1)]
    course = _smooth_course(stations[fits].astype(np.float64), course)

    def taken(shift: float) -> NDArray[np.float64]:
        place = np.clip((course + shift - offsets[0]) / 0.5, 0, len(offsets) - 1)
        return np.asarray(ndimage.map_coordinates(profile, [np.arange(len(points)), place], order=1))

    # a rule goes on beside a station as at it: a short mean along it quiets noise that a pen stroke would not survive
    profile = ndimage.uniform_filter1d(profile, 5, axis=0)
    centre = np.maximum(np.maximum(taken(0), taken(-0.5)), taken(0.5))
    contrast = centre - np.maximum(taken(-3), taken(3))
    dark = (contrast > level) & whole
    share = ndimage.uniform_filter1d(
        dark.astype(np.float64), max(9, int(settings.ruling_span * max(small.shape) / 3))
    )
    good = share > settings.ruling_cover
    pieces, count = ndimage.label(good)
    if not count:
        return None
    sizes = np.bincount(pieces.ravel())[1:]
    run = np.flatnonzero(pieces == 1 + int(sizes.argmax()))
    if len(run) < settings.ruling_span * max(small.shape) / 2:
        return None
    first, last = _stretched(run[0], run[-1], (share > settings.ruling_cover / 4) & whole)
    kept = dark[first : last + 1]
    # letters that stand on the rule are deeper and wider than it: the paler stations tell its own depth and width
    deep, across = centre[first : last + 1][kept], profile[first : last + 1][kept]
    depth = float(np.quantile(deep, 0.5 - 1 / 8))
    wide = float(np.median(np.sum(across > depth / 2, axis=1)) / 2)
    followed = (points + course[:, None] * normal)[first : last + 1]
    return Rule(course=followed * scale, depth=depth, width=max(1.0, wide) * float(scale.mean()))


def _smooth_course(along: NDArray[np.float64], course: NDArray[np.float64]) -> NDArray[np.float64]:
    """Fit a cubic through the course: a rule bends with the sheet, it does not follow letters."""
    x = (along - along.mean()) / max(1.0, float(np.ptp(along)))
    use = np.ones(len(x), bool)
    fitted = course
    for _ in range(3):
        fitted = np.polyval(np.polyfit(x[use], course[use], 3), x)
        away = np.abs(course - fitted)
        use = away <= max(1.0, float(np.median(away)))
    return np.asarray(np.clip(fitted, course.min(), course.max()))


def _stretched(first: int, last: int, fair: NDArray[np.bool_]) -> tuple[int, int]:
    """Lengthen a sure run of a rule over the stations beside it that still show it here and there."""
    while first > 0 and fair[first - 1]:
        first -= 1
    while last < len(fair) - 1 and fair[last + 1]:
        last += 1
    return first, last


def _company(rules: list[Rule], side: float, settings: Settings) -> tuple[Rule, ...]:
    """Keep the rules of the chief direction (perspective fans them out), and any that cross most of the picture."""
    if not rules:
        return ()
    spans = np.array([rule.course[-1] - rule.course[0] for rule in rules])
    lengths = np.hypot(*spans.T)
    ways = spans / np.maximum(lengths, 1e-9)[:, None]
    turn = np.abs(ways[:, None, 0] * ways[None, :, 1] - ways[:, None, 1] * ways[None, :, 0])
    alike = turn < np.sin(np.radians(settings.ruling_fan))
    chief = int((alike * lengths).sum(axis=1).argmax())
    company = alike[chief] & (alike[chief].sum() > 2)
    return tuple(
        rule
        for rule, with_others, length in zip(rules, company, lengths, strict=True)
        if with_others or length > settings.ruling_pair_span * side
    )


def rule_mask(rules: tuple[Rule, ...], lost: Floats, noise: float, settings: Settings) -> Mask:
    """Return the pixels of the rules, except where something clearly deeper crosses them."""
    out = np.zeros(lost.shape, bool)
    usual = float(np.median([rule.width for rule in rules])) if rules else 0.0
    for rule in rules:
        band = np.zeros(lost.shape, np.uint8)
        # numbers-in-code: points enough to draw a line
        path = np.rint(rule.course[:: max(1, len(rule.course) // 200)]).astype(np.int32)
        cv2.polylines(
            band, [path[:, None]], False, 1, max(3, round(settings.ruling_width * min(rule.width, usual)))
        )
        out |= (band > 0) & (lost < 3 * rule.depth / 2 + 3 * noise)
    return out
