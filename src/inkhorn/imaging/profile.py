"""Honour the colour profile of a file: everything becomes sRGB."""

from __future__ import annotations

import io

from PIL import Image, ImageCms

from inkhorn.errors import PictureError

NO_PROFILE = "no colour profile in the file: sRGB is assumed"


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
    return out, (f"colours brought from the profile {name!r} to sRGB",) if "sRGB" not in name else ()


def _flattened(image: Image.Image) -> Image.Image:
    """Drop alpha and palette; keep CMYK and Lab for their profile."""
    if image.mode in ("L", "LA", "La"):
        return image if image.mode == "L" else image.convert("LA").getchannel("L")
    if image.mode in ("RGB", "CMYK"):
        return image
    return image.convert("RGBA").convert("RGB") if image.mode in ("P", "PA", "RGBa") else image.convert("RGB")
