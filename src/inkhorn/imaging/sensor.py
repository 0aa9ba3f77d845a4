"""Pictures that need a library of their own: a camera's raw files, and what phones save by default."""

from __future__ import annotations

import functools
import importlib
import importlib.util
import io
from pathlib import PurePath

import numpy as np
from numpy.typing import NDArray
from PIL import TiffImagePlugin

from inkhorn.errors import PictureError
from inkhorn.handbook.load import value

_SUFFIXES = (".dng", ".cr2", ".cr3", ".crw", ".nef", ".nrw", ".arw", ".orf", ".rw2", ".raf", ".pef", ".srw")
#: Where in the file, and what stands there, of raw formats that say so (their makers' signatures).
_SIGNS = (
    (8, b"CR\x02"),
    (4, b"ftypcrx "),
    (0, b"FUJIFILMCCD-RAW"),
    (0, b"IIRO"),
    (0, b"IIRS"),
    (0, b"IIU\x00"),
)
_DNG_VERSION = 50706  # numbers-in-code: tag of DNGVersion, Digital Negative specification 1.7
_HEIF = (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftyphevc", b"ftypmsf1", b"ftypheim", b"ftypheis")


def is_heif(data: bytes) -> bool:
    """Tell whether a file is HEIC or another HEIF (ISO/IEC 23008-12, the brand in its first box)."""
    return data[4:12] in _HEIF


@functools.cache
def register_heif() -> bool:
    """Teach the picture library HEIC where that can be done, and tell whether it could."""
    if importlib.util.find_spec("pillow_heif") is None:
        return False
    importlib.import_module("pillow_heif").register_heif_opener()
    return True


def is_raw(data: bytes, where: str) -> bool:
    """Tell whether a file is a camera's raw picture, by its content or the end of its name."""
    if any(data[at : at + len(sign)] == sign for at, sign in _SIGNS):
        return True
    if data[:4] not in (b"II*\x00", b"MM\x00*"):
        return False
    if PurePath(where).suffix.lower() in _SUFFIXES:
        return True
    try:
        stream = io.BytesIO(data)
        head = TiffImagePlugin.ImageFileDirectory_v2(stream.read(8))
        stream.seek(head.next)
        head.load(stream)
    except Exception:  # noqa: BLE001 - whatever is broken here is told when the picture is opened
        return False
    return _DNG_VERSION in head


def raw_light(data: bytes, where: str) -> NDArray[np.uint16]:
    """Return linear sRGB light in 65535 steps, (H, W, 3), upright.

    Raises
    ------
    PictureError
        The library for raw files is missing, or cannot read this one.
    """
    if importlib.util.find_spec("rawpy") is None:
        raise PictureError(
            "this is a camera's raw picture, and what reads it is not installed",
            where=where,
            mend="pip install 'inkhorn[raw]', or export it as 16-bit TIFF",
        )
    rawpy = importlib.import_module("rawpy")
    try:
        with rawpy.imread(io.BytesIO(data)) as raw:
            width, height = raw.sizes.width, raw.sizes.height
            if width * height > value("imaging.load.most_megapixels") * 10**6:
                raise PictureError(
                    f"the picture is too large to open safely ({width} x {height} px)",
                    where=where,
                    mend="Crop it",
                )
            light = raw.postprocess(
                output_bps=16,  # numbers-in-code: bits of a sample
                gamma=(1, 1),
                no_auto_bright=True,
                use_camera_wb=True,
                half_size=width * height > 4 * value("imaging.load.working_megapixels") * 10**6,
            )
    except rawpy.LibRawError as error:
        raise PictureError(
            f"the raw picture cannot be read ({_said(error)})",
            where=where,
            mend="Export it as 16-bit TIFF or JPEG",
        ) from error
    return np.ascontiguousarray(light, dtype=np.uint16)


def _said(error: Exception) -> str:
    first = error.args[0] if error.args else error
    return first.decode(errors="replace") if isinstance(first, bytes) else str(first)
