"""Honour the colour profile of a file: everything becomes sRGB."""

from __future__ import annotations

import functools
import io
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from inkhorn.colour.srgb import decode, encode
from inkhorn.errors import PictureError

#: How far the library's tables of 8 bits may be off, codes.
_ROUNDING = 2.0
NO_PROFILE = "no colour profile in the file: sRGB is assumed"


def matrix_of(image: Image.Image) -> NDArray[np.float64] | None:
    """Return what brings a file's linear light to linear sRGB, (3, 3), or None if no matrix alone can.

    Profiles of phones and most screens are the tone curve of sRGB and other primaries. Where the library's own
    conversion of a lattice of colours is met to within its rounding by that curve and a matrix from the
    profile's colorants, the matrix stands for the profile: quicker, and without a second rounding to 8 bits.
    """
    profile = image.info.get("icc_profile")
    return _matrix(profile) if profile and image.mode == "RGB" else None


@functools.lru_cache(maxsize=8)
def _matrix(data: bytes) -> NDArray[np.float64] | None:
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(data))
        if profile.profile.xcolor_space.strip() != "RGB" or not profile.profile.is_matrix_shaper:
            return None
        own, common = (_colorants(one.profile) for one in (profile, srgb))
        matrix = np.linalg.solve(common, own)
        # numbers-in-code: a lattice of 8-bit codes
        side = np.array([0, 40, 90, 140, 190, 230, 255], np.uint8)
        codes = np.stack(np.meshgrid(side, side, side), axis=-1).reshape(1, -1, 3)
        told = ImageCms.profileToProfile(
            Image.fromarray(codes), profile, srgb, renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC
        )
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError, np.linalg.LinAlgError):
        return None
    top = np.iinfo(np.uint8).max
    mine = top * encode(np.clip(decode(codes / top) @ matrix.T, 0, 1))
    if told is None or np.abs(mine - np.asarray(told)).max() > _ROUNDING:
        return None
    near = np.abs(matrix - np.eye(3)).max() < 1 / top / 4
    return np.eye(3) if near else np.asarray(matrix, dtype=np.float64)


def _colorants(profile: Any) -> NDArray[np.float64]:
    return np.array([c[0] for c in (profile.red_colorant, profile.green_colorant, profile.blue_colorant)]).T


def said_of(image: Image.Image) -> tuple[str, ...]:
    """Return the note on a profile that `matrix_of` stands for; none where it asks for nothing."""
    profile, matrix = image.info["icc_profile"], matrix_of(image)
    if matrix is not None and np.array_equal(np.eye(3), matrix):
        return ()
    return (_brought(ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(profile)))),)


def _brought(description: str | None) -> str:
    return f"colours brought from the profile {(description or 'unnamed').strip()!r} to sRGB"


def to_srgb(image: Image.Image, where: str) -> tuple[Image.Image, tuple[str, ...]]:
    """Return ``image`` as 8-bit sRGB ("RGB") or, if it has no colour, grey ("L").

    Parameters
    ----------
    image : PIL image, upright
    where : str
        The file, for messages.

    Returns
    -------
    image, notes
        A missing or unreadable profile is said in the notes; then sRGB is assumed.
    """
    profile = image.info.get("icc_profile")
    flat = _flattened(image)
    if flat.mode == "CMYK" and not profile:
        raise PictureError(
            "the picture is CMYK without a profile, so its colours are not known",
            where=where,
            mend="Convert it to sRGB in the program that made it",
        )
    if not profile:
        return flat, (NO_PROFILE,)
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        name = (ImageCms.getProfileDescription(source) or "unnamed").strip()
        out = ImageCms.profileToProfile(
            flat,
            source,
            ImageCms.createProfile("sRGB"),
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
            outputMode="RGB",
        )
    except (ImageCms.PyCMSError, OSError, ValueError) as error:
        if flat.mode == "CMYK":
            raise PictureError(
                f"the CMYK picture's colour profile cannot be used ({error})",
                where=where,
                mend="Convert it to sRGB in the program that made it",
            ) from error
        return flat, ("the colour profile in the file cannot be used: sRGB is assumed",)
    if out is None:
        return flat, ()
    if flat.mode == "L":
        return out.convert("L"), (f"grey tone curve of the profile {name!r} brought to sRGB",)
    return out, (_brought(name),) if "sRGB" not in name else ()


def _flattened(image: Image.Image) -> Image.Image:
    """Drop alpha and palette; keep CMYK and Lab for their profile."""
    if image.mode in ("L", "LA", "La"):
        return image if image.mode == "L" else image.convert("LA").getchannel("L")
    if image.mode in ("RGB", "CMYK"):
        return image
    return image.convert("RGBA").convert("RGB") if image.mode in ("P", "PA", "RGBa") else image.convert("RGB")
