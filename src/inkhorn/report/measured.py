"""What the pictures of a workshop say, in the plain form in which it keeps that."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Reading
from inkhorn.errors import PictureError
from inkhorn.imaging import read
from inkhorn.imaging.photo import read_photo
from inkhorn.imaging.reading import PhotoReading
from inkhorn.replay.target import PhotoMeasure
from inkhorn.report.photo_told import card_told


class Shelf(Protocol):
    """Where pictures lie and what was read of them is kept."""

    def path_of(self, hash_: str) -> Path:
        """Return where a picture lies."""

    def recall(self, key: str) -> Any:
        """Return what was kept under a key, or None."""

    def remember(self, key: str, value: Any) -> None:
        """Keep something under a key."""


def of_book(store: Shelf, standing: Sequence[Recorded]) -> dict[int, PhotoMeasure]:
    """Return what the pictures of the effective entries say, by number of the entry.

    A picture that was recorded once and that the reader of today refuses is left out; the
    estimate says so beside its reading.
    """
    found: dict[int, PhotoMeasure] = {}
    for line in standing:
        entry = line.entry
        if isinstance(entry, Reading) and entry.what == "photo" and isinstance(entry.value, str):
            one = _of_reading(store, entry, standing)
            if isinstance(one, PhotoMeasure):
                found[line.number] = one
    return found


def must_be_read(store: Shelf, entry: Reading, standing: Sequence[Recorded], called: str) -> None:
    """Raise `PictureError` where the picture of a reading that is about to be recorded cannot be read."""
    refused = _of_reading(store, entry, standing)
    if isinstance(refused, PictureError):
        raise PictureError(refused.what, where=Path(called).name, mend=refused.mend)


def _of_reading(store: Shelf, entry: Reading, standing: Sequence[Recorded]) -> PhotoMeasure | PictureError:
    """Read a kept picture once for each version of the reader and each thing told of the card."""
    told, text = card_told(standing, entry.at)
    card = f"/{hashlib.sha256(text.encode()).hexdigest()[:12]}" if text else ""
    key = f"photo/{read.VERSION}/{entry.value}{card}"
    known = store.recall(key)
    if known is None or not is_whole(known):
        try:
            known = kept(read_photo(store.path_of(str(entry.value)), told=told).reading)
        except PictureError as error:
            known = {"refused": error.what, "mend": error.mend}
        store.remember(key, known)
    if "refused" in known:
        return PictureError(known["refused"], mend=known["mend"])
    return measure(known)


def kept(reading: PhotoReading) -> dict[str, Any]:
    """Return density, covariance and, where the picture could tell, the colour of the skin."""
    # An uncalibrated picture cannot tell the colour of the skin.
    is_calibrated = reading.lab is not None and reading.support_lab is not None
    return {
        "density": reading.optical_density.tolist(),
        "covariance": reading.covariance.tolist(),
        "support_lab": np.asarray(reading.support_lab).tolist() if is_calibrated else None,
        "spread": np.nan_to_num(reading.spread).tolist(),
        "camera": reading.camera,
    }


def is_whole(plain: Mapping[str, Any]) -> bool:
    """Return whether everything is there that is kept today; older workshops kept less."""
    return "camera" in plain or "refused" in plain


def measure(plain: Mapping[str, Any]) -> PhotoMeasure:
    """Return the measure that `kept` kept."""
    bare, spread = plain["support_lab"], plain["spread"]
    return PhotoMeasure(
        density=np.array(plain["density"]),
        covariance=np.array(plain["covariance"]),
        support_lab=None if bare is None else np.array(bare),
        spread=np.array(spread),
        camera=plain["camera"],
    )
