"""Kept pictures at the size a page shows them: upright, in sRGB, as JPEG, made once and kept beside the page."""

from __future__ import annotations

import io
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from inkhorn.colour.srgb import encode_bytes
from inkhorn.daybook.pictures import is_hash, named_in
from inkhorn.errors import PictureError
from inkhorn.imaging.load import load_picture

WIDEST = 960
SMALL = 240
_LARGEST = 120_000_000  # pixels; beyond it the careful reader decides
_making = threading.Lock()  # one at a time: a large photograph fills the memory of a small machine


def hash_in(raw: Mapping[str, Any]) -> str:
    """Return the first kept picture that an entry names, or nothing."""
    return next(iter(named_in(raw)), "")


def address(hash_: str, *, small: bool = True) -> str:
    """Return where the page fetches a kept picture, or nothing where there is none."""
    if not is_hash(hash_):
        return ""
    return f"/{'thumb' if small else 'shot'}/{hash_.partition(':')[2]}"


def shown(source: Path, folder: Path, widest: int) -> Path:
    """Return a JPEG of a kept picture no wider or higher than asked; raise `PictureError` if it is none."""
    out = folder / f"{source.name}-{widest}.jpg"
    if not out.exists():
        with _making:
            picture = _opened(source, widest)
            picture.thumbnail((widest, widest), Image.Resampling.LANCZOS)
            beside = out.with_suffix(".new")
            picture.save(beside, "JPEG", quality=82, progressive=True)
            beside.replace(out)
    return out


def _opened(source: Path, widest: int) -> Image.Image:
    try:
        with Image.open(source) as raw:
            if raw.width * raw.height > _LARGEST:
                raise PictureError("the picture is very large", where=source.name)
            raw.draft("RGB", (2 * widest, 2 * widest))
            upright = ImageOps.exif_transpose(raw)
            return _plain(upright)
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        # Camera raw and the like: the reader of photographs knows them.
        linear = load_picture(source).linear
        return Image.fromarray(np.asarray(encode_bytes(linear)))


def _plain(picture: Image.Image) -> Image.Image:
    """Return a picture in sRGB, whatever its own profile says."""
    profile = picture.info.get("icc_profile")
    out = picture.convert("RGB") if picture.mode != "RGB" else picture.copy()
    if profile and picture.mode in {"RGB", "RGBA"}:
        try:
            found = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            return ImageCms.profileToProfile(out, found, ImageCms.createProfile("sRGB")) or out
        except (ImageCms.PyCMSError, OSError):
            return out  # a profile that cannot be read changes nothing that is measured
    return out
