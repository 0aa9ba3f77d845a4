"""Pictures of a workshop: files named by what is in them, written whole or not at all."""

from __future__ import annotations

import hashlib
import mimetypes
import os
import re
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import attrs

from inkhorn.errors import PictureError

_PREFIX = "sha256:"
_HASH = re.compile(r"sha256:[0-9a-f]{64}")
_LARGEST = 2**30  # bytes; a guard against a mistaken path, far above any raw picture
_MAGIC: tuple[tuple[int, bytes, str], ...] = (
    (0, b"\xff\xd8\xff", "image/jpeg"),
    (0, b"\x89PNG\r\n\x1a\n", "image/png"),
    (8, b"WEBP", "image/webp"),
    (0, b"II*\x00", "image/tiff"),
    (0, b"MM\x00*", "image/tiff"),
    (4, b"ftyphei", "image/heic"),
    (4, b"ftypmif1", "image/heif"),
    (4, b"ftypavif", "image/avif"),
    (0, b"BM", "image/bmp"),
    (0, b"GIF8", "image/gif"),
)


@attrs.frozen(kw_only=True)
class Kept:
    """A picture that was kept: its name by content, how it was called, its media type and size in bytes."""

    hash: str
    name: str
    media_type: str
    size: int


class Pictures:
    """A folder of pictures, each stored once under the SHA-256 of its bytes.

    Parameters
    ----------
    folder : Path
        Made when the first picture is kept.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, picture: str | os.PathLike[str] | bytes, *, name: str = "") -> Kept:
        """Copy a picture into the folder and return its name by content.

        The copy is written beside its place and then renamed, so that a crash
        leaves a whole picture or none.

        Raises
        ------
        PictureError
            The file is missing, empty, unreadable or far too large.
        """
        data, called = _bytes(picture, name)
        digest = hashlib.sha256(data).hexdigest()
        place = self.folder / digest[:2] / digest
        if not (place.exists() and place.stat().st_size == len(data)):
            _write_whole(place, data)
        return Kept(hash=_PREFIX + digest, name=called, media_type=media_type(data, called), size=len(data))

    def path_of(self, hash_: str) -> Path:
        """Return where a kept picture lies; raise `PictureError` if it is not there."""
        if not is_hash(hash_):
            raise PictureError(f"{hash_!r} is no name of a kept picture", mend="It begins with sha256:")
        digest = hash_.removeprefix(_PREFIX)
        place = self.folder / digest[:2] / digest
        if not place.is_file():
            raise PictureError(
                f"the picture {hash_[:19]}... is not in {self.folder}", mend="Copy the whole workshop folder"
            )
        return place


def is_hash(text: str) -> bool:
    """Return whether a text is the name of a kept picture."""
    return _HASH.fullmatch(text) is not None


def media_type(data: bytes, name: str = "") -> str:
    """Return the media type that the first bytes say, else what the name says."""
    for at, magic, kind in _MAGIC:
        if data[at : at + len(magic)] == magic:
            return kind
    return mimetypes.guess_type(name)[0] or "application/octet-stream"


def with_kept(raw: Mapping[str, Any], keep: Callable[[str], str]) -> dict[str, Any]:
    """Return an entry's JSON with each picture named by content.

    ``keep`` takes a path and returns the name; it is called for ``picture``,
    for the value of a photo reading, and for those of a replacement. Names by
    content stay as they are.
    """
    out = dict(raw)
    keys = ["picture", *(["value"] if out.get("what") == "photo" else [])]
    for key in keys:
        said = out.get(key)
        if isinstance(said, str) and said.strip() and not is_hash(said):
            out[key] = keep(said)
    if isinstance(out.get("replacement"), Mapping):
        out["replacement"] = with_kept(out["replacement"], keep)
    return out


def named_in(raw: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the kept pictures that an entry's JSON names."""
    said = (raw.get("picture"), raw.get("value") if raw.get("what") == "photo" else None)
    found = [text for text in said if isinstance(text, str) and is_hash(text)]
    if isinstance(raw.get("replacement"), Mapping):
        found.extend(named_in(raw["replacement"]))
    return tuple(dict.fromkeys(found))


def _bytes(picture: str | os.PathLike[str] | bytes, name: str) -> tuple[bytes, str]:
    if isinstance(picture, bytes):
        data, called = picture, name
    else:
        path = Path(picture)
        called = name or path.name
        try:
            if path.stat().st_size > _LARGEST:
                raise PictureError("the file is larger than a gigabyte", where=str(path))
            data = path.read_bytes()
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", None) or "not a file name"
            raise PictureError(f"the picture cannot be read ({why})", where=str(path)) from None
    if not data:
        raise PictureError("the picture is empty", where=called)
    if len(data) > _LARGEST:
        raise PictureError("the picture is larger than a gigabyte", where=called)
    return data, called


def _write_whole(place: Path, data: bytes) -> None:
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(dir=place.parent, prefix=".new-")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            Path(beside).replace(place)
        except BaseException:
            Path(beside).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise PictureError(
            f"the picture cannot be kept ({error.strerror})",
            where=str(place.parent),
            mend="Check space and rights",
        ) from error
