"""The views of the bench page: read the request, ask the workshop, render."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response

from inkhorn.errors import EntryError, InkhornError, PictureError
from inkhorn.web import forms, view
from inkhorn.web.api import keep
from inkhorn.web.frame import render
from inkhorn.web.room import Room
from inkhorn.web.view import Said

_KEEP = ("vessel", "exemplar", "as")


def _room(request: Request) -> Room:
    room: Room = request.app.state.room
    return room


def _render(request: Request, names: dict[str, Any], status: int = 200) -> Response:
    return render(request, "bench.html", "bench", names, status)


def bench(request: Request) -> Response:
    """Show the bench."""
    return _render(request, view.page(_room(request), request.query_params))


def _texts(data: FormData) -> dict[str, str]:
    return {name: given for name, given in data.multi_items() if isinstance(given, str)}


def _to(anchor: str, **query: object) -> Response:
    """Return the answer to a form that worked: look at the page again."""
    return RedirectResponse(f"/?{urlencode(query)}#{anchor}", 303)


async def record(request: Request) -> Response:
    """Record what a form says; show the form again with the complaint where it cannot be."""
    async with request.form() as form:
        data = _texts(form)
    return await run_in_threadpool(_record, request, data)


def _record(request: Request, data: Mapping[str, str]) -> Response:
    room, do = _room(request), data.get("do", "")
    try:
        receipt = keep(room, _entry(room, do, data))
    except InkhornError as error:
        return _render(request, view.page(room, data, Said(do=do, data=data, error=error)), 422)
    return _to("do", said=receipt["number"])


def _entry(room: Room, do: str, data: Mapping[str, str]) -> dict[str, Any]:
    if do == "reading":
        pages = room.now().bench.exemplars
        fields = forms.reading_fields(data.get("of", ""), data.get("what", ""), view.now(), pages)
        entry = forms.entry_of("reading", data, fields)
        return entry | {"of": data.get("of", ""), "what": data.get("what", "")}
    form = forms.form_of(do)
    if form is None:
        raise EntryError("this form is not known here", mend="Begin again from the bench")
    fields = form.fields(room.now().bench, view.now())
    return forms.entry_of(do, data, fields)


async def undo(request: Request) -> Response:
    """Take the last entry back."""
    async with request.form() as form:
        number = _texts(form).get("number", "")
    if not number.isdecimal():
        raise HTTPException(422, "Nothing says which entry to take back")

    def work() -> None:
        room = _room(request)
        with room.writing, room.open() as workshop:
            workshop.undo(int(number))

    await run_in_threadpool(work)
    return _to("daybook", undone=number)


async def photo(request: Request) -> Response:
    """Keep a photograph of a trial and record its reading."""
    async with request.form() as form:
        data, pictures = _texts(form), await _pictures(form, "picture")
    return await run_in_threadpool(_photo, request, data, pictures)


async def exemplar(request: Request) -> Response:
    """Name the page to be matched, with its pictures."""
    async with request.form() as form:
        data, pictures = _texts(form), await _pictures(form, "picture")
    return await run_in_threadpool(_exemplar, request, data, pictures)


Picture = tuple[str, bytes]


async def _pictures(data: FormData, name: str) -> list[Picture]:
    """Return the uploaded files that hold anything, by the ending of their names."""
    out = []
    for item in data.getlist(name):
        if isinstance(item, UploadFile):
            content = await item.read()
            if content:
                out.append((Path(item.filename or "picture").suffix[:8], content))
    return out


def _photo(request: Request, data: Mapping[str, str], pictures: list[Picture]) -> Response:
    room = _room(request)
    try:
        trial = data.get("trial", "")
        if not trial:
            raise EntryError("nothing says which trial this shows", where="trial", mend="Choose the trial")
        if not pictures:
            raise PictureError("there is no picture", where="picture", mend="Take one, or choose a file")
        with tempfile.TemporaryDirectory(prefix="inkhorn-") as folder:
            path = _put(Path(folder), 0, pictures[0])
            read = room.read(path)
            entry = {
                "at": view.now(),
                "kind": "reading",
                "of": f"trial:{trial}",
                "what": "photo",
                "value": str(path),
            }
            receipt = keep(room, entry)
            receipt.update(read)
    except InkhornError as error:
        return _render(request, view.page(room, data, Said(do="photo", data=data, error=error)), 422)
    return _to("do", said=receipt["number"])


def _exemplar(request: Request, data: Mapping[str, str], pictures: list[Picture]) -> Response:
    room = _room(request)
    try:
        name = data.get("name", "").strip()
        if not name:
            raise EntryError("the page has no name yet", where="name", mend="Give it a short one")
        if not pictures:
            raise PictureError("there is no picture", where="picture", mend="Take one, or choose a file")
        with tempfile.TemporaryDirectory(prefix="inkhorn-") as folder:
            paths = [_put(Path(folder), n, picture) for n, picture in enumerate(pictures)]
            with room.writing, room.open() as workshop:
                workshop.add_exemplar(name, pictures=paths)
    except InkhornError as error:
        return _render(request, view.page(room, data, Said(do="exemplar", data=data, error=error)), 422)
    return _to("line", exemplar=name)


def _put(folder: Path, n: int, picture: Picture) -> Path:
    ending, content = picture
    path = folder / f"{n}{ending}"
    path.write_bytes(content)
    return path


def picture(request: Request) -> Response:
    """Send one picture that the page was told of."""
    path = _room(request).pictures.get(request.path_params["token"])
    if path is None or not path.is_file():
        raise HTTPException(404)
    return FileResponse(path, headers={"cache-control": "private, max-age=86400"})
