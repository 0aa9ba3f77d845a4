"""``inkhorn demo``: the invented roll, built, asked about and shown."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

import inkhorn
from inkhorn.cli.ask import say_comparison, say_counsel
from inkhorn.cli.output import Command, json_flag, say, say_json, working
from inkhorn.cli.serve import no_browser_option, port_option, serve_page
from inkhorn.demo import roll

if TYPE_CHECKING:
    from inkhorn.workshop import Workshop


def _roll(folder: Path, *, quiet: bool) -> Workshop:
    """Return the workshop of the roll: as it was left, or built anew where there is none."""
    if folder.is_dir() and any(folder.iterdir()):
        return inkhorn.Workshop.open(folder)
    with working("Building the Saltmere roll", quiet=quiet):
        return roll.build(folder)


@click.command(cls=Command)
@click.argument("directory", metavar="[DIR]", default="saltmere")
@click.option("--no-serve", is_flag=True, help="Build and answer, but serve no page.")
@port_option
@no_browser_option
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
        serve_page(directory, port=port, browser=not no_browser)
