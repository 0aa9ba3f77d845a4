"""What every request passes before a view sees it, and every answer on its way out.

Any web site that a maker visits can send requests to their machine.  So a
request must name this machine as its host (against rebound names), one that
changes anything must come from this page itself, no body may be larger than a
few photographs, and no answer may be framed, sniffed or made to run a script
from elsewhere.  Where the bench is open to the local network, a request from
another device must come from one that was let in (`inkhorn.web.pairing`).
"""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from inkhorn.web.pairing import COOKIE, Device, Door

LIMIT = 64 * 1024 * 1024
"""Largest body of a request, in bytes: a few photographs as a telephone takes them."""

_HOSTS = frozenset({"127.0.0.1", "localhost", "::1"})
_STRANGER = 4096  # bytes from a device that was not let in: a code and a name
_DRAWN = frozenset({"/static/bench.css", "/static/mark.svg"})
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
_POLICY = (
    "default-src 'none'; img-src 'self'; style-src 'self'; script-src 'self'; connect-src 'self'; "
    "worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_OUT = {
    "content-security-policy": _POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


class Guard:
    """ASGI middleware: host, origin and size on the way in, headers on the way out.

    Parameters
    ----------
    app : ASGI application
    limit : int
        Largest body in bytes.
    names : frozenset of str
        Names besides the loopback ones by which other devices may ask; none, and it answers only this machine.
    door : Door, optional
        Who was let in.
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        limit: int = LIMIT,
        names: frozenset[str] = frozenset(),
        door: Door | None = None,
    ) -> None:
        self.app = app
        self.limit = limit
        self.names = names
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the request through, or answer it here."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, text in _OUT.items():
                    headers.setdefault(name, text)
                # What is packaged may be kept but is asked after; what is the maker's is never left about.
                headers.setdefault(
                    "cache-control", "no-cache" if scope["path"].startswith("/static/") else "no-store"
                )
            await send(message)

        headers = Headers(scope=scope)
        local = is_local(scope, headers)
        device = None
        if not local and self.door is not None:
            device = self.door.known(_cookie(headers, COOKIE))
        limit = self.limit if local or device is not None else _STRANGER
        refused = self._refusal(scope, headers, limit, local=local, device=device)
        if refused is not None:
            await refused(scope, receive, send_guarded)
            return
        scope.setdefault("state", {})
        scope["state"] |= {"local": local, "who": device.name if device is not None else ""}
        await self.app(scope, self._counted(receive, limit), send_guarded)

    def _refusal(
        self, scope: Scope, headers: Headers, limit: int, *, local: bool, device: Device | None
    ) -> Response | None:
        method, path = scope["method"], scope["path"]
        name = _hostname(headers.get("host", ""))
        if name not in _HOSTS and name not in self.names:
            return PlainTextResponse("This bench answers only to the machine that it runs on.", 421)
        if method not in _SAFE and not (same_origin(headers) and (local or _says_whence(headers))):
            return PlainTextResponse("Another page sent this. Nothing was recorded.", 403)
        if not local and device is None and not _is_threshold(path):
            if self.door is None:
                return PlainTextResponse("This bench answers only to the machine that it runs on.", 421)
            if method in _SAFE and not path.startswith("/api/") and "x-bench" not in headers:
                return RedirectResponse("/pair", 303)
            return PlainTextResponse("This device was not let in. Open /pair and give the code.", 401)
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > limit:
            return PlainTextResponse(_too_large(limit), 413)
        return None

    @staticmethod
    def _counted(receive: Receive, limit: int) -> Receive:
        """Return a receive that stops a body which grows past the limit without saying so before."""
        read = 0

        async def receive_counted() -> Message:
            nonlocal read
            message = await receive()
            read += len(message.get("body", b""))
            if read > limit:
                raise HTTPException(413, _too_large(limit))
            return message

        return receive_counted


def is_local(scope: Scope, headers: Headers) -> bool:
    """Tell whether a request comes from this machine itself, and not through something that passes it on."""
    client = scope.get("client")
    here = client is None or client[0] in {"127.0.0.1", "::1", "testclient"}
    passed_on = any(name in headers for name in ("forwarded", "x-forwarded-for", "x-real-ip", "via"))
    return here and not passed_on and _hostname(headers.get("host", "")) in _HOSTS


def _is_threshold(path: str) -> bool:
    """Tell whether a path is open to a device that was not let in yet: the door, and what it is drawn with."""
    return path == "/pair" or path in _DRAWN


def _says_whence(headers: Headers) -> bool:
    """Tell whether a request says where it comes from; from the network, nothing is taken on trust."""
    return "origin" in headers or "sec-fetch-site" in headers


def _cookie(headers: Headers, name: str) -> str:
    return cookie_parser(headers.get("cookie", "")).get(name, "")


def _too_large(limit: int) -> str:
    if limit < 1024 * 1024:
        return "That is more than this takes."
    return f"That is more than {limit // (1024 * 1024)} MB. Send fewer pictures at a time, or smaller ones."


def _hostname(host: str) -> str | None:
    """Return the name in a Host header without its port; None where it is no name at all."""
    try:
        return urlsplit(f"//{host}").hostname
    except ValueError:
        return None


def same_origin(headers: Headers) -> bool:
    """Tell whether a request that changes something came from this page, or from no page at all.

    Browsers say where a request comes from in ``Sec-Fetch-Site`` and, for every
    POST, in ``Origin``; a program that sends neither is not a page.
    """
    site = headers.get("sec-fetch-site")
    if site is not None and site not in {"same-origin", "none"}:
        return False
    origin = headers.get("origin")
    return origin is None or origin in {f"{scheme}://{headers.get('host')}" for scheme in ("http", "https")}
