"""The command that writes an ink down as a recipe for new lots."""

from __future__ import annotations

import click

import inkhorn
from inkhorn.cli.ask import only
from inkhorn.cli.output import Command, json_flag, say, say_json, working


@click.command(
    cls=Command,
    epilog="Of several vessels name one (inkhorn again saltmere --vessel pot --ml 500) or a trial (inkhorn again saltmere --trial t3).",
)
@click.argument("directory", metavar="DIR")
@click.option("--vessel", help="Whose ink; may be left out where there is only one vessel.")
@click.option("--trial", help="The ink as it was when this trial was written; as it is now if left out.")
@click.option("--ml", type=float, help="How much is wanted; as much as there was if left out.")
@click.option(
    "--elsewhere", "elsewhere", multiple=True, metavar="LOT", help="A lot that will come from another source."
)
@json_flag
def again(
    directory: str,
    vessel: str | None,
    trial: str | None,
    ml: float | None,
    elsewhere: tuple[str, ...],
    as_json: bool,
) -> None:
    """Say how to make an ink again from new leaf, salt and gum of unknown strength."""
    with inkhorn.Workshop.open(directory) as workshop:
        things = workshop.inventory()
        if vessel is None and trial is not None and trial in things.trials:
            vessel = things.trials[trial].vessel
        pot = only(things.vessels, vessel, "vessel", "--vessel")
        with working("Trying checkpoints on new lots", quiet=as_json) as progress:
            recipe = workshop.again(pot, trial=trial, ml=ml, elsewhere=elsewhere, progress=progress)
    if as_json:
        say_json(recipe.to_dict())
    else:
        say(recipe.text())
