"""``inkhorn bench``: the page at the bench. Nothing is loaded here that only another command needs: a page is waited for."""

from __future__ import annotations

from pathlib import Path

import click

import inkhorn
from inkhorn.cli.output import Command, say
from inkhorn.errors import EntryError
from inkhorn.web.serve import PORT, serve
from inkhorn.web.tls import checked

port_option = click.option(
    "--port", type=click.IntRange(0, 65535), default=PORT, show_default=True, help="0 takes any free one."
)
_file = click.Path(path_type=Path)
no_browser_option = click.option("--no-browser", is_flag=True, help="Only print the address.")


@click.command(cls=Command)
@click.argument("directory", metavar="DIR")
@port_option
@no_browser_option
@click.option("--network", is_flag=True, help="Also to devices of the local network that give a code.")
@click.option(
    "--certificate", type=_file, help="Serve over TLS with this certificate (PEM), which you supply."
)
@click.option("--key", type=_file, help="The certificate's key (PEM).")
def bench(
    directory: str, port: int, no_browser: bool, network: bool, certificate: Path | None, key: Path | None
) -> None:
    """Serve the bench page of a workshop, to this machine only unless told otherwise."""
    inkhorn.Workshop.open(directory).close()
    if (certificate is None) != (key is None):
        raise EntryError(
            "a certificate and its key go together",
            where="--key" if key is None else "--certificate",
            mend="Give both, or neither",
        )
    pair = checked(certificate, key) if certificate is not None and key is not None else None
    serve_page(directory, port=port, browser=not no_browser, network=network, certificate=pair)


def serve_page(
    directory: str,
    *,
    port: int,
    browser: bool,
    network: bool = False,
    certificate: tuple[Path, Path] | None = None,
) -> None:
    """Serve the page of a workshop until it is stopped, saying where it is."""
    serve(
        Path(directory),
        port=port,
        browser=browser,
        network=network,
        certificate=certificate,
        announce=say,
    )
