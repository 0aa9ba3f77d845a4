"""What is done from the pages beside the forms of the bench: mend, say again, follow counsel, choose the light, fetch a picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response

from inkhorn.daybook.arriving import step_key
from inkhorn.errors import EntryError, InkhornError
from inkhorn.imaging.card.layout import card as layout
from inkhorn.report.card import pdf
from inkhorn.web import again, following, shots, view
from inkhorn.web.api import keep, moment
from inkhorn.web.frame import LIGHTS, new_key, room_of, signed
from inkhorn.web.pages import daybook
from inkhorn.web.view import Said
from inkhorn.web.views import done, refused

_YEAR = 365 * 24 * 3600


async def _texts(request: Request) -> dict[str, str]:
    async with request.form() as form:
        return {name: given for name, given in form.multi_items() if isinstance(given, str)}


async def mend(request: Request) -> Response:
    """Let another wording stand in the place of an entry."""
    return await run_in_threadpool(_mend, request, await _texts(request))


def _mend(request: Request, data: Mapping[str, str]) -> Response:
    room, number = room_of(request), int(request.path_params["number"])
    line = next((one for one in room.now().standing if one.number == number), None)
    if line is None:
        raise HTTPException(404)
    replacement = daybook.mended(line, data)
    if replacement == line.raw:
        return RedirectResponse(f"/entry/{number}", 303)
    entry = {"at": view.now(), "kind": "amend", "entry": number, "replacement": replacement}
    try:
        keep(room, entry, data.get("key", ""))
    except InkhornError as error:
        return daybook.show_entry(request, number, data, error)
    return RedirectResponse(f"/daybook#e{number}", 303)


async def repeat(request: Request) -> Response:
    """Record a step once more, as it was last done, dated now."""
    return await run_in_threadpool(_repeat, request, await _texts(request))


def _repeat(request: Request, data: Mapping[str, str]) -> Response:
    room, number = room_of(request), data.get("number", "")
    now = room.now()
    line = next((one for one in now.standing if str(one.number) == number), None)
    if line is None:
        raise HTTPException(422, "There is no such step to say again")
    entry = {"at": data.get("at") or view.now(), **again.repeated(line.raw, now.bench)}
    receipt = keep(room, signed(request, entry), data.get("key", ""))
    return done(request, receipt["number"])


async def did(request: Request) -> Response:
    """Record a course of counsel as it was advised: one tap for all that it holds."""
    async with request.form() as form:
        actions = [given for name, given in form.multi_items() if name == "action" and isinstance(given, str)]
        data = {name: given for name, given in form.multi_items() if isinstance(given, str)}
    return await run_in_threadpool(_did, request, actions, data)


def _did(request: Request, actions: Sequence[str], data: Mapping[str, str]) -> Response:
    room, key = room_of(request), data.get("key") or new_key()
    receipts: list[Mapping[str, Any]] = []
    try:
        if not actions:
            raise EntryError("nothing says what was done", mend="Open the bench anew and tap again")
        for n, entry in enumerate(following.dated(actions, moment(data.get("at") or view.now()))):
            receipts.append(keep(room, signed(request, entry), step_key(key, n)))
    except InkhornError as error:
        return refused(request, {}, Said(error=error, kept=len(receipts)))
    last = receipts[-1]
    room.receipts[int(last["number"])] = {**last, "also": receipts[:-1]}
    return done(request, int(last["number"]))


async def light(request: Request) -> Response:
    """Remember on this device in which light the page is read."""
    data = await _texts(request)
    chosen, back = data.get("light", ""), data.get("back", "/")
    # Only a place of this page: never another host.
    out = RedirectResponse(back if back.startswith("/") and back[1:2] not in {"/", "\\"} else "/", 303)
    if chosen in LIGHTS:
        out.set_cookie("light", chosen, max_age=_YEAR, samesite="strict", httponly=True)
    return out


def card(_request: Request) -> Response:
    """Send the card that lies beside the ink in a photograph, to be printed at actual size."""
    return Response(
        pdf(layout("a6")),
        media_type="application/pdf",
        headers={"content-disposition": 'inline; filename="card.pdf"'},
    )


def thumb(request: Request) -> Response:
    """Send a kept picture, small."""
    return _picture(request, shots.SMALL)


def shot(request: Request) -> Response:
    """Send a kept picture at the size of a page."""
    return _picture(request, shots.WIDEST)


def _picture(request: Request, widest: int) -> Response:
    room = room_of(request)
    try:
        source = room.kept(f"sha256:{request.path_params['digest']}")
        made = shots.shown(source, Path(room.folder.name), widest)
    except InkhornError as error:
        raise HTTPException(404) from error
    # The name is its content: it never changes.
    return FileResponse(
        made, media_type="image/jpeg", headers={"cache-control": "private, max-age=31536000, immutable"}
    )
