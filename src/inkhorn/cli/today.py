"""The command that brings an ink back to what it was yesterday."""

from __future__ import annotations

from datetime import datetime

import click

import inkhorn
from inkhorn.cli.ask import only
from inkhorn.cli.output import Command, json_flag, say, say_json, working


@click.command(cls=Command)
@click.argument("directory", metavar="DIR")
@click.option("--vessel", help="What you write from; may be left out where there is only one vessel.")
@click.option("--like", required=True, metavar="TRIAL", help="The trial that the ink should be like.")
@click.option(
    "--strokes", multiple=True, metavar="TRIAL", help="This morning's trials, for hints about the pen."
)
@click.option("--temperature", metavar="WARMTH", help='The morning\'s warmth: "14 degC".')
@click.option(
    "--at", type=click.DateTime(["%Y-%m-%dT%H:%M", "%Y-%m-%d"]), help="When; the last entry if left out."
)
@json_flag
def today(
    directory: str,
    vessel: str | None,
    like: str,
    strokes: tuple[str, ...],
    temperature: str | None,
    at: datetime | None,
    as_json: bool,
) -> None:
    """Say what water, gum or warmth brings back the ink of a trial this morning."""
    with inkhorn.Workshop.open(directory) as workshop:
        pot = only(workshop.inventory().vessels, vessel, "vessel", "--vessel")
        named = [name.strip() for text in strokes for name in text.split(",") if name.strip()]
        with working("Looking at the ink", quiet=as_json) as progress:
            answer = workshop.today(
                pot, like=like, strokes=named, temperature=temperature, at=at, progress=progress
            )
    if as_json:
        say_json(answer.to_dict())
    else:
        say(answer.text())
