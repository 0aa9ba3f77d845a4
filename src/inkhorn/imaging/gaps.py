"""Where a stroke must have run although its ink is gone, and how much is gone.

*Placed* gaps, from sure to less sure: holes and notches narrower than a stroke
are filled; two ends of strokes that face each other and run into each other
are joined by a curve of their width; an end that points at the side of another
stroke close by is led on to it. Strokes side by side are not joined, because
no end faces another.

*Counted* gaps: what is gone altogether leaves nothing to join, but each cut
leaves ends. `Continuity` keeps how many ends, and how many facing pairs of
ends, there are for the length of stroke left; `lost_odds` turns both into the
length gone for the length left. Strokes that the pen itself set apart (dashes,
letters, words) end as well: only so many ends are counted as look torn
(`inkhorn.imaging.torn`).
"""

from __future__ import annotations

import math

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from scipy.special import ndtr

from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import Bytes, closed, disc, enlarged, inside_by, mostly
from inkhorn.imaging.settings import Settings
from inkhorn.imaging.thin import arms, skeleton, tips
from inkhorn.imaging.torn import torn_ends

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Ends:
    """Ends of strokes: tip x, y and outward direction (K, 2), half width and run length (K,), px.

    ``length`` is that of the whole skeleton, px.
    """

    tip: Array
    way: Array
    half: Array
    run: Array
    length: float


@attrs.frozen(kw_only=True)
class Continuity:
    """How often the strokes of a page break off.

    Attributes
    ----------
    length : float
        Length of stroke left, in stroke widths.
    ends, pairs : int
        Ends of strokes, and pairs of them that face each other.
    mean_gap : float
        Mean length between the facing ends, in stroke widths; of the torn ones, where they are told.
    spots : float
        Share of the stroke area in holes and notches narrower than a stroke.
    torn, torn_pairs : float or None
        How many of the ends look torn, and how many of the pairs have such an end, each counted as far as it
        does; None if nobody looked.
    """

    length: float
    ends: int
    pairs: float
    mean_gap: float
    spots: float
    torn: float | None = None
    torn_pairs: float | None = None


#: Where nothing is known of breaks: patches are not drawn along a line.
UNBROKEN = Continuity(length=1, ends=0, pairs=0, mean_gap=0, spots=0)


def envelope(
    ink: Mask, width: float, settings: Settings, *, lost: Floats | None = None, blur: float = 1.0
) -> tuple[Mask, Continuity]:
    """Return ink with its inferred worn-off gaps filled, bool (H, W), and its continuity.

    Parameters
    ----------
    ink : ndarray of bool (H, W)
    width : float
        Usual stroke width, px.
    lost : ndarray float32 (H, W), optional
        Share of light lost: tells ends that are torn from those that the pen left.
    blur : float
        Standard deviation of its blur, px.
    """
    shrink = max(1.0, width / settings.gap_width)
    height, across = ink.shape
    size = (max(1, round(across / shrink)), max(1, round(height / shrink)))
    grid = mostly(ink, size).astype(np.uint8)
    small = width / shrink
    filled = _notches(grid, small, settings)
    spots = 1 - float(np.count_nonzero(grid)) / max(1, int(np.count_nonzero(filled)))
    ends = find_ends(filled, small)
    torn = None
    if lost is not None:
        by = np.array([across / size[0], height / size[1]])
        torn = torn_ends((ends.tip + 0.5) * by - 0.5, ends.way, ends.half * shrink, lost, blur, settings)
    breaks = _continuity(ends, small, spots, torn, settings)
    # a fresh page's strokes end where the pen was lifted: only a page that breaks off often is joined far
    evidence = min(1.0, lost_odds(breaks, settings)[0] / settings.gap_evidence)
    reach = small * (settings.gap_fresh + evidence * (settings.gap_reach - settings.gap_fresh))
    filled = _joined(filled, ends, small, reach, settings)
    if evidence > 0:  # joined fragments point more surely than single ones
        filled = _joined(filled, find_ends(filled, small), small, reach, settings)
    filled = _notches(filled, small, settings)
    return ink | enlarged((filled & ~grid & 1) > 0, (across, height)), breaks


def lost_odds(breaks: Continuity, settings: Settings) -> tuple[float, float]:
    """Return the stroke length cut away per length left, and its standard deviation.

    Ink and gaps alternate along a stroke with mean lengths m1 and m0, so the
    odds of being gone are m0/m1. Cuts are counted twice over: every cut leaves
    two ends more than the pen did (2/m1 a length), and some share of the cuts
    leaves ends that face each other. A hand of many short strokes has many
    ends but few facing ones, a joined hand has facing ends without having many:
    the smaller count is believed. Of neither more are counted than look torn:
    with a share t of torn and f of clean ends taken for torn, U of E ends that
    look so are (U - f E) / (t - f) torn ones.
    """
    length = max(1.0, breaks.length)
    gap = _mean_gap(breaks, settings)
    seen, mistaken = settings.torn_seen, settings.torn_mistaken
    ends, pairs = breaks.ends / length - settings.ends_natural, breaks.pairs / length - settings.pairs_natural
    unsure, seen_pairs = 0.0, float(breaks.pairs)
    if breaks.torn is not None and breaks.torn_pairs is not None:
        ends = min(ends, _told(breaks.torn, breaks.ends, seen, mistaken) / length)
        # a pair looks torn where either of its ends does
        both = [1 - (1 - share) ** 2 for share in (seen, mistaken)]
        pairs = min(pairs, _told(breaks.torn_pairs, breaks.pairs, *both) / length)
        seen_pairs = breaks.torn_pairs / (both[0] - both[1]) ** 2
        unsure = mistaken * breaks.ends / (seen - mistaken) / length * gap / 2
    odds = max(0.0, min(ends * gap / 2, pairs * gap / settings.pairs_found))
    counted = max(1.0, seen_pairs) ** 0.5 / length * gap / settings.pairs_found
    natural = settings.ends_natural * settings.ends_doubt * gap / 2
    return odds, float(np.sqrt(counted**2 + natural**2 + unsure**2 + (odds * settings.gap_doubt) ** 2))


def _told(looking: float, every: float, seen: float, mistaken: float) -> float:
    """Return how many are torn where some look so, ``seen`` of the torn and ``mistaken`` of the clean."""
    return max(0.0, (looking - mistaken * every) / (seen - mistaken))


def _mean_gap(breaks: Continuity, settings: Settings) -> float:
    """Return the mean length of all cuts: the joined ones are the short ones of them."""
    prior = settings.gap_pairs_prior
    count = breaks.pairs if breaks.torn_pairs is None else breaks.torn_pairs
    seen = (breaks.mean_gap * count + settings.gap_mean / settings.gap_ratio * prior) / (count + prior)
    return settings.gap_ratio * seen


def _continuity(ends: Ends, width: float, spots: float, torn: Array | None, settings: Settings) -> Continuity:
    free = np.ones(len(ends.half), bool)
    gaps: list[float] = []
    looks: list[float] = []
    count = 0.0
    for i, j, sure in _pairs(ends, width, settings.gap_reach * width, settings) if len(free) > 1 else []:
        if free[i] and free[j]:
            free[i] = free[j] = False
            gaps.append(float(np.hypot(*(ends.tip[i] - ends.tip[j]))) / width)
            count += sure
            looks.append(sure if torn is None else sure * (1 - float((1 - torn[i]) * (1 - torn[j]))))
    worn = float(sum(looks))
    return Continuity(
        length=ends.length / width,
        ends=len(ends.half),
        pairs=count,
        mean_gap=float(np.dot(gaps, looks)) / worn if worn else 0.0,
        spots=spots,
        torn=None if torn is None else float(torn.sum()),
        torn_pairs=None if torn is None else worn,
    )


def length_of(bones: Mask) -> float:
    """Return the length of a skeleton, px: steps along the grid count 1, diagonal steps sqrt 2."""
    straight = int(np.count_nonzero(bones[1:] & bones[:-1]) + np.count_nonzero(bones[:, 1:] & bones[:, :-1]))
    a, b, c, d = bones[:-1, :-1], bones[:-1, 1:], bones[1:, :-1], bones[1:, 1:]
    diagonal = int(np.count_nonzero(a & d & ~b & ~c) + np.count_nonzero(b & c & ~a & ~d))
    return straight + math.sqrt(2) * diagonal


def _notches(grid: Bytes, width: float, settings: Settings) -> Bytes:
    size = 2 * max(1, int(width * settings.gap_least / 2)) + 1
    return closed(grid, disc(size)) | grid


def _joined(grid: Bytes, ends: Ends, width: float, reach: float, settings: Settings) -> Bytes:
    out = grid.copy()
    if len(ends.half) < 2:
        return out
    free = np.ones(len(ends.half), bool)
    for i, j, sure in _pairs(ends, width, reach, settings):
        if sure > 0.5 and free[i] and free[j]:
            free[i] = free[j] = False
            _bridge(out, ends, i, j)
    loose = np.flatnonzero(free & (ends.run >= settings.gap_lead * width))
    _lead_on(out, grid, ends, loose, min(reach, settings.gap_side * width))
    return out


def find_ends(grid: Bytes, width: float) -> Ends:
    """Return the ends of strokes of a mask, with the way each points."""
    depth = inside_by(grid > 0)
    bones = skeleton(grid > 0)
    rows, columns = np.nonzero(tips(bones))
    walk, stopped = _walk(bones, np.column_stack([rows, columns]), max(3, round(2 * width)))
    steps = (walk[..., 0] >= 0).sum(axis=0)
    along = np.where(walk[..., 0] >= 0, depth[walk[..., 0], walk[..., 1]], np.inf)
    along.sort(axis=0)
    each = np.arange(len(rows))
    middle = (along[(steps - 1) // 2, each] + along[steps // 2, each]) / 2
    half = np.maximum(0.5, middle - 0.5)
    real = ~(stopped & (steps < 3 * half / 2 + 1))  # others are spurs of the thinning, not ends
    back = walk[steps - 1, each]
    way = np.column_stack([columns - back[:, 1], rows - back[:, 0]]).astype(np.float64)
    way /= np.maximum(1e-9, np.hypot(*way.T))[:, None]
    tip = np.column_stack([columns, rows]) + way * depth[rows, columns][:, None]
    return Ends(
        tip=tip[real],
        way=way[real],
        half=half[real],
        run=steps[real].astype(np.float64),
        length=length_of(bones),
    )


_LEAST_SURE = 0.05  # numbers-in-code: pairs less sure than one in twenty are not looked at
_AROUND = ((-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (-1, 1), (1, -1), (1, 1))


def _walk(bones: Mask, start: NDArray[np.int64], far: int) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Follow a skeleton inwards from all its ends at once.

    Returns
    -------
    walk : ndarray (far, K, 2)
        Rows and columns of the pixels passed; -1 after the last.
    stopped : ndarray of bool (K,)
        True where a crossing ended the walk.
    """
    count = np.pad(arms(bones), 1)
    row = count.shape[1]
    flat = count.reshape(-1)
    steps = np.array([a * row + b for a, b in _AROUND])
    at = np.full((far, len(start)), -1, np.int64)
    at[0] = (start[:, 0] + 1) * row + start[:, 1] + 1
    going, stopped = np.arange(len(start)), np.zeros(len(start), bool)
    for n in range(1, far):
        near = at[n - 1, going][:, None] + steps
        # a path of one pixel's width cannot come back to where it was within four steps but by turning round
        fresh = (flat[near] > 0) & (near[None] != at[max(0, n - 4) : n, going][..., None]).all(axis=0)
        first = fresh.argmax(axis=1)
        each = np.arange(len(going))
        some = fresh[each, first]
        step = near[each, first]
        crossing = some & (flat[step] >= 3)
        stopped[going[crossing]] = True
        on = some & ~crossing
        going = going[on]
        at[n, going] = step[on]
        if not going.size:
            break
    walk = np.stack([at // row - 1, at % row - 1], axis=-1)
    walk[at < 0] = -1
    return walk, stopped


def _pairs(ends: Ends, width: float, reach: float, settings: Settings) -> list[tuple[int, int, float]]:
    """Return pairs of ends that run into each other, the likeliest first, and how surely each does."""
    pairs = cKDTree(ends.tip).query_pairs(reach, output_type="ndarray")
    if not len(pairs):
        return []
    i, j = pairs.T
    span = ends.tip[j] - ends.tip[i]
    length = np.hypot(*span.T)
    towards = span / np.maximum(length, 1e-9)[:, None]
    # on a circle, leaving and arriving turn by the same angle to the same side
    leave, arrive = _turn(ends.way[i], towards), _turn(towards, -ends.way[j])
    short_i, short_j = ends.run[i] < width, ends.run[j] < width  # too short to point anywhere
    leave = np.where(short_i, np.where(short_j, 0, arrive), leave)
    arrive = np.where(short_j, leave, arrive)
    most, uneven = math.radians(settings.gap_turn), math.radians(settings.gap_uneven)
    bend, skew = np.maximum(np.abs(leave), np.abs(arrive)), np.abs(leave - arrive)
    alike = np.minimum(ends.half[i], ends.half[j]) / np.maximum(ends.half[i], ends.half[j])
    # a px more or less at an end turns it: what lies near a bound counts in part, or the count would hang on that px
    askew, off = math.radians(settings.gap_askew), settings.gap_off
    sure = ndtr((most - bend) / askew) * ndtr((uneven - skew) / askew)
    sure *= ndtr((reach * (1 - bend / (2 * most)) - length) / (off * width))
    sure = np.maximum(sure, ndtr((width / 2 - length) / (off * width)))
    sure *= ndtr((alike - settings.gap_alike) / off)
    cost = length * (1 + bend / most + skew / uneven)
    some = sure > _LEAST_SURE
    i, j, sure, cost = i[some], j[some], sure[some], cost[some]
    order = np.argsort(cost / sure, kind="stable")
    return [(int(i[k]), int(j[k]), float(sure[k])) for k in order]


def _turn(a: Array, b: Array) -> Array:
    """Return the signed angle from directions ``a`` to ``b``, rad."""
    return np.asarray(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1)))


def _bridge(out: Bytes, ends: Ends, i: int, j: int) -> None:
    """Draw a cubic Hermite curve from end to end, its width passing from one to the other."""
    a, way_a, half_a = ends.tip[i], ends.way[i], float(ends.half[i])
    b, way_b, half_b = ends.tip[j], ends.way[j], float(ends.half[j])
    length = float(np.hypot(*(b - a)))
    u = np.linspace(0, 1, max(3, math.ceil(2 * length) + 1))[:, None]
    start, stop = a - way_a * half_a, b - way_b * half_b
    pull = length + half_a + half_b
    curve = (
        (2 * u**3 - 3 * u**2 + 1) * start
        + (u**3 - 2 * u**2 + u) * pull * way_a
        + (3 * u**2 - 2 * u**3) * stop
        - (u**3 - u**2) * pull * way_b
    )
    _stroke(out, curve, (1 - u[:, 0]) * half_a + u[:, 0] * half_b)


def _lead_on(out: Bytes, grid: Bytes, ends: Ends, loose: NDArray[np.int64], reach: float) -> None:
    """Lead each end straight on to the side of a stroke if one lies within ``reach``."""
    steps = np.arange(1, reach + 0.5, 0.5)
    if not steps.size or not loose.size:
        return
    course = ends.tip[loose][:, None] + steps[None, :, None] * ends.way[loose][:, None]
    x, y = np.rint(course).astype(int).transpose(2, 0, 1)
    inside = (x >= 0) & (y >= 0) & (x < grid.shape[1]) & (y < grid.shape[0])
    hit = inside & (grid[np.where(inside, y, 0), np.where(inside, x, 0)] > 0)
    clear = np.where(hit.all(axis=1), len(steps), (~hit).argmax(axis=1))
    beyond = hit & (np.arange(len(steps)) > clear[:, None])
    for n in np.flatnonzero(beyond.any(axis=1)).tolist():
        k = loose[n]
        part = course[n, : int(beyond[n].argmax()) + 1]
        path = np.vstack([ends.tip[k] - ends.way[k] * ends.half[k], part])
        _stroke(out, path, np.full(len(path), ends.half[k]))


def _stroke(out: Bytes, curve: Array, half: Array) -> None:
    shift = 4  # bits of a pixel's fraction
    for point, r in zip(np.rint(curve * 2**shift).astype(int).tolist(), half.tolist(), strict=True):
        cv2.circle(out, point, max(1, round((r - 1) * 2**shift)), 1, -1, cv2.LINE_8, shift)
