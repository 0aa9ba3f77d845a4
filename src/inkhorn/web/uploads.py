"""Pictures that a form brings: streamed to a folder of their own, never held in memory whole."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request

_PIECE = 1024 * 1024
_MANY = 24
_ENDING = 8


@asynccontextmanager
async def sent(request: Request, name: str = "picture") -> AsyncIterator[tuple[dict[str, str], list[Path]]]:
    """Give a form's texts and the files of its pictures; the files are gone afterwards.

    The form's own reader spools what is large to disk; from there it is copied piece by piece.
    """
    with TemporaryDirectory(prefix="inkhorn-") as folder:
        async with request.form(max_files=_MANY, max_fields=64) as form:
            texts = {key: given for key, given in form.multi_items() if isinstance(given, str)}
            paths = await _files(form, name, Path(folder))
        yield texts, paths


async def _files(form: FormData, name: str, folder: Path) -> list[Path]:
    out = []
    for n, item in enumerate(form.getlist(name)):
        if not isinstance(item, UploadFile):
            continue
        ending = Path(item.filename or "").suffix[:_ENDING]
        path = folder / f"{n}{ending if ending.isascii() and ending[1:].isalnum() else ''}"
        size = 0
        with path.open("wb") as file:
            while piece := await item.read(_PIECE):
                size += len(piece)
                await run_in_threadpool(file.write, piece)
        if size:
            out.append(path)
    return out
