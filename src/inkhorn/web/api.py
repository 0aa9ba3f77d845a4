"""The JSON twin of what the page shows; the same answers as the commands give with ``--json``."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkhorn.daybook.pictures import is_hash
from inkhorn.errors import CounselError, EntryError, PictureError, TimeError
from inkhorn.web.frame import room_of, signed
from inkhorn.web.openapi import describe
from inkhorn.web.room import Question, Room, question_of

_REMEMBERED = 64
_KEY = re.compile(r"[A-Za-z0-9-]{1,80}")


def answer(value: Any, status: int = 200) -> Response:
    """Return a value as a JSON answer."""
    return Response(
        json.dumps(value, ensure_ascii=False, allow_nan=False), status, media_type="application/json"
    )


def _asked(request: Request, *needed: str) -> tuple[Room, int, Question]:
    """Return what counsel is asked about; raise where something needed is not there yet."""
    room = room_of(request)
    now = room.now()
    question = question_of(now.bench, request.query_params)
    for name in needed:
        if getattr(question, name) is None:
            raise CounselError(f"there is no {name} yet", mend=f"Record the {name} first")
    return room, now.after, question


def estimate(request: Request) -> Response:
    """Answer with the estimate, once it is worked out."""
    room = room_of(request)
    after = room.now().after
    return answer(room.desk.wait("estimate", after, room.work_estimate))


def counsel(request: Request) -> Response:
    """Answer with the counsel on ``vessel``, ``exemplar`` and ``as``."""
    room, after, q = _asked(request, "vessel", "exemplar")
    key = ("counsel", q.vessel, q.exemplar, q.as_)
    return answer(room.desk.wait(key, after, lambda: room.work_counsel(q)))


def compare(request: Request) -> Response:
    """Answer with the comparison of the newest trial and the page."""
    room, after, q = _asked(request, "trial", "exemplar")
    found = room.desk.wait(("compare", q.trial, q.exemplar), after, lambda: room.work_comparison(q))
    # Where the pictures lie on this disk is nobody's business but the command's.
    shown = {key: value for key, value in found.items() if key not in {"picture", "panels", "src", "shown"}}
    panels = [{"caption": panel["caption"], "picture": panel["src"]} for panel in found["shown"]]
    return answer(shown | {"picture": found["src"], "panels": panels})


def daybook(request: Request) -> Response:
    """Answer with every entry as it was recorded."""
    return answer([dict(line) for line in room_of(request).now().told])


def status(request: Request) -> Response:
    """Answer whether something is still being worked out, and with which entry the daybook ends."""
    room = room_of(request)
    return answer({"after": room.now().after, "working": not room.idle(), "turn": room.turn()})


async def said(request: Request) -> Response:
    """Understand a sentence and record it, or ask; sent as JSON with ``text`` and how it is to be taken."""
    sent = await _sent(request)
    text = sent.get("text") if isinstance(sent, dict) else None
    if not isinstance(text, str):
        raise EntryError(
            "there is no sentence", where="text", mend='Send {"text": "add 5 g of gum to the pot"}'
        )
    how = {key: sent[key] for key in ("who", "at", "answer") if isinstance(sent.get(key), str)}
    if "at" in how:
        how["at"] = moment(how["at"])
    how = signed(request, how)
    how |= {key: sent[key] is True for key in ("yes", "dry", "as_remark") if key in sent}
    how["key"] = checked(request.headers.get("idempotency-key", ""))
    found = await run_in_threadpool(hear, room_of(request), text, **how)
    return answer(found, 201 if found["recorded"] else 200)


def hear(room: Room, text: str, **how: Any) -> dict[str, Any]:
    """Understand a sentence, record it where nothing was guessed or asked, and remember the receipts."""
    with room.writing, room.open() as workshop:
        found = workshop.say(text, **how).to_dict()
    for receipt in found["recorded"]:
        _remember(room, receipt)
    return found


def described(_request: Request) -> Response:
    """Answer with the description of all this."""
    return answer(describe())


async def record(request: Request) -> Response:
    """Record one entry, sent as JSON; answer with its receipt."""
    key = request.headers.get("idempotency-key", "")
    return answer(
        await run_in_threadpool(keep, room_of(request), signed(request, await _sent(request)), key), 201
    )


async def _sent(request: Request) -> Any:
    if request.headers.get("content-type", "").partition(";")[0].strip() != "application/json":
        raise EntryError("an entry is sent as application/json", where="content-type", mend="Set the header")
    try:
        return json.loads(await request.body())
    except ValueError as error:
        raise EntryError(f"this cannot be read as JSON ({error})", mend="Send one JSON object") from error


def _no_file(entry: Any, sent: Path | None) -> None:
    """Refuse an entry that names a file of this machine: whoever sends it must not read what lies here."""
    if not isinstance(entry, Mapping):
        return
    named = [entry.get("picture"), entry.get("value") if entry.get("what") == "photo" else None]
    for text in named:
        if isinstance(text, str) and not is_hash(text) and text != str(sent):
            raise PictureError(
                "a picture is sent with its form, or named by what is in it (sha256:...)",
                where="picture",
                mend="Photograph it from the page",
            )
    _no_file(entry.get("replacement"), sent)


def keep(room: Room, entry: dict[str, Any], key: str = "", *, sent: Path | None = None) -> dict[str, Any]:
    """Record one entry and remember its receipt for the page that follows.

    What comes again under the same key, made by the page or the program that sends it, is kept once.
    ``sent`` is the file of a picture that came with the request; no other file of this machine may be named.
    """
    _no_file(entry, sent)
    key = checked(key)
    with room.writing, room.open() as workshop:
        receipt = dict(workshop.receive(entry, key=key).to_dict())
    if isinstance(entry, Mapping) and entry.get("what") == "photo":
        receipt["photo"] = True
    _remember(room, receipt)
    return receipt


def moment(text: str) -> str:
    """Return a date and time as it is; raise where it is none."""
    try:
        datetime.fromisoformat(text)
    except ValueError as error:
        raise TimeError(
            f"{text!r} is no date and time", where="at", mend="Write it as 2026-09-12T10:15"
        ) from error
    return text


def checked(key: str) -> str:
    """Return a key as it is; raise where it is none."""
    if key and not _KEY.fullmatch(key):
        raise EntryError(
            "this is no key of an entry", where="key", mend="Use up to 80 letters, digits and hyphens"
        )
    return key


def _remember(room: Room, receipt: dict[str, Any]) -> None:
    room.receipts[int(receipt["number"])] = receipt
    while len(room.receipts) > _REMEMBERED:
        del room.receipts[next(iter(room.receipts))]
