"""What every request passes before a view sees it, and every answer on its way out.

The page is for one person on one machine, yet any web site that they visit can
send requests to that machine.  So a request must name this machine as its host
(against rebound names), one that changes anything must come from this page
itself, no body may be larger than a few photographs, and no answer may be
framed, sniffed or made to run a script from elsewhere.
"""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LIMIT = 64 * 1024 * 1024
"""Largest body of a request, in bytes: a few photographs as a telephone takes them."""

_HOSTS = frozenset({"127.0.0.1", "localhost", "::1"})
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
_POLICY = (
    "default-src 'none'; img-src 'self'; style-src 'self'; script-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
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
    """

    def __init__(self, app: ASGIApp, *, limit: int = LIMIT) -> None:
        self.app = app
        self.limit = limit

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

        refused = self._refusal(scope["method"], Headers(scope=scope))
        if refused is not None:
            await refused(scope, receive, send_guarded)
            return
        await self.app(scope, self._counted(receive), send_guarded)

    def _refusal(self, method: str, headers: Headers) -> Response | None:
        if _hostname(headers.get("host", "")) not in _HOSTS:
            return PlainTextResponse("This bench answers only to the machine that it runs on.", 421)
        if method not in _SAFE and not same_origin(headers):
            return PlainTextResponse("Another page sent this. Nothing was recorded.", 403)
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > self.limit:
            return PlainTextResponse(self._too_large(), 413)
        return None

    def _counted(self, receive: Receive) -> Receive:
        """Return a receive that stops a body which grows past the limit without saying so before."""
        read = 0

        async def receive_counted() -> Message:
            nonlocal read
            message = await receive()
            read += len(message.get("body", b""))
            if read > self.limit:
                raise HTTPException(413, self._too_large())
            return message

        return receive_counted

    def _too_large(self) -> str:
        return f"That is more than {self.limit // (1024 * 1024)} MB. Send fewer pictures at a time, or smaller ones."


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
