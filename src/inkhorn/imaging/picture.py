"""A picture in linear light, and what was learnt while it was opened."""

from __future__ import annotations

import functools

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.srgb import decode

Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]
Codes = NDArray[np.uint8] | NDArray[np.uint16]

_DEEP = np.iinfo(np.uint16).max


@attrs.frozen(kw_only=True, eq=False)
class Picture:
    """An upright picture in linear sRGB.

    Made either from ``linear`` or from ``codes``; a float picture of 12 megapixels
    takes 144 MB, its codes 36, so the reader asks for the parts it needs.

    Attributes
    ----------
    linear : ndarray, float32, shape (H, W, 3)
        Linear light, 1 = the encoding's white.
    codes : ndarray (H, W, 3) or, without colour, (H, W)
        uint8: encoded as sRGB; uint16: proportional to linear light. Not used where ``linear`` is given.
    valid : ndarray of bool, shape (H, W)
        False where the file says there is nothing (transparent).
    reduction : float
        Source pixels per pixel of this picture along a side; 1 if not reduced.
    grey : bool
        The source carries no colour: all three channels are equal.
    compressed : bool
        The source format loses detail (JPEG and its kin).
    notes : tuple of str
        What the reader of a measurement should know about the file.
    """

    _linear: Floats | None = None
    codes: Codes | None = None
    valid: Mask
    reduction: float
    grey: bool
    compressed: bool
    notes: tuple[str, ...]

    def __attrs_post_init__(self) -> None:
        """Refuse a picture of nothing."""
        if self._linear is None and self.codes is None:
            raise ValueError("a picture needs linear light or codes")

    @functools.cached_property
    def linear(self) -> Floats:
        """Return linear light, float32 (H, W, 3)."""
        if self._linear is not None:
            return self._linear
        return _three(_light(self._codes))

    @functools.cached_property
    def deep(self) -> NDArray[np.uint16]:
        """Return linear light in 65535 steps, uint16 (H, W, 3) or, without colour, (H, W)."""
        if self._linear is not None:
            return np.asarray(np.rint(np.clip(self._linear, 0, 1) * _DEEP), dtype=np.uint16)
        if self._codes.dtype == np.uint16:
            return np.asarray(self._codes, dtype=np.uint16)
        return np.asarray(cv2.LUT(self._codes, _table()), dtype=np.uint16)

    @property
    def _codes(self) -> Codes:
        return np.empty((0, 0), np.uint8) if self.codes is None else self.codes

    @property
    def shape(self) -> tuple[int, int]:
        """Return height and width, px."""
        return (self.valid.shape[0], self.valid.shape[1])

    def reduced(self, by: float) -> Picture:
        """Return the picture averaged down ``by`` times along each side, in linear light."""
        if by <= 1:
            return self
        height, width = self.shape
        size = (max(1, round(width / by)), max(1, round(height / by)))
        if self._linear is not None:
            small = np.asarray(cv2.resize(self._linear, size, interpolation=cv2.INTER_AREA), dtype=np.float32)
        else:
            small = _three(
                _light(np.asarray(cv2.resize(self.deep, size, interpolation=cv2.INTER_AREA), dtype=np.uint16))
            )
        if self.valid.all():
            valid = np.ones((size[1], size[0]), bool)
        else:
            share = cv2.resize(self.valid.astype(np.float32), size, interpolation=cv2.INTER_AREA)
            valid = np.asarray(share) > 1 - 1e-6
        return attrs.evolve(
            self, linear=small, codes=None, valid=valid, reduction=self.reduction * width / size[0]
        )


@functools.cache
def _table() -> NDArray[np.uint16]:
    codes = np.arange(np.iinfo(np.uint8).max + 1)
    return np.asarray(np.rint(decode(codes / codes[-1]) * _DEEP), dtype=np.uint16)


def _light(codes: Codes) -> Floats:
    if codes.dtype == np.uint8:
        table = decode(np.arange(_table().size) / (_table().size - 1)).astype(np.float32)
        return np.asarray(cv2.LUT(codes, table), dtype=np.float32)
    return np.asarray(np.multiply(codes, np.float32(1 / _DEEP), dtype=np.float32), dtype=np.float32)


def _three(array: Floats) -> Floats:
    return array if array.ndim == 3 else np.asarray(cv2.merge([array] * 3), dtype=np.float32)
