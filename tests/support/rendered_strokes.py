"""Separate straight strokes, fresh with clean ends or worn, rendered from a known truth."""

from __future__ import annotations

import io

import cv2
import numpy as np
from PIL import Image

from support.rendered_pages import OVER, _field, _reduce, _srgb

KINDS = ("dashes", "words", "uprights", "long")


def strokes(
    kind: str, seed: int, *, bare: float = 0.0, thinned: float = 0.0, is_round: bool = True, nib: float = 8.0
) -> tuple[bytes, float]:
    """Return a PNG of strokes and the share of their area that is bare.

    Parameters
    ----------
    kind : str
        ``"dashes"`` alike and in line, ``"words"`` of any length in line, ``"uprights"`` side by side
        in rows, ``"long"`` lines across the sheet.
    bare, thinned : float
        Shares worn off and worn thin, in patches about as wide as a stroke.
    is_round : bool
        The pen's end: round, or cut square.
    """
    rng = np.random.default_rng(seed)
    height, width = 420, 1000
    drawn = np.zeros((height * OVER, width * OVER), np.uint8)
    for start, stop in _courses(kind, rng, height, width, nib):
        _draw(drawn, np.array(start) * OVER, np.array(stop) * OVER, nib * OVER, is_round=is_round)
    stroke = drawn.astype(np.float32)
    factor, gone = np.ones_like(stroke), np.zeros(stroke.shape, bool)
    if bare + thinned:
        wear = _field(rng, stroke.shape, nib * rng.uniform(0.5, 1.5) * OVER)
        wear += rng.uniform(0, 0.8) * _field(rng, stroke.shape, 60 * OVER)
        level = np.quantile(wear[stroke > 0], [1 - bare, 1 - bare - thinned])
        gone, worn = wear > level[0], wear > level[1]
        depth = 0.48 + 0.18 * np.clip(_field(rng, stroke.shape, 10 * OVER), -1, 1)
        factor[worn] = depth[worn]
        factor[gone] = 0
    film = stroke * factor * np.exp(0.03 * _field(rng, stroke.shape, 4 * OVER))
    skin = np.array([0.78, 0.70, 0.55]) * np.exp(0.01 * _field(rng, stroke.shape, 3))[..., None]
    light = _reduce(skin * 10 ** (-film[..., None] * np.array([0.75, 0.85, 0.95])))
    seen = cv2.GaussianBlur(light, (0, 0), 0.8)
    seen += rng.normal(0, 0.004, seen.shape)
    out = io.BytesIO()
    Image.fromarray(np.rint(255 * _srgb(np.clip(seen, 0, 1))).astype(np.uint8)).save(out, "PNG")
    return out.getvalue(), float((stroke * gone).sum() / stroke.sum())


def _courses(kind, rng, height, width, nib):
    """Return start and end of every stroke, px."""
    out = []
    long, apart = rng.uniform(3, 7) * nib, rng.uniform(1.5, 4) * nib
    for y in range(50, height - 30, 48):
        x = 40.0
        while x < width - 40:
            if kind == "uprights":
                out.append(((x, y - 16), (x + rng.normal(0, 1), y + 14)))
                x += 3 * nib + rng.uniform(0, 6)
                continue
            if kind == "long":
                out.append(((x, y), (width - 40, y + rng.normal(0, 3))))
                break
            if kind == "words":
                long, apart = rng.uniform(2, 9) * nib, rng.uniform(1.5, 5) * nib
            out.append(((x, y), (min(x + long, width - 20), y + rng.normal(0, 0.6))))
            x += long + apart
    return out


def _draw(canvas, start, stop, width, *, is_round):
    shift = 4
    if is_round:
        ends = [tuple(int(v) for v in np.rint(p * 2**shift)) for p in (start, stop)]
        cv2.line(canvas, *ends, 1, int(width), cv2.LINE_8, shift)
        return
    along = (stop - start) / np.hypot(*(stop - start))
    side = np.array([-along[1], along[0]]) * width / 2
    corners = np.array([start + side, stop + side, stop - side, start - side])
    cv2.fillConvexPoly(canvas, np.rint(corners * 2**shift).astype(np.int32), 1, cv2.LINE_8, shift)
