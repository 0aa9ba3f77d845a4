"""Serve the bench page of one workshop on the machine's own loopback address."""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn

from inkhorn.errors import StoreError
from inkhorn.web.app import create_app

PORT = 8377
"""Where the bench is found unless told otherwise; no well-known service lives there."""

LOOPBACK = "127.0.0.1"


class _Server(uvicorn.Server):
    """A server that says when it can be reached."""

    ready: Callable[[], None]

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=sockets)
        if self.started:
            self.ready()


def listen(port: int) -> socket.socket:
    """Return a socket that listens on the loopback address; port 0 takes any free one."""
    out = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    out.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        out.bind((LOOPBACK, port))
    except OSError as error:
        out.close()
        raise StoreError(
            "the port is taken",
            where=f"port {port}",
            mend="Stop what runs there, or give another with --port",
        ) from error
    return out


def serve(path: Path, *, port: int = PORT, browser: bool = True, announce: Callable[[str], None]) -> None:
    """Serve until stopped with Ctrl-C.

    Parameters
    ----------
    path : Path
        The workshop's folder.
    port : int
        Where to listen; 0 takes any free port.
    browser : bool
        Whether to open the machine's browser once the page can be reached.
    announce : callable
        Is told the address as soon as it answers.
    """
    sock = listen(port)
    address = f"http://{LOOPBACK}:{sock.getsockname()[1]}/"
    config = uvicorn.Config(
        create_app(path), log_level="warning", access_log=False, timeout_graceful_shutdown=2
    )
    server = _Server(config)

    def ready() -> None:
        announce(address)
        if browser:
            webbrowser.open(address)

    server.ready = ready
    with sock:
        try:
            server.run(sockets=[sock])
        except KeyboardInterrupt:
            return
