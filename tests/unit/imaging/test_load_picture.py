"""Opening pictures: what is honoured, what is refused, and with which mend."""

from __future__ import annotations

import contextlib
import io
import struct
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import ExifTags, Image

from inkhorn.errors import PictureError
from inkhorn.imaging.load import load_picture


def _file(image: Image.Image, kind: str = "PNG", **more: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **more)
    return out.getvalue()


def _scene(height: int = 60, width: int = 80) -> np.ndarray:
    return np.random.default_rng(3).integers(0, 256, (height, width, 3)).astype(np.uint8)


def _linear(encoded: np.ndarray) -> np.ndarray:
    """Decode sRGB as IEC 61966-2-1:1999 states it, written out here."""
    v = np.asarray(encoded, float)
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def test_a_png_becomes_linear_light() -> None:
    """An 8-bit sRGB picture is decoded by the sRGB curve and not otherwise changed."""
    scene = _scene()
    picture = load_picture(_file(Image.fromarray(scene)))
    assert picture.shape == (60, 80)
    assert picture.linear.dtype == np.float32
    np.testing.assert_allclose(picture.linear, _linear(scene / 255), atol=1e-6)
    assert not picture.grey
    assert picture.reduction == 1


@pytest.mark.parametrize("tag", range(1, 9))
def test_orientation_is_applied_once(tag: int) -> None:
    """Whatever way the camera was held, the picture comes out upright (TIFF 6.0, tag 274)."""
    upright = _scene(50, 70)
    # how the rows and columns of an upright scene are stored for each value of the tag
    stored = {
        1: upright,
        2: upright[:, ::-1],
        3: upright[::-1, ::-1],
        4: upright[::-1],
        5: upright.swapaxes(0, 1),
        6: np.rot90(upright, 1),
        7: upright[::-1, ::-1].swapaxes(0, 1),
        8: np.rot90(upright, -1),
    }[tag]
    exif = Image.Exif()
    exif[274] = tag
    picture = load_picture(_file(Image.fromarray(np.ascontiguousarray(stored)), exif=exif))
    np.testing.assert_allclose(picture.linear, _linear(upright / 255), atol=1e-6)


@pytest.mark.parametrize("suffix", [".png", ".tif"])
@pytest.mark.parametrize("colour", [True, False])
def test_sixteen_bits_are_kept(suffix: str, colour: bool) -> None:
    """A 16-bit file is read at its own depth: steps finer than 1/255 survive."""
    deep = np.random.default_rng(1).integers(0, 65536, (60, 70, 3) if colour else (60, 70)).astype(np.uint16)
    done, data = cv2.imencode(suffix, deep[..., ::-1] if colour else deep)
    assert done
    picture = load_picture(data.tobytes())
    expected = _linear(deep / 65535)
    np.testing.assert_allclose(
        picture.linear, expected if colour else expected[..., None].repeat(3, 2), atol=1e-6
    )
    assert picture.grey is not colour


def test_a_large_picture_is_averaged_in_linear_light() -> None:
    """Reducing a fine black and white chequer gives half the light, not half the code value."""
    chequer = (np.indices((5200, 5200)).sum(axis=0) % 2 * 255).astype(np.uint8)
    picture = load_picture(_file(Image.fromarray(chequer), compress_level=1))
    assert picture.reduction > 1
    assert picture.linear.shape[0] * picture.linear.shape[1] <= 13.1e6
    assert picture.linear.mean() == pytest.approx(0.5, abs=1e-4)
    assert any("averaged" in note for note in picture.notes)


def test_grey_is_said_and_shared_by_all_channels() -> None:
    """A greyscale scan has three equal channels and says that hue is unknown."""
    picture = load_picture(_file(Image.fromarray(_scene()[..., 0])))
    assert picture.grey
    assert (picture.linear[..., 0] == picture.linear[..., 2]).all()
    assert any("greyscale" in note for note in picture.notes)


def test_palette_pictures_are_read_and_doubted() -> None:
    """A palette picture is read with a note that its steps are coarse."""
    picture = load_picture(_file(Image.fromarray(_scene()).quantize(64)))
    assert any("palette" in note for note in picture.notes)


def test_transparent_pixels_are_not_the_sheet() -> None:
    """What is not fully opaque is marked as not valid."""
    rgba = np.dstack([_scene(), np.full((60, 80), 255, np.uint8)])
    rgba[:10, :, 3] = 0
    picture = load_picture(_file(Image.fromarray(rgba)))
    assert not picture.valid[:10].any()
    assert picture.valid[10:].all()


def test_the_dpi_tag_is_not_trusted_silently() -> None:
    """A dpi tag leads to a note that it is not used as a scale."""
    picture = load_picture(_file(Image.fromarray(_scene()), "JPEG", dpi=(300, 300)))
    assert picture.compressed
    assert any("dpi" in note for note in picture.notes)


def test_the_first_page_of_a_tiff_is_read() -> None:
    """A TIFF of several pages gives its first, and says so."""
    pages = [Image.fromarray(_scene()), Image.fromarray(_scene() // 2)]
    picture = load_picture(_file(pages[0], "TIFF", save_all=True, append_images=pages[1:]))
    np.testing.assert_allclose(picture.linear, _linear(_scene() / 255), atol=1e-6)
    assert any("more than one" in note for note in picture.notes)


def _declared(width: int, height: int) -> bytes:
    """Return a PNG of a few bytes whose header declares any size."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0"))
        + chunk(b"IEND", b"")
    )


_MOVING = [Image.fromarray(_scene()), Image.fromarray(255 - _scene())]


@pytest.mark.parametrize(
    ("data", "says", "mends"),
    [
        (b"", "empty", "Copy"),
        (b"this is a letter, not a picture", "not a picture", "PNG"),
        (_file(Image.fromarray(_scene()))[:3000], "broken or cut short", "again"),
        (_file(Image.fromarray(_scene()), "JPEG")[:1500], "broken or cut short", "again"),
        (_declared(60000, 60000), "too large", "Cut"),
        (_declared(2**31 - 1, 2**31 - 1), "too large", "Cut"),
        (_declared(500, 400), "broken or cut short", "again"),
        (_file(Image.fromarray(_scene(20, 30))), "only 30 x 20", "px a side"),
        (_file(Image.fromarray(_scene()).convert("1")), "two-tone", "greyscale"),
        (_file(Image.fromarray(_scene()).convert("CMYK"), "TIFF"), "CMYK without a profile", "sRGB"),
        (_file(Image.fromarray(_scene()[..., 0].astype(np.float32)), "TIFF"), "no known white", "PNG"),
        (_file(_MOVING[0], "GIF", save_all=True, append_images=_MOVING[1:]), "moving", "still"),
        (_file(_MOVING[0], "WEBP", save_all=True, append_images=_MOVING[1:]), "moving", "still"),
    ],
)
def test_what_cannot_be_measured_is_refused_with_a_mend(data: bytes, says: str, mends: str) -> None:
    """Every hostile, broken or unmeasurable file gives one clear error that names the mend."""
    with pytest.raises(PictureError) as caught:
        load_picture(data)
    assert says in caught.value.what
    assert mends in caught.value.mend


def test_a_missing_file_names_its_path(tmp_path: Path) -> None:
    """A path that does not exist, or is a folder, is an error that names it."""
    for path in (tmp_path / "nothing.jpg", tmp_path):
        with pytest.raises(PictureError) as caught:
            load_picture(path)
        assert str(path) in caught.value.sentence()


def test_every_cut_of_a_file_is_refused_cleanly() -> None:
    """A JPEG or PNG cut anywhere is read or refused as a picture error, never anything else."""
    for kind in ("JPEG", "PNG", "TIFF", "WEBP"):
        data = _file(Image.fromarray(_scene()), kind)
        for end in range(1, len(data), max(1, len(data) // 60)):
            with contextlib.suppress(PictureError):
                load_picture(data[:end])


def test_the_camera_is_told_and_no_serial_number() -> None:
    """Make and model of a file's EXIF are kept, its serial number is not; a file without them tells none."""
    image = Image.fromarray(_scene())
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "Alder  Works\x00"
    exif[ExifTags.Base.Model] = "A1"
    exif[ExifTags.Base.BodySerialNumber] = "12345678"
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif)
    assert load_picture(out.getvalue()).camera == "Alder Works A1"
    plain = io.BytesIO()
    image.save(plain, "PNG")
    assert load_picture(plain.getvalue()).camera == ""
