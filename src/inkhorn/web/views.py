"""The views of the bench page: read the request, ask the workshop, render."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import attrs
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response

from inkhorn.daybook.arriving import step_key
from inkhorn.errors import EntryError, EntryErrors, InkhornError, PictureError
from inkhorn.web import boxes, forms, view
from inkhorn.web.api import keep
from inkhorn.web.frame import render, room_of, signed
from inkhorn.web.room import Room
from inkhorn.web.uploads import sent
from inkhorn.web.view import Said


def bench(request: Request) -> Response:
    """Show the bench."""
    return render(request, "bench.html", "bench", view.page(room_of(request), request.query_params))


def ready(request: Request) -> Response:
    """Send every form there is, for a page that will go on without its bench."""
    return render(request, "boxes.html", "bench", {"boxes": boxes.all_boxes(room_of(request))})


def _texts(data: FormData) -> dict[str, str]:
    return {name: given for name, given in data.multi_items() if isinstance(given, str)}


def is_part(request: Request) -> bool:
    """Tell whether the page's own script asks, which wants the box alone."""
    return "x-bench" in request.headers


def done(request: Request, number: int) -> Response:
    """Return the answer to a form that worked: the receipt, or the way to it."""
    query = {"said": str(number)}
    if not is_part(request):
        return RedirectResponse(f"/?{urlencode(query)}#do", 303)
    out = render(request, "part.html", "bench", view.page(room_of(request), query, patience=0), 201)
    out.headers["x-number"] = str(number)
    return out


def refused(request: Request, data: Mapping[str, str], said: Said) -> Response:
    """Return the form as it was sent, with the complaint."""
    template = "part.html" if is_part(request) else "bench.html"
    return render(request, template, "bench", view.page(room_of(request), data, said), 422)


async def record(request: Request) -> Response:
    """Record what a form says; show the form again with the complaint where it cannot be."""
    async with request.form() as form:
        data = _texts(form)
    return await run_in_threadpool(_record, request, data)


def _record(request: Request, data: Mapping[str, str]) -> Response:
    room, do = room_of(request), data.get("do", "")
    try:
        receipt = keep(room, signed(request, _entry(room, do, data)), data.get("key", ""))
    except InkhornError as error:
        return refused(request, data, Said(do=do, data=data, error=error))
    return done(request, receipt["number"])


def _entry(room: Room, do: str, data: Mapping[str, str]) -> dict[str, Any]:
    bench = room.now().bench
    if do == "reading":
        fields = forms.reading_fields(data.get("of", ""), data.get("what", ""), view.now(), bench.exemplars)
        more = {"of": data.get("of", ""), "what": data.get("what", "")}
    else:
        form, more = forms.form_of(do), {}
        if form is None:
            raise EntryError("this form is not known here", mend="Begin again from the bench")
        fields = form.fields(bench, view.now())
    if faults := forms.lacking(do, fields, data):
        raise EntryErrors(faults)
    return forms.entry_of(do, data, fields) | more


async def undo(request: Request) -> Response:
    """Take an entry back, or all the steps of a course, each by a later entry that strikes it out."""
    async with request.form() as form:
        numbers = [given for name, given in form.multi_items() if name == "number"]
        key = _texts(form).get("key", "")
    chosen = {int(n) for n in numbers if isinstance(n, str) and n.isdecimal()}
    if not chosen or len(chosen) != len(numbers):
        raise HTTPException(422, "Nothing says which entry to take back")
    return await run_in_threadpool(_undo, request, sorted(chosen, reverse=True), key)


def _undo(request: Request, numbers: Sequence[int], key: str) -> Response:
    room = room_of(request)
    receipts: list[dict[str, Any]] = []
    try:
        # The newest first: what came later may rest on what came before.
        for n, number in enumerate(numbers):
            entry = {"at": view.now(), "kind": "void", "entry": number, "why": "undone"}
            receipts.append(keep(room, entry, f"{key}-{n}" if key and n else key))
    except InkhornError as error:
        if not receipts:
            raise
        return refused(request, {}, Said(error=error, kept=len(receipts)))
    last = int(receipts[-1]["number"])
    room.receipts[last] = {**receipts[-1], "also": receipts[:-1]}
    if is_part(request):
        return done(request, last)
    return RedirectResponse(f"/?{urlencode({'undone': numbers[-1]})}#daybook", 303)


async def photo(request: Request) -> Response:
    """Keep photographs of a trial and record their readings."""
    async with sent(request) as (data, pictures):
        return await run_in_threadpool(_photo, request, data, pictures)


async def exemplar(request: Request) -> Response:
    """Name the page to be matched, with its pictures."""
    async with sent(request) as (data, pictures):
        return await run_in_threadpool(_exemplar, request, data, pictures)


def _photo(request: Request, data: Mapping[str, str], pictures: Sequence[Path]) -> Response:
    missing = EntryError("nothing says which trial this shows", where="trial", mend="Choose the trial")
    kept = _all_kept(
        request, data, pictures, Said(do="photo", data=data), ("trial", data.get("trial", "")), missing
    )
    return done(request, kept) if isinstance(kept, int) else kept


def _exemplar(request: Request, data: Mapping[str, str], pictures: Sequence[Path]) -> Response:
    missing = EntryError("the page has no name yet", where="name", mend="Give it a short one")
    # What is written beside the pages that there are wins over a tap.
    name = data.get("name_other", "").strip() or data.get("name", "").strip()
    kept = _all_kept(request, data, pictures, Said(do="exemplar", data=data), ("exemplar", name), missing)
    if not isinstance(kept, int):
        return kept
    return done(request, kept)


def _all_kept(
    request: Request,
    data: Mapping[str, str],
    pictures: Sequence[Path],
    said: Said,
    asked: tuple[str, str],
    missing: InkhornError,
) -> int | Response:
    """Record the pictures of one thing; return the last one's number, or the form with the complaint.

    ``asked`` is what sort of thing it is and its name.
    """
    receipts: list[dict[str, Any]] = []
    sort, name = asked
    try:
        if not name.strip():
            raise missing
        _kept(request, data, f"{sort}:{name.strip()}", pictures, receipts)
    except InkhornError as error:
        return refused(request, data, attrs.evolve(said, error=error, kept=len(receipts)))
    last = int(receipts[-1]["number"])
    room_of(request).receipts[last] = {**receipts[-1], "also": receipts[:-1]}
    return last


def _kept(
    request: Request,
    data: Mapping[str, str],
    of: str,
    pictures: Sequence[Path],
    receipts: list[dict[str, Any]],
) -> None:
    """Record each picture as a photo reading, and keep its receipt at once: a later one may be refused."""
    if not pictures:
        raise PictureError("there is no picture", where="picture", mend="Take one, or choose a file")
    key = data.get("key", "")
    for n, path in enumerate(pictures):
        entry = {
            "at": data.get("at") or view.now(),
            "kind": "reading",
            "of": of,
            "what": "photo",
            "value": str(path),
        }
        receipts.append(keep(room_of(request), signed(request, entry), step_key(key, n), sent=path))


def picture(request: Request) -> Response:
    """Send one picture that the page was told of."""
    path = room_of(request).pictures.get(request.path_params["token"])
    if path is None or not path.is_file():
        raise HTTPException(404)
    return FileResponse(path, headers={"cache-control": "private, max-age=86400"})
