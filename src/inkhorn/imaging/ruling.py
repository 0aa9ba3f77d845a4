"""Find ruled lines (pencil, dry-point shadow, pale ink) and leave them out."""

from __future__ import annotations

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import area, area_share, dilate, disc, opened, sampled, square
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

    Straight-line candidates come from sums of thin dark ridges along lines at
    reduced size. A candidate is a rule if, along most of its length, it is
    darker than *both* its sides: a row of letters is dark too, but its sides
    are as dark as its middle about as often as not. A long straight stroke as
    deep and as wide as the ink's strokes is the pen's own, not a rule.
    """
    height, across = lost.shape
    shrink = max(1.0, max(height, across) / (3 * settings.coarse_side))
    size = (max(1, round(across / shrink)), max(1, round(height / shrink)))
    small, inside = area(lost, size), area_share(sheet, size) > 0.5
    level = max(noise, settings.ruling_contrast * depth)
    # a rule is as even as it is long: what is much darker than it, ink, counts no more than it
    ridge = np.clip(small - opened(small, disc(7)), 0, 3 * level) * inside
    found = _promising(straight_lines(ridge), small, inside, level, settings)
    scale = scale * [across / size[0], height / size[1]]
    rules: list[Rule] = []
    for ends in found:
        if any(_beside(ends, other.course[[0, -1]] / scale) for other in rules):
            continue
        rule = _verified(ends, small, inside, level=level, ink=depth, scale=scale, settings=settings)
        if rule is None:
            continue
        followed = rule.course[[0, -1]] / scale
        if not any(_beside(followed, other.course[[0, -1]] / scale) for other in rules):
            rules.append(rule)
    own = settings.ruling_own
    rules = [rule for rule in rules if rule.depth < own * depth or rule.width < own * width]
    return _company(rules, float(max(size) * scale.max()), settings)


def straight_lines(ridge: Floats) -> NDArray[np.float64]:
    """Return the straight lines along which a picture sums to more than along those beside them.

    Sums along all digital lines come from the fast discrete Radon transform
    [GOETZDRUCK] of a picture reduced to 256 px, for four fans of 45 degrees.

    Returns
    -------
    ndarray (N, 2, 2)
        Ends x, y of lines across the whole picture, px, the surest first.
    """
    height, width = ridge.shape
    shrink = max(1.0, max(height, width) / _SIDE)
    small = area(ridge, (max(8, round(width / shrink)), max(8, round(height / shrink))))
    scale = np.array([width / small.shape[1], height / small.shape[0]])
    ends, score = [], []
    for steep in (False, True):
        for falling in (False, True):
            picture = small.T if steep else small
            picture = picture[::-1] if falling else picture
            lines, clear = _peaks(np.ascontiguousarray(picture))
            if falling:
                lines[..., 1] = picture.shape[0] - 1 - lines[..., 1]
            ends.append((lines[..., ::-1] if steep else lines) * scale + (scale - 1) / 2)
            score.append(clear)
    order = np.argsort(-np.concatenate(score), kind="stable")
    return np.asarray(np.concatenate(ends)[order])


_SIDE = 256


def _peaks(picture: Floats) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return lines of slope 0 to 1, ends x, y (N, 2, 2), and how far their sums stand out."""
    height, width = picture.shape
    sums = radon_fan(picture)
    slopes = sums.shape[0]
    start = np.arange(sums.shape[1]) - slopes
    length = np.arange(slopes)[:, None] * width / slopes
    inside = np.clip((height - 1 - start) / np.maximum(length, 1e-6), 0, 1) - np.clip(
        -start / np.maximum(length, 1e-6), 0, 1
    )
    # both sides of a line two px away: a rule stands out against each of them
    beside = np.maximum(np.roll(sums, 2, axis=1), np.roll(sums, -2, axis=1))
    clear = (sums - beside) / np.sqrt(np.maximum(inside * width, 1))
    clear[inside * width < slopes / 6] = 0
    best = (clear >= dilate(clear, square(5))) & (clear > 0)
    s, y = np.nonzero(best)
    # numbers-in-code: more candidates than a page has lines
    chosen = np.argsort(-clear[s, y], kind="stable")[:40]
    s, y = s[chosen], y[chosen] - slopes
    drop = s * (width - 1) / (slopes - 1)
    ends = np.stack([np.column_stack([0 * y, y]), np.column_stack([0 * y + width - 1, y + drop])], axis=1)
    return ends.astype(np.float64), clear[s, y + slopes].astype(np.float64)


def radon_fan(picture: Floats) -> Floats:
    """Return sums along digital lines that fall by 0 to N - 1 rows over N columns, (N, H + N) [GOETZDRUCK].

    Column ``N + y`` holds the lines that start at row ``y``; N is the width brought up to a power of 2.
    """
    height, width = picture.shape
    size = 1 << max(1, (width - 1).bit_length())
    tall = height + 2 * size
    blocks = np.zeros((size, 1, tall), np.float32)
    blocks[:width, 0, size : size + height] = picture.T
    while len(blocks) > 1:
        wide = blocks.shape[1]
        left, right = blocks[::2], blocks[1::2]
        joined = np.zeros((len(left), 2 * wide, tall), np.float32)
        for fall in range(2 * wide):
            half, shift = fall // 2, fall - fall // 2
            np.add(left[:, half, : tall - shift], right[:, half, shift:], out=joined[:, fall, : tall - shift])
        blocks = joined
    return np.asarray(blocks[0][:, : height + size])


def _promising(
    lines: NDArray[np.float64], small: Floats, inside: Mask, level: float, settings: Settings
) -> NDArray[np.float64]:
    """Keep the lines that are darker than both sides at a fair share of the places along their best part on the sheet."""
    if not len(lines):
        return lines
    along = lines[:, 1] - lines[:, 0]
    along /= np.maximum(1e-6, np.hypot(*along.T))[:, None]
    normal = np.column_stack([-along[:, 1], along[:, 0]])
    # numbers-in-code: places enough to tell a share
    stations = np.linspace(0, 1, 120)
    offsets = np.arange(-7, 8)
    course = lines[:, :1] + stations[:, None] * (lines[:, 1:] - lines[:, :1])
    profile = sampled(
        np.minimum(small, 6 * level),
        (course[:, :, None] + offsets[None, None, :, None] * normal[:, None, None]).reshape(
            len(lines), -1, 2
        ),
    ).reshape(len(lines), len(stations), len(offsets))
    # a line is only known to a few px: the shift at which it is darkest against both its sides counts
    side = np.maximum(profile[:, :, :-6], profile[:, :, 6:])
    dark = (profile[:, :, 3:-3] - side > level).astype(np.float32)
    dark = np.maximum(np.maximum(dark[:, :, :-1], dark[:, :, 1:])[:, :, 1:], dark[:, :, :-2])
    at = np.clip(np.rint(course).astype(int), 0, np.array(small.shape[::-1]) - 1)
    dark *= inside[at[..., 1], at[..., 0]][..., None]
    share = ndimage.uniform_filter1d(dark, len(stations) // 4, axis=1).max(axis=(1, 2))
    return np.asarray(lines[share > settings.ruling_cover])


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
    ink: float,
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
    smooth = _along(np.minimum(profile, 6 * level), max(5, len(points) // 40))
    course = offsets[(smooth - 0.1 * level * np.abs(offsets)).argmax(axis=1)]
    course = _smooth_course(stations[fits].astype(np.float64), course)

    each = np.arange(len(points))

    def taken(shift: float) -> NDArray[np.float64]:
        place = np.clip((course + shift - offsets[0]) / 0.5, 0, len(offsets) - 1)
        low = np.minimum(place.astype(int), len(offsets) - 2)
        before, behind = profile[each, low], profile[each, low + 1]
        return np.asarray(before + (behind - before) * (place - low), dtype=np.float64)

    # a rule goes on beside a station as at it: a short mean along it quiets noise that a pen stroke would not survive
    profile = _along(profile, 5)
    centre = np.maximum(np.maximum(taken(0), taken(-0.5)), taken(0.5))
    contrast = centre - np.maximum(taken(-3), taken(3))
    darker_beside = (contrast < -3 * level) & whole
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
    if depth > settings.low_share * ink and darker_beside[first : last + 1].mean() > settings.ruling_beside:
        return None  # a row of writing: as deep as ink, and often paler than its sides
    wide = float(np.median(np.sum(across > depth / 2, axis=1)) / 2)
    followed = (points + course[:, None] * normal)[first : last + 1]
    return Rule(course=followed * scale, depth=depth, width=max(1.0, wide) * float(scale.mean()))


def _along(profile: Floats, count: int) -> Floats:
    """Return means of ``count`` stations along a line."""
    return np.asarray(cv2.blur(profile, (1, count), borderType=cv2.BORDER_REFLECT), dtype=np.float32)


def _smooth_course(along: NDArray[np.float64], course: NDArray[np.float64]) -> NDArray[np.float64]:
    """Fit a cubic through the course: a rule bends with the sheet, it does not follow letters."""
    x = (along - along.mean()) / max(1.0, float(np.ptp(along)))
    basis = np.stack([np.ones_like(x), x, x**2, x**3])
    use = np.ones(len(x), bool)
    fitted = course
    for _ in range(3):
        held = basis * use
        fitted = np.linalg.lstsq(held @ basis.T, held @ course, rcond=None)[0] @ basis
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


def rule_mask(rules: tuple[Rule, ...], lost: Floats, noise: float, settings: Settings, by: float = 1) -> Mask:
    """Return the pixels of the rules, except where something clearly deeper crosses them.

    ``by`` is how many px of the rules one px of ``lost`` is.
    """
    if not rules:
        return np.zeros(lost.shape, bool)
    limit = np.full(lost.shape, -1, np.float32)
    usual = float(np.median([rule.width for rule in rules]))
    for rule in rules:
        # numbers-in-code: points enough to draw a line
        path = np.rint((rule.course[:: max(1, len(rule.course) // 200)] + 0.5) / by - 0.5).astype(np.int32)
        wide = max(3, round(settings.ruling_width * min(rule.width, usual) / by))
        cv2.polylines(limit, [path[:, None]], False, 3 * rule.depth / 2 + 3 * noise, wide)
    return np.asarray((limit > 0) & (lost < limit))
