"""Pictures that need a library of their own, very large ones, and what is said where the library is missing."""

from __future__ import annotations

import importlib.util
import io
import struct

import numpy as np
import pytest
from PIL import Image

from inkhorn.errors import PictureError
from inkhorn.imaging import sensor
from inkhorn.imaging.load import load_picture


def _dng(light: np.ndarray) -> bytes:
    """Return a minimal DNG (Digital Negative specification 1.4): one strip of a 2 x 2 mosaic, 16 bits, white at 65535."""
    height, width = light.shape
    matrix = [(32406, 10000), (-15372, 10000), (-4986, 10000)]  # XYZ to linear sRGB, IEC 61966-2-1
    matrix += [(-9689, 10000), (18758, 10000), (415, 10000), (557, 10000), (-2040, 10000), (10570, 10000)]
    tags = [
        (254, 4, [0]), (256, 4, [width]), (257, 4, [height]), (258, 3, [16]), (259, 3, [1]), (262, 3, [32803]),
        (271, 2, b"Saltmere\0"), (272, 2, b"None\0\0\0\0"), (273, 4, [None]), (274, 3, [1]), (277, 3, [1]),
        (278, 4, [height]), (279, 4, [2 * width * height]), (33421, 3, [2, 2]), (33422, 1, bytes([0, 1, 1, 2])),
        (50706, 1, bytes([1, 4, 0, 0])), (50708, 2, b"Saltmere\0"), (50717, 4, [65535]), (50721, 10, matrix),
        (50728, 5, [(1, 1)] * 3), (50778, 3, [21]),
    ]  # fmt: skip
    sizes = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 10: 8}
    first = 8 + 2 + 12 * len(tags) + 4
    extra, entries = b"", b""
    total = sum(n if (n := sizes[kind] * len(values)) > 4 else 0 for _, kind, values in tags)
    for tag, kind, values in tags:
        filled = (
            [first + total if v is None else v for v in values] if not isinstance(values, bytes) else values
        )
        if isinstance(filled, bytes):
            body = filled
        elif kind in (5, 10):
            body = b"".join(struct.pack("<ii", *pair) for pair in filled)
        else:
            body = struct.pack(f"<{len(filled)}{'H' if kind == 3 else 'I'}", *filled)
        count = len(values)
        if len(body) <= 4:
            entries += struct.pack("<HHI", tag, kind, count) + body.ljust(4, b"\0")
        else:
            entries += struct.pack("<HHII", tag, kind, count, first + len(extra))
            extra += body
    head = b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", len(tags)) + entries + struct.pack("<I", 0)
    assert len(extra) == total
    return head + extra + light.astype("<u2").tobytes()


def test_a_raw_picture_is_linear_light() -> None:
    """Light twice as strong in a raw file is read twice as strong: no tone curve comes in between."""
    pytest.importorskip("rawpy")
    light = np.full((200, 240), 8000)
    light[:, 120:] = 16000
    picture = load_picture(_dng(light))
    left, right = (
        picture.linear[60:140, 20:90].mean(axis=(0, 1)),
        picture.linear[60:140, 150:220].mean(axis=(0, 1)),
    )
    np.testing.assert_allclose(right / left, 2, rtol=0.01)
    assert not picture.compressed
    assert "raw picture" in picture.notes[0]


def test_a_broken_raw_picture_is_told() -> None:
    """A raw file cut short gives one clear error."""
    pytest.importorskip("rawpy")
    with pytest.raises(PictureError) as caught:
        load_picture(_dng(np.full((200, 240), 8000))[:20000])
    assert "raw picture cannot be read" in caught.value.what


def test_the_library_for_raw_is_named_where_it_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the extra a raw file is refused with the command that installs it."""
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    with pytest.raises(PictureError) as caught:
        load_picture(_dng(np.full((100, 100), 8000)))
    assert "pip install 'inkhorn[raw]'" in caught.value.mend


def test_the_library_for_heic_is_named_where_it_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the extra an HEIC file is refused with the command that installs it, and with the other way out."""
    sensor.register_heif.cache_clear()
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    with pytest.raises(PictureError) as caught:
        load_picture(b"\x00\x00\x00\x18ftypheic\x00\x00")
    sensor.register_heif.cache_clear()
    assert "HEIC" in caught.value.what
    assert "pip install 'inkhorn[heic]'" in caught.value.mend
    assert "JPEG" in caught.value.mend


def test_an_heic_picture_is_read() -> None:
    """What phones save by default is read, with a note that the format loses detail."""
    heif = pytest.importorskip("pillow_heif")
    heif.register_heif_opener()
    scene = np.zeros((96, 128, 3), np.uint8)
    scene[:, :64], scene[:, 64:] = (200, 180, 150), (60, 50, 45)
    out = io.BytesIO()
    Image.fromarray(scene).save(out, "HEIF", quality=95)
    picture = load_picture(out.getvalue())
    assert picture.shape == (96, 128)
    assert picture.compressed
    want = ((np.array([200, 180, 150]) / 255 + 0.055) / 1.055) ** 2.4  # IEC 61966-2-1
    np.testing.assert_allclose(picture.linear[20:70, 10:50].mean(axis=(0, 1)), want, atol=0.02)


def test_a_very_large_jpeg_is_decoded_at_half_size() -> None:
    """A JPEG of 60 megapixels is opened, at working size, with its reduction told."""
    out = io.BytesIO()
    Image.new("RGB", (10000, 6000), (180, 160, 120)).save(out, "JPEG")
    picture = load_picture(out.getvalue())
    assert picture.shape[0] * picture.shape[1] < 13.5e6
    assert picture.reduction == pytest.approx(10000 / picture.shape[1], rel=0.01)


def test_a_declared_giant_is_refused_before_it_is_decoded() -> None:
    """A file that declares 40,000 by 40,000 px is refused from its header."""
    out = io.BytesIO()
    Image.new("RGB", (64, 64)).save(out, "BMP")
    data = bytearray(out.getvalue())
    data[18:26] = struct.pack("<ii", 40000, 40000)
    with pytest.raises(PictureError) as caught:
        load_picture(bytes(data))
    assert "too large" in caught.value.what


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_sixteen_bit_grey_keeps_its_depth(kind: str) -> None:
    """16-bit grey is read at its own depth and said to be without colour."""
    out = io.BytesIO()
    deep = np.linspace(0, 65535, 100 * 80).reshape(80, 100).astype(np.uint16)
    Image.fromarray(deep).save(out, kind)
    picture = load_picture(out.getvalue())
    assert picture.grey
    assert len(np.unique(picture.linear[..., 0])) > 7000
