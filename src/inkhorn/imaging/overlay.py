"""Draw what was read over the picture, in tints that no ink or skin has."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.srgb import encode
from inkhorn.imaging.picture import Picture
from inkhorn.imaging.reading import EDGE, GAP, GHOST, INTACT, OUTSIDE, RULING, THINNED, PhotoReading

# numbers-in-code: tints of a drawing
# tints in 8-bit sRGB; none is a brown, a blue-black or a skin tone
TINTS = {
    INTACT: (0, 150, 120),
    EDGE: (120, 205, 185),
    THINNED: (235, 190, 0),
    GAP: (230, 0, 140),
    RULING: (120, 90, 235),
    GHOST: (130, 200, 60),
    OUTSIDE: (110, 110, 110),
}


def overlay(picture: Picture, reading: PhotoReading) -> NDArray[np.uint8]:
    """Return the picture with each state tinted, uint8 (H, W, 3), sRGB, at working resolution.

    Intact ink green, its blurred rim paler green, thinned ink yellow, worn-off
    gaps magenta, ruling violet, show-through and soiling lime, what is not the
    sheet grey. The picture's own light and dark stay visible beneath.
    """
    if picture.shape != reading.state.shape:
        picture = picture.reduced(picture.shape[0] // reading.state.shape[0])
    out = np.empty((*picture.shape, 3), np.uint8)
    tint = np.zeros((256, 3), np.float32)
    strength = np.zeros(256, np.float32)
    for code, colour in TINTS.items():
        tint[code] = colour
        strength[code] = 0.5 if code == OUTSIDE else 3 / 4
    for top in range(0, picture.shape[0], 1000):  # strips bound the memory of a large picture
        rows = np.s_[top : min(top + 1000, picture.shape[0])]
        # numbers-in-code: the top of 8 bits
        base = 255 * np.clip(encode(np.clip(picture.part(rows, np.s_[:]), 0, 1)), 0, 1)
        state = reading.state[rows]
        share = strength[state][..., None]
        out[rows] = np.rint(base * (1 - share) + tint[state] * share).astype(np.uint8)
    return out
