"""Answers that are text, packed for the way to a telephone; pictures are packed already."""

from __future__ import annotations

from starlette.middleware.gzip import GZipMiddleware
from starlette.types import ASGIApp, Receive, Scope, Send

_PICTURES = ("/picture/", "/thumb/", "/shot/")
_LEAST = 1024  # bytes that fit one packet anyway
_EFFORT = 5  # of 9: beyond it a slow machine works longer than the network saves


class Packed:
    """ASGI middleware that packs what is text with gzip where the browser takes it."""

    def __init__(self, app: ASGIApp) -> None:
        self._plain = app
        self._packed = GZipMiddleware(app, minimum_size=_LEAST, compresslevel=_EFFORT)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, packed unless it asks for a picture."""
        picture = scope["type"] == "http" and scope["path"].startswith(_PICTURES)
        await (self._plain if picture else self._packed)(scope, receive, send)
