"""The box in which you say what you did, and the evening in which a whole day is told."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkhorn.errors import InkhornError
from inkhorn.web import view
from inkhorn.web.api import checked, hear, moment
from inkhorn.web.frame import new_key, render, room_of, signed
from inkhorn.web.rehearsal import Rehearsal
from inkhorn.web.view import Said
from inkhorn.web.views import done, is_part

_LINES = 60
_TOLD_AT = "20:00"
_NOTHING: Mapping[str, Any] = {
    "outcome": "refused",
    "entries": [],
    "recorded": [],
    "question": None,
    "guesses": [],
    "unread": [],
}


async def _texts(request: Request) -> dict[str, str]:
    async with request.form(max_fields=3 * _LINES) as form:
        return {name: given for name, given in form.multi_items() if isinstance(given, str)}


async def say(request: Request) -> Response:
    """Record a sentence, or show what was made of it and ask."""
    return await run_in_threadpool(_say, request, await _texts(request))


def _say(request: Request, data: Mapping[str, str]) -> Response:
    room, text = room_of(request), data.get("text", "").strip()
    how: dict[str, Any] = {"key": data.get("key") or new_key()}
    if data.get("answer", "").strip():
        how["answer"] = data["answer"].strip()
    how |= {key: True for key in ("yes", "as_remark") if data.get(key)}
    if data.get("at"):
        how["at"] = data["at"]
    try:
        heard = _heard(request, text, how)
    except InkhornError as error:
        return _shown(request, data, Said(do="say", data=data, error=error))
    if heard["recorded"]:
        last = heard["recorded"][-1]
        room.receipts[int(last["number"])] = {**last, "also": heard["recorded"][:-1], "why": heard["why"]}
        return done(request, int(last["number"]))
    return _shown(request, data, Said(do="say", data=data, heard=heard))


def _heard(request: Request, text: str, how: dict[str, Any]) -> dict[str, Any]:
    how["key"] = checked(how.get("key", ""))
    if "at" in how:
        how["at"] = moment(how["at"])
    return hear(room_of(request), text, **signed(request, how))


def _shown(request: Request, data: Mapping[str, str], said: Said) -> Response:
    template = "part.html" if is_part(request) else "bench.html"
    return render(request, template, "bench", view.page(room_of(request), data, said), 422)


def evening(request: Request) -> Response:
    """Ask for the whole day at once."""
    return _evening(request, view.now().partition("T")[0], [], "", 0)


async def told(request: Request) -> Response:
    """Read a day back line by line; keep what was understood, and leave the rest to be said otherwise."""
    return await run_in_threadpool(_told, request, await _texts(request))


def _told(request: Request, data: Mapping[str, str]) -> Response:
    day = data.get("day", "")
    given = [line for name in sorted(data, key=_order) if name.startswith("line-") for line in [data[name]]]
    given += data.get("text", "").splitlines()
    found, kept = [], 0
    keeping = bool(data.get("keep") and data.get("key"))
    rehearsal = Rehearsal.of(room_of(request).now().recorded)
    for n, text in enumerate([line.strip() for line in given if line.strip()][:_LINES]):
        at = f"{day}T{_TOLD_AT}"
        try:
            if keeping:
                heard = _heard(request, text, {"at": at, "yes": True, "key": f"{data['key']}-{n}"})
            else:
                heard = rehearsal.say(text, at=moment(at))
        except InkhornError as error:
            heard = {**_NOTHING, "why": error.sentence()}
        if keeping and heard["recorded"] and not heard["why"]:
            kept += len(heard["recorded"])
            continue
        found.append({"text": text, **heard})
    return _evening(request, day, found, "" if found or kept else "Nothing was told yet.", kept)


def _order(name: str) -> tuple[int, str]:
    number = name.rpartition("-")[2]
    return (int(number) if number.isdecimal() else 0, name)


def _evening(request: Request, day: str, found: list[dict[str, Any]], note: str, kept: int) -> Response:
    names = {"day": day, "lines": found, "note": note, "kept": kept}
    return render(request, "evening.html", "daybook", names)
