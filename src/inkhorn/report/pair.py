"""A photograph beside one of the same page in the infrared: both read, and what kind of ink it is."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import attrs

from inkhorn.compare.infrared import InkType, ink_type
from inkhorn.errors import PictureError
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.photo import Told, read_photo
from inkhorn.imaging.reading import PhotoReading


@attrs.frozen(kw_only=True, eq=False)
class PairReading:
    """The reading of the visible picture, and the kind of its ink."""

    reading: PhotoReading
    ink: InkType

    def to_dict(self) -> dict[str, Any]:
        """Return the answer of ``inkhorn photo PICTURE --infrared PICTURE --json``."""
        return self.reading.to_dict() | {"infrared": self.ink.to_dict()}


def read_pair(
    visible: Path | bytes, infrared: Path | bytes, *, band_nm: float, told: Told | None = None
) -> PairReading:
    """Read both pictures; see `inkhorn.compare.infrared.ink_type`."""
    photo = read_photo(visible, told=told)
    try:
        other = load_picture(infrared)
    except PictureError as error:
        where = infrared.name if isinstance(infrared, Path) else "the infrared picture"
        raise PictureError(error.what, where=where, mend=error.mend) from error
    return PairReading(
        reading=photo.reading,
        ink=ink_type(photo.picture, photo.maps, photo.reading, other, band_nm=band_nm),
    )
