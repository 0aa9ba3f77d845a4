"""Pictures are kept whole, once, under the hash of what is in them."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest

from inkhorn.daybook.pictures import Pictures, is_hash, media_type, named_in, with_kept
from inkhorn.errors import PictureError

JPEG = b"\xff\xd8\xff\xe0" + b"invented"


def test_the_name_is_the_hash(tmp_path: Path) -> None:
    """The name is SHA-256 of the bytes, as FIPS 180-4 has it for "abc" too."""
    kept = Pictures(tmp_path / "pictures").keep(b"abc", name="a.txt")
    assert kept.hash == "sha256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert kept.size == 3


def test_kept_from_file_and_bytes(tmp_path: Path) -> None:
    """A file and its bytes are one picture."""
    pictures = Pictures(tmp_path / "pictures")
    (tmp_path / "a.jpg").write_bytes(JPEG)
    first, second = pictures.keep(tmp_path / "a.jpg"), pictures.keep(JPEG)
    assert first.hash == second.hash
    assert pictures.path_of(first.hash).read_bytes() == JPEG
    assert (first.name, first.media_type) == ("a.jpg", "image/jpeg")


@pytest.mark.parametrize(
    ("data", "name", "kind"),
    [
        (JPEG, "", "image/jpeg"),
        (JPEG, "wrong.png", "image/jpeg"),
        (b"\x89PNG\r\n\x1a\n", "", "image/png"),
        (b"RIFF\x00\x00\x00\x00WEBPVP8 ", "", "image/webp"),
        (b"II*\x00", "", "image/tiff"),
        (b"\x00\x00\x00\x18ftypheic", "", "image/heic"),
        (b"hello", "", "application/octet-stream"),
    ],
)
def test_media_type(data: bytes, name: str, kind: str) -> None:
    """The type is what the first bytes say (the formats' own magic numbers)."""
    assert media_type(data, name) == kind


def test_a_half_written_copy_is_written_again(tmp_path: Path) -> None:
    """A truncated file in its place does not pass for the picture."""
    pictures = Pictures(tmp_path)
    place = pictures.path_of(pictures.keep(JPEG).hash)
    place.write_bytes(JPEG[:3])
    pictures.keep(JPEG)
    assert place.read_bytes() == JPEG


def test_a_failed_write_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the disk fails, neither the picture nor a part of it is left."""

    def fail(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(PictureError, match="cannot be kept"):
        Pictures(tmp_path / "p").keep(JPEG)
    assert [path for path in (tmp_path / "p").rglob("*") if path.is_file()] == []


@pytest.mark.parametrize("picture", ["nowhere.jpg", "a\x00b", b"", "."])
def test_no_picture(tmp_path: Path, picture: str | bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """A missing, impossible or empty file, or a folder, is our own error."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(PictureError):
        Pictures(tmp_path / "pictures").keep(picture)


def test_paths_in_entries_become_names() -> None:
    """Paths in an entry's JSON are kept; names and other values stay; the given JSON is not changed."""
    name = "sha256:" + hashlib.sha256(b"x").hexdigest()
    raw = {
        "kind": "amend",
        "picture": "bench.jpg",
        "replacement": {"kind": "reading", "what": "photo", "value": "line.jpg", "picture": name},
    }
    kept = with_kept(raw, lambda path: f"sha256:{hashlib.sha256(path.encode()).hexdigest()}")
    assert is_hash(kept["picture"])
    assert is_hash(kept["replacement"]["value"])
    assert kept["replacement"]["picture"] == name
    assert raw["picture"] == "bench.jpg"
    assert len(named_in(kept)) == 3
    words = {"kind": "reading", "what": "body", "value": "thin"}
    assert with_kept(words, lambda _: "no") == words
