"""What every page has: its navigation, the light it is read in, and how it is rendered."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from inkhorn.report import apart, words
from inkhorn.web.room import Room

LIGHTS: Mapping[str, str] = {"": "As the device has it", "sun": "Bright sun", "lamp": "Lamplight"}
_PLACES = (
    ("bench", "/", "Bench"),
    ("daybook", "/daybook", "Daybook"),
    ("trials", "/trials", "Trials"),
    ("page", "/pages", "Page"),
    ("materials", "/materials", "Materials"),
)


def room_of(request: Request) -> Room:
    """Return the workshop that an application shows."""
    room: Room = request.app.state.room
    return room


def light_of(request: Request) -> str:
    """Return the light that was chosen on this device, nothing where none was."""
    chosen = request.cookies.get("light", "")
    return chosen if chosen in LIGHTS else ""


def frame(request: Request, current: str, after: int | None = None) -> dict[str, Any]:
    """Return the names that every template needs."""
    room = room_of(request)
    return {
        "name": room.name,
        "places": [(address, label, key == current) for key, address, label in _PLACES],
        "light": light_of(request),
        "lights": LIGHTS,
        "key": new_key(),
        "words": words,
        "apart": apart,
        "path": quote(request.url.path),
        "working": False,
        "is_local": getattr(request.state, "local", True),
        "who": getattr(request.state, "who", ""),
        "after": room.now().after if after is None else after,
    }


def signed(request: Request, entry: Any) -> Any:
    """Return an entry with the name of whoever said it, where their device has one and they gave none."""
    who = getattr(request.state, "who", "")
    return {**entry, "who": who} if who and isinstance(entry, dict) and not entry.get("who") else entry


def new_key() -> str:
    """Return a key for one form, so that what is sent twice is kept once."""
    return secrets.token_hex(12)


def render(
    request: Request, template: str, current: str, names: Mapping[str, Any], status: int = 200
) -> Response:
    """Return a page."""
    text = request.app.state.templates.get_template(template).render({**frame(request, current), **names})
    return HTMLResponse(text, status)
