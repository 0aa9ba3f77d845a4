"""The command that answers a complaint: what is wrong, and the one check that tells."""

from __future__ import annotations

from typing import Any

import click

import inkhorn
from inkhorn.cli.output import Command, json_flag, say, say_json, working
from inkhorn.errors import CounselError

#: How likely a cause must be to be listed, and how many are at the most.
_LISTED, _MOST = 0.03, 6


@click.command(cls=Command)
@click.argument("directory", metavar="DIR")
@click.argument("complaint", metavar="COMPLAINT", nargs=-1, required=True)
@click.option("--vessel", help="The pot you complain of; may be left out where you wrote with only one.")
@click.option("--trial", help="The trial you complain of; its pot, skin and age are then meant.")
@click.option(
    "--found",
    metavar="'CHECK: OUTCOME'",
    multiple=True,
    help="What a check found, as it is named in the answer; may be given several times.",
)
@json_flag
def why(
    directory: str,
    complaint: tuple[str, ...],
    vessel: str | None,
    trial: str | None,
    found: tuple[str, ...],
    as_json: bool,
) -> None:
    """Say what is wrong with an ink, from a complaint in your own words."""
    if vessel and trial:
        raise CounselError("both a vessel and a trial were named", where="why", mend="Name one of them")
    with inkhorn.Workshop.open(directory) as workshop, working("Weighing", quiet=as_json) as progress:
        answer = workshop.why(
            " ".join(complaint), vessel=vessel, trial=trial, found=found, progress=progress
        ).to_dict()
    if as_json:
        say_json(answer)
    else:
        say_why(answer)


def say_why(answer: dict[str, Any]) -> None:
    """Print the answer: the likeliest first, each cause with what speaks for it, then the check."""
    say(answer["sentence"])
    for cause in [c for c in answer["causes"] if c["chance"] >= _LISTED][:_MOST]:
        low, high = cause["probability"]["p05"], cause["probability"]["p95"]
        say(f"  {100 * cause['chance']:3.0f} % ({100 * low:.0f} to {100 * high:.0f})  {cause['words']}")
        if cause["because"]:
            say(f"        {cause['because']}")
    say(answer["note"])
    check = answer["check"]
    if check is None:
        say("No quick check would tell you more.")
    else:
        say(f"Check first ({check['check']}). {check['sentence']}")
        outcomes = ", ".join(o["outcome"] for o in check["outcomes"])
        say(f"Then ask again with --found '{check['check']}: OUTCOME', where OUTCOME is {outcomes}.")
    for caution in dict.fromkeys((*(check or {}).get("cautions", ()), *answer["cautions"])):
        say(f"Take care: {caution}")
