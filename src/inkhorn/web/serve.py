"""Serve the bench page of one workshop: on this machine's own loopback address, or to the local network."""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn

from inkhorn.errors import StoreError
from inkhorn.web.app import create_app
from inkhorn.web.network import Open, own_names, printed
from inkhorn.web.pairing import Door, spoken

PORT = 8377
"""Where the bench is found unless told otherwise; no well-known service lives there."""

LOOPBACK = "127.0.0.1"
EVERYWHERE = "0.0.0.0"  # noqa: S104 - only where the maker asks for it, and behind the door


class _Server(uvicorn.Server):
    """A server that says when it can be reached."""

    ready: Callable[[], None]

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=sockets)
        if self.started:
            self.ready()


def listen(port: int, host: str = LOOPBACK) -> socket.socket:
    """Return a socket that listens, on the loopback address unless told otherwise; port 0 takes any free one."""
    out = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    out.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        out.bind((host, port))
    except OSError as error:
        out.close()
        raise StoreError(
            "the port is taken",
            where=f"port {port}",
            mend="Stop what runs there, or give another with --port",
        ) from error
    return out


def serve(
    path: Path,
    *,
    port: int = PORT,
    browser: bool = True,
    network: bool = False,
    certificate: tuple[Path, Path] | None = None,
    announce: Callable[[str], None],
) -> None:
    """Serve until stopped with Ctrl-C.

    Parameters
    ----------
    path : Path
        The workshop's folder.
    port : int
        Where to listen; 0 takes any free port.
    browser : bool
        Whether to open the machine's browser once the page can be reached.
    network : bool
        Whether other devices of the local network may ask, once they were let in.
    certificate : (Path, Path), optional
        A certificate and its key (PEM) that the maker supplies: then it is served over TLS.
    announce : callable
        Is told the address as soon as it answers, and how a telephone comes in.
    """
    sock = listen(port, EVERYWHERE if network else LOOPBACK)
    port = sock.getsockname()[1]
    address = f"{'https' if certificate else 'http'}://{LOOPBACK}:{port}/"
    reached = _reached(port, secure=certificate is not None) if network else None
    door = Door(path) if reached else None
    config = uvicorn.Config(
        create_app(path, network=reached, door=door),
        log_level="warning",
        access_log=False,
        timeout_graceful_shutdown=2,
        # What a proxy claims of the caller is not believed: the door goes by the caller's address.
        proxy_headers=False,
        server_header=False,
        ssl_certfile=str(certificate[0]) if certificate else None,
        ssl_keyfile=str(certificate[1]) if certificate else None,
    )
    server = _Server(config)

    def ready() -> None:
        announce(f"The bench is at {address} (stop it with Ctrl-C)")
        if reached and door:
            code, _ = door.code()
            announce(printed(reached.invitation(code)))
            announce(f"A telephone comes in at {reached.address} with the code {spoken(code)}.")
            announce(f"It is good for ten minutes and one device; the next is at {address}network")
        if browser:
            webbrowser.open(address)

    server.ready = ready
    with sock:
        try:
            server.run(sockets=[sock])
        except KeyboardInterrupt:
            return


def _reached(port: int, *, secure: bool) -> Open:
    """Return where the local network finds this machine."""
    names = own_names()
    if not names:
        raise StoreError(
            "this machine has no address on a local network",
            where="--network",
            mend="Join one, or leave --network out",
        )
    return Open(names=names, port=port, secure=secure)
