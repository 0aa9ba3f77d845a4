"""The door: where a device asks to be let in, where the code is shown, and what an installed page needs."""

from __future__ import annotations

from datetime import datetime
from importlib.resources import files

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from inkhorn.web import network as networking
from inkhorn.web.frame import render, room_of
from inkhorn.web.pairing import COOKIE, STAYS, Door, TooMany, spoken

_NOWHERE = "This bench is not open to the network"


def _door(request: Request) -> Door:
    door: Door | None = request.app.state.door
    if door is None or request.app.state.network is None:
        raise HTTPException(404, _NOWHERE)
    return door


def pair(request: Request) -> Response:
    """Ask a device for the code; one that scanned it only has to say yes."""
    _door(request)
    return _asked(request, request.query_params.get("code", "")[:16], "", 200)


def _asked(request: Request, code: str, wrong: str, status: int) -> Response:
    # Whoever stands before the door can go nowhere else yet.
    return render(request, "pair.html", "", {"code": code, "wrong": wrong, "after": 0, "places": ()}, status)


async def enter(request: Request) -> Response:
    """Let a device in that gives the right code."""
    door = _door(request)
    async with request.form(max_files=0, max_fields=8) as form:
        code, name = (str(form.get(key, ""))[:60] for key in ("code", "name"))
    address = request.client.host if request.client else ""
    try:
        token = await run_in_threadpool(door.enter, code, address, name)
    except TooMany as many:
        minutes = max(1, round(many.wait / 60))
        out = _asked(request, "", f"Too many wrong codes. Wait {minutes} min, then try again", 429)
        out.headers["retry-after"] = str(int(many.wait) + 1)
        return out
    if token is None:
        return _asked(
            request, "", "This code is wrong, used, or too old. A new one is shown at the bench", 403
        )
    out = RedirectResponse("/", 303)
    out.set_cookie(
        COOKIE, token, max_age=STAYS, httponly=True, samesite="strict", secure=request.url.scheme == "https"
    )
    return out


def network(request: Request) -> Response:
    """Show at the bench itself how a telephone comes in, and who was let in."""
    if not request.state.local:
        raise HTTPException(404)
    found: networking.Open | None = request.app.state.network
    door: Door | None = request.app.state.door
    if found is None or door is None:
        return render(
            request, "network.html", "", {"open": None, "devices": (), "folder": room_of(request).name}
        )
    code, left = door.code()
    names = {
        "open": found,
        "code": spoken(code),
        "minutes": max(1, round(left / 60)),
        "qr": Markup(networking.drawn(found.invitation(code))),  # noqa: S704 - drawn here, of our own address
        "devices": [
            {"digest": d.digest, "name": d.name, "since": datetime.fromtimestamp(d.since).astimezone()}
            for d in door.devices()
        ],
        "folder": room_of(request).name,
    }
    return render(request, "network.html", "", names)


async def forget(request: Request) -> Response:
    """Shut a device out again."""
    door = _door(request)
    if not request.state.local:
        raise HTTPException(404)
    async with request.form() as form:
        digest = str(form.get("digest", ""))
    await run_in_threadpool(door.forget, digest)
    return RedirectResponse("/network", 303)


def manifest(request: Request) -> Response:
    """Say how the page looks when it is installed."""
    name = room_of(request).name
    return JSONResponse(
        {
            "name": f"{name}: the bench",
            "short_name": name[:12],
            "start_url": "/",
            "display": "standalone",
            "background_color": "#f8f8f5",
            "theme_color": "#f8f8f5",
            "icons": [{"src": "/static/mark.svg", "sizes": "any", "type": "image/svg+xml"}],
        },
        media_type="application/manifest+json",
    )


def worker(_request: Request) -> Response:
    """Send the script that keeps an installed page at hand; it must lie at the root to speak for it."""
    text = (files("inkhorn.web") / "static" / "worker.js").read_text("utf-8")
    return Response(text, media_type="text/javascript", headers={"cache-control": "no-cache"})
