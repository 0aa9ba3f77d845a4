"""Many photographs at once: every core reads, and a picture that cannot be read does not stop the rest."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from typing import Any

import cv2

import inkhorn
from inkhorn.cli.output import Report
from inkhorn.errors import InkhornError, PictureError

SUFFIXES = frozenset(
    [
        ".jpg",
        ".jpeg",
        ".png",
        ".tif",
        ".tiff",
        ".webp",
        ".bmp",
        ".jp2",
        ".avif",
        ".heic",
        ".heif",
        ".dng",
        ".nef",
        ".cr2",
        ".cr3",
        ".arw",
        ".raf",
        ".rw2",
        ".orf",
    ]
)
"""Endings of the files that are taken from a folder; a file that is named is read whatever it is called."""


def pictures_in(given: Sequence[str]) -> list[Path]:
    """Return the files given and the pictures in the folders given, each once, in order.

    Raises
    ------
    PictureError
        A folder holds no picture.
    """
    out: dict[Path, None] = {}
    for name in given:
        path = Path(name)
        if not path.is_dir():
            out[path] = None
            continue
        inside = sorted(p for p in path.iterdir() if p.is_file() and p.suffix.lower() in SUFFIXES)
        if not inside:
            raise PictureError(
                "the folder holds no picture", where=name, mend="Name a folder of photographs, or the files"
            )
        out.update(dict.fromkeys(inside))
    return list(out)


def read_many(
    paths: Sequence[Path], *, told: Any, overlays: Path | None, report: Report, workers: int | None = None
) -> list[dict[str, Any]]:
    """Return an answer for each picture, in order: ``picture`` with ``reading``, or with ``error``.

    Parameters
    ----------
    told : inkhorn.imaging.photo.Told
        What was said of a card or a chart; taken for all of them.
    overlays : Path, optional
        A folder to draw in what was measured.
    report : callable
        Told the share that is done.
    workers : int, optional
        Processes; as many as there are cores if left out.
    """
    names = overlay_names(paths, overlays)
    answers: list[dict[str, Any]] = [{} for _ in paths]
    count = min(len(paths), workers or os.cpu_count() or 1)
    # a fresh process each: threads of the picture library do not live through a fork
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(count, mp_context=context, initializer=_one_thread) as pool:
        jobs = {
            pool.submit(read_one, path, told, name): k
            for k, (path, name) in enumerate(zip(paths, names, strict=True))
        }
        for done, job in enumerate(as_completed(jobs), 1):
            k = jobs[job]
            try:
                answers[k] = job.result()
            except Exception as error:  # noqa: BLE001 - a process that died takes its picture with it, not the rest
                answers[k] = _fault(paths[k], error)
            report(done / len(paths))
    return answers


def read_one(path: Path, told: Any, out: Path | None) -> dict[str, Any]:
    """Return the answer for one picture; its faults are part of it."""
    try:
        reading = inkhorn.Workshop.photo(path, told=told)
        answer: dict[str, Any] = {"picture": str(path), "reading": reading.to_dict()}
        if out is not None:
            inkhorn.Workshop.overlay(path, reading, out)
            answer["overlay"] = str(out)
    except Exception as error:  # noqa: BLE001 - told with the picture it is of
        return _fault(path, error)
    return answer


def _fault(path: Path, error: Exception) -> dict[str, Any]:
    if isinstance(error, InkhornError):
        return {"picture": str(path), **error.to_dict()}
    what = f"this did not work, and the fault is inkhorn's own ({type(error).__name__}: {error})"
    return {"picture": str(path), **InkhornError(what, where=str(path)).to_dict()}


def overlay_names(paths: Sequence[Path], folder: Path | None) -> Iterator[Path | None]:
    """Name an overlay after its picture; of pictures of one name in several folders each gets its own."""
    seen: dict[str, int] = {}
    for path in paths:
        if folder is None:
            yield None
            continue
        seen[path.stem] = seen.get(path.stem, 0) + 1
        again = f"-{seen[path.stem]}" if seen[path.stem] > 1 else ""
        yield folder / f"{path.stem}{again}.png"


def _one_thread() -> None:
    cv2.setNumThreads(1)  # the processes already share out the cores
