"""A picture in linear light, and what was learnt while it was opened."""

from __future__ import annotations

import functools
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.srgb import decode, encode
from inkhorn.errors import PictureError

Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]
Codes = NDArray[np.uint8] | NDArray[np.uint16]

_DEEP = np.iinfo(np.uint16).max
_ROWS = 32_000  # numbers-in-code: the library draws no taller picture
_LEVELS = 4096  # numbers-in-code: levels finer than any noise


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
    matrix : ndarray (3, 3) or None
        From the file's own linear light to linear sRGB, where its profile has other primaries (phones: Display P3).
        What a tone curve is asked about is the file's own light.
    camera : str
        Make and model of the camera as the file tells them (EXIF); empty if it does not.
    """

    _linear: Floats | None = None
    codes: Codes | None = None
    valid: Mask
    reduction: float
    grey: bool
    compressed: bool
    notes: tuple[str, ...]
    matrix: NDArray[np.float64] | None = None
    camera: str = ""

    def __attrs_post_init__(self) -> None:
        """Refuse a picture of nothing."""
        if self._linear is None and self.codes is None:
            raise PictureError("a picture needs linear light or codes")

    @functools.cached_property
    def linear(self) -> Floats:
        """Return linear light, float32 (H, W, 3)."""
        return self.part(slice(None), slice(None))

    def _in_srgb(self, light: Floats) -> Floats:
        if self.matrix is None or not light.size:
            return light
        flat = np.ascontiguousarray(light).reshape(len(light), -1, 3)
        return np.asarray(cv2.transform(flat, self.matrix), dtype=np.float32).reshape(light.shape)

    @property
    def deep(self) -> NDArray[np.uint16]:
        """Return the file's own linear light in 65535 steps, uint16 (H, W, 3) or, without colour, (H, W)."""
        if self._linear is not None:
            return _in_steps(self._linear)
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

    def part(self, rows: slice, columns: slice, *, own: bool = False) -> Floats:
        """Return linear light of a rectangle only, float32 (h, w, 3); ``own``: as the file has it, not in sRGB."""
        if self._linear is not None:
            light = self._linear[rows, columns]
        else:
            light = _three(_light(np.ascontiguousarray(self._codes[rows, columns])))
        return light if own else self._in_srgb(light)

    def rough(self, halvings: int, rows: slice, columns: slice) -> Picture:
        """Return a rectangle halved so often along each side, averaged as it is encoded: quick, and good only for finding things in."""
        source: NDArray[Any] = self._codes if self._linear is None else self._linear
        small, valid = source[rows, columns], self.valid[rows, columns]
        for _ in range(halvings):
            height, width = (side // 2 for side in small.shape[:2])
            small = cv2.resize(
                small[: 2 * height, : 2 * width], (width, height), interpolation=cv2.INTER_AREA
            )
            valid = valid[: 2 * height : 2, : 2 * width : 2]
        valid = np.ascontiguousarray(valid)
        if self._linear is not None:
            return attrs.evolve(self, linear=small.astype(np.float32), valid=valid)
        codes: Codes = small.astype(np.uint8) if small.dtype == np.uint8 else small.astype(np.uint16)
        return attrs.evolve(self, codes=codes, valid=valid)

    def levels(self, rows: slice, columns: slice) -> tuple[Codes, Floats]:
        """Return a rectangle (h, w, 3) as numbers of light levels, and the rising light of each level, the file's own.

        The file's own levels where there are 256; else 4096 whose roots are evenly apart.
        """
        if self._linear is None and self._codes.dtype == np.uint8:
            part = np.ascontiguousarray(self._codes[rows, columns]).astype(np.uint8, copy=False)
            return np.asarray(
                part if part.ndim == 3 else cv2.merge([part] * 3), dtype=np.uint8
            ), _float_table()
        root = np.sqrt(np.clip(self.part(rows, columns, own=True), 0, 1)) * (_LEVELS - 1)
        levels = np.linspace(0, 1, _LEVELS) ** 2
        return np.rint(root).astype(np.uint16), levels.astype(np.float32)

    def lit(self, rows: slice, columns: slice, light: Callable[[Floats], Floats]) -> NDArray[np.uint16]:
        """Return what a tone curve makes of a rectangle's own light, in 65535 steps, uint16 (h, w, 3); 8-bit codes by table."""
        if self._linear is None and self._codes.dtype == np.uint8:
            table = _in_steps(light(_float_table()))
            lit = cv2.LUT(np.ascontiguousarray(self._codes[rows, columns]), table)
            return np.asarray(lit if lit.ndim == 3 else cv2.merge([lit] * 3), dtype=np.uint16)
        return _in_steps(light(self.part(rows, columns, own=True)))

    def encoded_grey(self, by: float) -> NDArray[np.uint8]:
        """Return an encoded grey picture, ``by`` times smaller along each side, for finding things in."""
        height, width = self.shape
        size = (max(1, round(width / by)), max(1, round(height / by)))
        codes: NDArray[Any] = self._codes if self._linear is None else self.deep
        small = cv2.cvtColor(np.ascontiguousarray(codes), cv2.COLOR_RGB2GRAY) if codes.ndim == 3 else codes
        if by >= 2 and min(height, width) >= 2:  # halving first is much the quicker way to the same average
            half = (width // 2, height // 2)
            small = cv2.resize(small[: 2 * half[1], : 2 * half[0]], half, interpolation=cv2.INTER_AREA)
        if small.shape[::-1] != size:
            # what is left to do after halving is at most once more the half: near enough for finding things
            way = cv2.INTER_LINEAR if small.shape != codes.shape[:2] and by < 4 else cv2.INTER_AREA
            small = cv2.resize(small, size, interpolation=way)
        if small.dtype == np.uint16:
            small = _encoded_from_deep()[small]
        return np.asarray(small, dtype=np.uint8)

    def at(self, rows: NDArray[np.int64], columns: NDArray[np.int64], *, own: bool = False) -> Floats:
        """Return linear light of single pixels, float32 (N, 3); ``own``: as the file has it, not in sRGB."""
        if self._linear is not None:
            light = self._linear[rows, columns]
        elif not rows.size:
            return np.empty((0, 3), np.float32)
        else:
            some = np.ascontiguousarray(self._codes[rows, columns].reshape(rows.size, 1, -1))
            light = _three(_light(some))[:, 0]
        return light if own else self._in_srgb(light[:, None])[:, 0]

    def along(self, at: NDArray[np.float64], lengths: list[int]) -> Floats:
        """Return bilinear samples of linear light at points (P, K, 2) of x, y, px, float32 (P, K, 3).

        ``lengths`` says how many of the P rows lie near each other; beyond the border its edge goes on.
        """
        place, parts = at.astype(np.float32), []
        source: NDArray[Any] = self._codes if self._linear is None else self._linear
        # codes must be light before they are mixed, which is done for what lies round each stroke alone
        by_stroke = source.dtype == np.uint8 or max(source.shape[:2]) > _ROWS
        starts = np.cumsum([0, *lengths]) if by_stroke else np.append(np.arange(0, len(at), _ROWS), len(at))
        for first, last in zip(starts[:-1].tolist(), starts[1:].tolist(), strict=True):
            x, y, part = place[first:last, :, 0], place[first:last, :, 1], source
            if by_stroke:
                left, top = max(0, int(x.min()) - 1), max(0, int(y.min()) - 1)
                part = np.ascontiguousarray(source[top : int(y.max()) + 3, left : int(x.max()) + 3])
                x, y = x - left, y - top
            if part.dtype == np.uint8:
                part = np.asarray(cv2.LUT(part, _float_table()), dtype=np.float32)
            seen = cv2.remap(part, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
            parts.append(_light(seen) if seen.dtype == np.uint16 else np.asarray(seen, dtype=np.float32))
        light = np.concatenate(parts)
        return self._in_srgb(light if light.ndim == 3 else np.repeat(light[..., None], 3, axis=2))

    def reduced(self, by: float) -> Picture:
        """Return the picture averaged down ``by`` times along each side, in linear light.

        The last rows and columns that do not fill a pixel, or a group of pixels where ``by``
        is no whole number, are left out.
        """
        if by <= 1:
            return self
        # numbers-in-code: fractions as they are asked for, 4 px to 3
        old, new = Fraction(by).limit_denominator(4).as_integer_ratio()
        down, across = (max(1, side // old) for side in self.shape)
        size, source = (across * new, down * new), self._codes if self._linear is None else self._linear
        small = _averaged(source[: down * old, : across * old], size, old, new)
        valid = np.ones(size[::-1], bool)
        if not self.valid.all():
            known = self.valid[: down * old, : across * old].astype(np.float32)
            valid = _averaged(known, size, old, new)[..., 0] > np.float32(1 - 1e-6)
        return attrs.evolve(
            self,
            linear=self._in_srgb(small),
            codes=None,
            matrix=None,
            valid=valid,
            reduction=self.reduction * old / new,
        )


def _averaged(array: Codes | Floats, size: tuple[int, int], old: int, new: int) -> Floats:
    """Average ``old`` px to ``new`` in linear light, in strips that stay in the processor's own memory."""
    deep = 2 * 12 * old
    parts = []
    for top in range(0, len(array), deep):
        strip = array[top : top + deep]
        if strip.dtype == np.uint8:
            strip = np.asarray(cv2.LUT(strip, _table()), dtype=np.uint16)
        rows = max(1, len(strip) * new // old)
        parts.append(np.asarray(cv2.resize(strip, (size[0], rows), interpolation=cv2.INTER_AREA)))
    out = np.concatenate(parts)
    return _three(out.astype(np.float32) if out.dtype == np.float32 else _light(out.astype(np.uint16)))


@functools.cache
def _table() -> NDArray[np.uint16]:
    codes = np.arange(np.iinfo(np.uint8).max + 1)
    return np.asarray(np.rint(decode(codes / codes[-1]) * _DEEP), dtype=np.uint16)


@functools.cache
def _float_table() -> Floats:
    return decode(np.arange(_table().size) / (_table().size - 1)).astype(np.float32)


@functools.cache
def _encoded_from_deep() -> NDArray[np.uint8]:
    top = np.iinfo(np.uint8).max
    return np.asarray(np.rint(top * encode(np.arange(_DEEP + 1) / _DEEP)), dtype=np.uint8)


def _light(codes: NDArray[Any]) -> Floats:
    if codes.dtype == np.uint8:
        return np.asarray(cv2.LUT(codes, _float_table()), dtype=np.float32)
    return np.asarray(np.multiply(codes, np.float32(1 / _DEEP), dtype=np.float32), dtype=np.float32)


def _in_steps(light: Floats) -> NDArray[np.uint16]:
    return np.asarray(np.rint(np.clip(light, 0, 1) * _DEEP), dtype=np.uint16)


def _three(array: Floats) -> Floats:
    if array.ndim == 3 and array.shape[2] == 3:
        return array
    return np.asarray(cv2.merge([array] * 3), dtype=np.float32)
