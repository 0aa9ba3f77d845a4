"""``inkhorn bench`` and ``inkhorn demo``: the page at the bench, and the invented roll."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

import inkhorn
from inkhorn.cli.ask import say_comparison, say_counsel
from inkhorn.cli.output import Command, json_flag, say, say_json, working
from inkhorn.demo import roll
from inkhorn.errors import EntryError
from inkhorn.web.serve import PORT, serve
from inkhorn.web.tls import checked

if TYPE_CHECKING:
    from inkhorn.workshop import Workshop

_port = click.option(
    "--port", type=click.IntRange(0, 65535), default=PORT, show_default=True, help="0 takes any free one."
)
_file = click.Path(path_type=Path)
_no_browser = click.option("--no-browser", is_flag=True, help="Only print the address.")


@click.command(cls=Command)
@click.argument("directory", metavar="DIR")
@_port
@_no_browser
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
    _serve(directory, port=port, browser=not no_browser, network=network, certificate=pair)


def _serve(
    directory: str,
    *,
    port: int,
    browser: bool,
    network: bool = False,
    certificate: tuple[Path, Path] | None = None,
) -> None:
    serve(
        Path(directory),
        port=port,
        browser=browser,
        network=network,
        certificate=certificate,
        announce=say,
    )


def _roll(folder: Path, *, quiet: bool) -> Workshop:
    """Return the workshop of the roll: as it was left, or built anew where there is none."""
    if folder.is_dir() and any(folder.iterdir()):
        return inkhorn.Workshop.open(folder)
    with working("Building the Saltmere roll", quiet=quiet):
        return roll.build(folder)


@click.command(cls=Command)
@click.argument("directory", metavar="[DIR]", default="saltmere")
@click.option("--no-serve", is_flag=True, help="Build and answer, but serve no page.")
@_port
@_no_browser
@json_flag
def demo(directory: str, no_serve: bool, port: int, no_browser: bool, as_json: bool) -> None:
    """Build the Saltmere roll, an invented workshop, and ask what to do next."""
    with _roll(Path(directory), quiet=as_json) as workshop:
        trial = list(workshop.inventory().trials)[-1]
        with working("Comparing the line and the page", quiet=as_json):
            comparison = workshop.compare(trial, roll.EXEMPLAR).to_dict()
        with working("Estimating what is in the pot", quiet=as_json) as progress:
            counsel = workshop.counsel(roll.POT, roll.EXEMPLAR, progress=progress).to_dict()
    if as_json:
        say_json(
            {"notice": roll.NOTICE, "directory": directory, "comparison": comparison, "counsel": counsel}
        )
    else:
        say(roll.NOTICE)
        say(f"Its workshop is in {directory}.")
        say()
        say_comparison(comparison)
        say()
        say_counsel(counsel)
    if not no_serve:
        _serve(directory, port=port, browser=not no_browser)
