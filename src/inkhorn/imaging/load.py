"""Open a photograph or scan: upright, in linear sRGB, never larger than memory allows."""

from __future__ import annotations

import functools
import io
import re
import struct
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageOps, UnidentifiedImageError

from inkhorn.colour.srgb import decode
from inkhorn.errors import PictureError
from inkhorn.handbook.load import value
from inkhorn.imaging.picture import Codes, Floats, Mask, Picture
from inkhorn.imaging.pixels import nearest
from inkhorn.imaging.profile import NO_PROFILE, matrix_of, said_of, to_srgb
from inkhorn.imaging.sensor import is_heif, is_raw, raw_light, register_heif

#: Said of a picture with a palette, whether it can be read or not.
PALETTE = "the picture has a palette of few colours: densities are coarse"
FORMATS = ("JPEG", "MPO", "PNG", "TIFF", "WEBP", "GIF", "BMP", "PPM", "JPEG2000", "AVIF", "HEIF")
_LOSSY = ("JPEG", "MPO", "WEBP", "JPEG2000", "AVIF", "HEIF")
_MOVING = ("GIF", "PNG", "WEBP", "AVIF")
_FLOATING = ("F", "I")
_COLOUR = int(getattr(cv2, "IMREAD_COLOR_RGB", cv2.IMREAD_COLOR))  # older versions know blue first only
_Code = TypeVar("_Code", np.uint8, np.uint16)
_SAVE = "Save it as an 8-bit or 16-bit PNG, TIFF or JPEG and try again"


def load_picture(source: str | Path | bytes) -> Picture:
    """Open a picture file and bring it to linear sRGB at working resolution.

    EXIF orientation is applied once; an embedded ICC profile is honoured;
    16-bit files keep their depth; pictures above the working size are reduced
    by area averaging in linear light.

    Parameters
    ----------
    source : path or bytes
        The file, or its whole content.

    Returns
    -------
    Picture

    Raises
    ------
    PictureError
        Not a picture, broken, too large or too small, moving, or of a kind
        that carries no density (two-tone, floating point).
    """
    where = "the picture" if isinstance(source, bytes) else str(source)
    data = _content(source, where)
    if is_raw(data, where):
        with _reading(where):
            return _from_sensor(data, where)
    with _reading(where), Image.open(io.BytesIO(data), formats=_formats()) as image:
        _refuse(image, where)
        notes = _notes(image)
        whole = image.width
        _drafted(image)
        halved = whole / image.width
        matrix = matrix_of(image)
        encoded, valid, more = _encoded(image, data, where, honoured=matrix is not None)
        kind = image.format or ""
        camera = _camera(image)
    grey = encoded.ndim == 2
    codes, linear, reduction = _light(encoded)
    reduction *= halved
    del encoded
    if reduction > 1 and codes is not None:
        valid = nearest(valid, (codes.shape[1], codes.shape[0]))
        more += (f"the picture was averaged down {reduction:.2f} times (in linear light) to bound memory",)
    if grey:
        more += ("the picture is greyscale: all channels are equal, so the hue of the ink is not known",)
    return Picture(
        linear=linear,
        codes=codes,
        valid=valid,
        reduction=reduction,
        grey=grey,
        compressed=kind in _LOSSY,
        notes=notes + more,
        matrix=None if matrix is None or np.array_equal(matrix, np.eye(3)) else matrix,
        camera=camera,
    )


@functools.cache
def _formats() -> tuple[str, ...]:
    register_heif()
    Image.init()  # without it only the commonest formats are known
    return tuple(name for name in FORMATS if name in Image.OPEN)


def _content(source: str | Path | bytes, where: str) -> bytes:
    if isinstance(source, bytes):
        data = source
    else:
        try:
            data = Path(source).read_bytes()
        except OSError as error:
            raise PictureError(
                f"the file cannot be read ({error.strerror or error})", where=where, mend="Check the path"
            ) from error
    if not data:
        raise PictureError("the file is empty", where=where, mend="Copy it again from the camera or scanner")
    if is_heif(data) and not register_heif():
        raise PictureError(
            "this is an HEIC picture, and what reads it is not installed",
            where=where,
            mend="pip install 'inkhorn[heic]', or let the phone save JPEG",
        )
    return data


def _from_sensor(data: bytes, where: str) -> Picture:
    """Return a camera's raw picture: linear from the start, with the white the camera set."""
    deep = raw_light(data, where)
    height, width = deep.shape[:2]
    if min(height, width) < value("imaging.load.least_side"):
        raise PictureError(f"the picture is only {width} x {height} px", where=where, mend=_SAVE)
    reduction = max(1.0, float(np.sqrt(height * width / (value("imaging.load.working_megapixels") * 10**6))))
    if reduction > 1:
        size = (max(1, round(width / reduction)), max(1, round(height / reduction)))
        deep = np.asarray(cv2.resize(deep, size, interpolation=cv2.INTER_AREA), dtype=np.uint16)
    return Picture(
        codes=deep,
        valid=np.ones(deep.shape[:2], dtype=bool),
        reduction=reduction,
        grey=False,
        compressed=False,
        notes=("a raw picture: linear light with the white that the camera set",),
    )


@contextmanager
def _reading(where: str) -> Iterator[None]:
    """Turn every failure of the decoder into a `PictureError` that names the mend."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except PictureError:
        raise
    except UnidentifiedImageError as error:
        raise PictureError("this is not a picture in a known format", where=where, mend=_SAVE) from error
    except Image.DecompressionBombError as error:
        # the library refuses before it tells the sides, and in words for programmers
        pixels = re.search(r"\((\d+) pixels\)", str(error))
        size = f"{int(pixels[1]) / 1e6:.0f} megapixels" if pixels else "far more pixels"
        most = value("imaging.load.most_megapixels")
        raise _too_large(where, f"it declares {size}; at most {most:.0f} megapixels are opened") from error
    except MemoryError as error:
        raise _too_large(where, "memory ran out") from error
    except (
        OSError,
        SyntaxError,
        ValueError,
        EOFError,
        struct.error,
        cv2.error,
        KeyError,
        IndexError,
    ) as error:
        raise PictureError(
            f"the file is broken or cut short ({error})",
            where=where,
            mend="Copy it again from the camera or scanner; if that fails, photograph the page again",
        ) from error


def _too_large(where: str, detail: str) -> PictureError:
    return PictureError(
        f"the picture is too large to open safely ({detail})",
        where=where,
        mend="Cut it to the part with the writing",
    )


def _refuse(image: Image.Image, where: str) -> None:
    """Refuse what the header alone shows cannot be measured; nothing is decoded yet."""
    width, height = image.size
    most, least = value("imaging.load.most_megapixels"), value("imaging.load.least_side")
    if width * height > most * 10**6:
        raise _too_large(
            where, f"it declares {width} x {height} px; at most {most:.0f} megapixels are opened"
        )
    if min(width, height) < least:
        raise PictureError(
            f"the picture is only {width} x {height} px",
            where=where,
            mend=f"At least {least:.0f} px a side are needed, and strokes several px wide",
        )
    if getattr(image, "n_frames", 1) > 1 and image.format in _MOVING:
        raise PictureError("this is a moving picture", where=where, mend="Give one still picture")
    if image.mode == "1":
        raise PictureError(
            "the picture is two-tone: only black and white are left, so it carries no density",
            where=where,
            mend="Scan again in colour or greyscale",
        )
    if image.mode in _FLOATING or image.mode.startswith("I;32"):
        raise PictureError(f"pixels of kind {image.mode!r} have no known white", where=where, mend=_SAVE)


def _notes(image: Image.Image) -> tuple[str, ...]:
    notes: tuple[str, ...] = ()
    if getattr(image, "n_frames", 1) > 1:
        notes += ("the file holds more than one picture; the first was read",)
    if image.format == "GIF" or image.mode == "P":
        notes += (PALETTE,)
    if image.info.get("dpi"):
        notes += ("the file's dpi tag is not used as a scale: it is often the scanner's, not the page's",)
    return notes


def _camera(image: Image.Image) -> str:
    """Return make and model of the camera [EXIF], no more of it than tells one from another: no serial number."""
    told = image.getexif()
    words = " ".join(str(told.get(tag, "")) for tag in (ExifTags.Base.Make, ExifTags.Base.Model)).split()
    # numbers-in-code: longer names are no names
    return "".join(c for c in " ".join(words) if c.isprintable())[:80]


def _encoded(
    image: Image.Image, data: bytes, where: str, *, honoured: bool
) -> tuple[NDArray[np.uint8] | NDArray[np.uint16], Mask, tuple[str, ...]]:
    """Return upright values encoded as sRGB is, (H, W, 3) or grey (H, W), with the opaque mask and notes.

    ``honoured``: a matrix will do what the profile asks for, so the file's own values are wanted.
    """
    orientation = int(image.getexif().get(ExifTags.Base.Orientation, 1))
    deep = _deep(image, data)
    if deep is not None:
        if image.info.get("icc_profile") and deep.ndim == 3 and not honoured:
            depth: tuple[str, ...] = (
                "16-bit colour with a profile is read at 8 bits, so that the profile is honoured",
            )
        else:
            turned = np.ascontiguousarray(_upright(deep, orientation))
            return turned, np.ones(turned.shape[:2], dtype=bool), said_of(image) if honoured else ()
    else:
        depth = ()
    quick = _plain_jpeg(image, data, honoured=honoured)
    if quick is not None:
        turned = np.ascontiguousarray(_upright(quick, orientation))
        return turned, np.ones(turned.shape[:2], dtype=bool), said_of(image) if honoured else (NO_PROFILE,)
    upright = ImageOps.exif_transpose(image)
    valid = _opaque(upright)
    if honoured:
        return np.asarray(upright.convert("RGB")), valid, depth + said_of(image)
    colour, note = to_srgb(upright, where)
    return np.asarray(colour), valid, depth + note


def _plain_jpeg(image: Image.Image, data: bytes, *, honoured: bool) -> NDArray[np.uint8] | None:
    """Return an ordinary colour JPEG in half the time, or None where the common way must be gone.

    The decoder fills a file that was cut short with grey and says nothing, so the
    end mark must follow the last start of image data (ITU-T T.81, B.1.1.3: EOI, SOS).
    """
    whole = getattr(image, "decoderconfig", ())[:1] in ((), (1,))  # not drafted
    known = honoured or not image.info.get("icc_profile")
    plain = whole and image.format in ("JPEG", "MPO") and image.mode == "RGB" and known
    if not plain or data.rfind(b"\xff\xd9") < data.rfind(b"\xff\xda"):
        return None
    flags = _COLOUR | cv2.IMREAD_IGNORE_ORIENTATION
    raw = cv2.imdecode(np.frombuffer(data, np.uint8), flags)
    if raw is None or raw.shape != (image.height, image.width, 3):
        return None
    if _COLOUR == cv2.IMREAD_COLOR:
        raw = cv2.cvtColor(raw, cv2.COLOR_BGR2RGB, raw)
    return np.asarray(raw, dtype=np.uint8)


def _drafted(image: Image.Image) -> None:
    """Have a very large JPEG decoded at half its size: its blocks are averaged before they are a picture.

    Done only where what is left is still above working size.
    """
    if (
        image.format == "JPEG"
        and image.width * image.height > 4 * value("imaging.load.working_megapixels") * 10**6
    ):
        image.draft(image.mode, (image.width // 2, image.height // 2))


def _opaque(image: Image.Image) -> Mask:
    if "A" in image.getbands() or "transparency" in image.info:
        alpha = np.asarray(image.convert("RGBA").getchannel("A"))
        return np.asarray(alpha == np.iinfo(np.uint8).max)
    return np.ones(image.size[::-1], dtype=bool)


def _deep(image: Image.Image, data: bytes) -> NDArray[np.uint16] | None:
    """Return 16-bit samples as they lie in the file, or None for an 8-bit file."""
    if image.mode.startswith("I;16"):
        return np.asarray(image, dtype=np.uint16)
    bits = 0
    if image.format == "PNG":
        # numbers-in-code: PNG specification (third edition), 11.2.2: place of the bit depth
        bits = data[24]  # bit depth of the IHDR chunk, PNG specification, 11.2.2
    elif image.format == "TIFF":
        # numbers-in-code: TIFF 6.0: tag of BitsPerSample
        found = image.tag_v2.get(258, (0,))  # type: ignore[attr-defined]  # BitsPerSample, TIFF 6.0
        bits = max(found) if isinstance(found, tuple) else int(found)
    if bits <= 8 or image.mode not in ("RGB", "L"):
        return None
    raw = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED)
    if raw is None or raw.dtype != np.uint16:
        return None
    deep = np.asarray(raw, dtype=np.uint16)
    return deep if deep.ndim == 2 else deep[..., 2::-1]


def _upright(array: NDArray[_Code], orientation: int) -> NDArray[_Code]:
    """Apply EXIF tag 274 to an array (TIFF 6.0, Orientation; [EXIF])."""
    if orientation in (5, 6, 7, 8):
        array = array.swapaxes(0, 1)
    if orientation in (3, 4, 7, 8):
        array = array[::-1]
    if orientation in (2, 3, 6, 7):
        array = array[:, ::-1]
    return array


def _light(encoded: Codes) -> tuple[Codes | None, Floats | None, float]:
    """Return `Picture.codes` or, for a deep picture, linear light; reduced by area if needed, and how much."""
    height, width = encoded.shape[:2]
    reduction = max(1.0, float(np.sqrt(height * width / (value("imaging.load.working_megapixels") * 10**6))))
    most, deep = np.iinfo(encoded.dtype).max, np.iinfo(np.uint16).max
    if reduction <= 1 and encoded.dtype == np.uint8:
        return encoded, None, 1.0
    linear = decode(np.arange(most + 1) / most)
    if reduction <= 1:
        light = linear.astype(np.float32)[encoded]
        return None, light if light.ndim == 3 else np.repeat(light[..., None], 3, axis=2), 1.0
    size = (max(1, round(width / reduction)), max(1, round(height / reduction)))
    table = np.rint(linear * deep).astype(np.uint16)
    narrow = np.empty((height, size[0], *encoded.shape[2:]), np.uint16)
    for top in range(0, height, 1000):  # strips, so that the full-size linear picture never exists
        strip = table[encoded[top : top + 1000]]
        narrow[top : top + 1000] = cv2.resize(strip, (size[0], len(strip)), interpolation=cv2.INTER_AREA)
    small = np.asarray(cv2.resize(narrow, size, interpolation=cv2.INTER_AREA), dtype=np.uint16)
    return small, None, reduction
