"""Where a bench that is open to the local network can be reached, and the picture that leads there."""

from __future__ import annotations

import io
import ipaddress
import socket
from collections.abc import Iterator

import attrs
import segno


@attrs.frozen(kw_only=True)
class Open:
    """A bench that is open to the local network.

    Parameters
    ----------
    names : tuple of str
        Addresses and names by which it may be asked for, the likeliest first.
    port : int
    secure : bool
        Whether it is served over TLS, with a certificate that the maker supplied.
    """

    names: tuple[str, ...]
    port: int
    secure: bool = False

    @property
    def address(self) -> str:
        """Where a telephone finds it."""
        return f"{'https' if self.secure else 'http'}://{self.names[0]}:{self.port}"

    def invitation(self, code: str) -> str:
        """Return the address that a telephone's camera is to open."""
        return f"{self.address}/pair?code={code}"


def own_names() -> tuple[str, ...]:
    """Return this machine's addresses on the local network, and its name."""
    found = list(dict.fromkeys(_addresses()))
    # The private ranges first (RFC 1918): the local network is one of them.
    found.sort(key=lambda text: not ipaddress.ip_address(text).is_private)
    name = socket.gethostname().lower().rstrip(".")
    names = [name, f"{name}.local"] if name and "." not in name else [name]
    return tuple(dict.fromkeys([*found, *(n for n in names if n and n != "localhost")]))


def _addresses() -> Iterator[str]:
    # No packet leaves: connecting a datagram socket only chooses the interface.
    for target in ("192.168.255.255", "10.255.255.255", "172.31.255.255"):
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((target, 9))
                yield from _usable(probe.getsockname()[0])
            except (OSError, ValueError):
                continue
    try:
        for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET):
            yield from _usable(str(info[4][0]))
    except (OSError, ValueError):
        return


def _usable(text: str) -> tuple[str, ...]:
    """Return the address if another machine could come by it, else nothing."""
    address = ipaddress.ip_address(text)
    return () if address.is_loopback or address.is_unspecified else (text,)


def drawn(text: str) -> str:
    """Return a QR code as SVG for a page: dark on light in either light, four quiet modules around it."""
    return segno.make(text, error="m", micro=False).svg_inline(
        scale=6,
        border=4,
        dark="#000",
        light="#fff",
        svgclass="qr",
        lineclass=None,
        omitsize=True,
        title="The way in, as a code for a camera",
    )


def printed(text: str) -> str:
    """Return a QR code in the characters of a terminal."""
    out = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(out, compact=True)
    return out.getvalue()
