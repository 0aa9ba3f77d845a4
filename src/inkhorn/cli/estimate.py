"""The command ``estimate``: what is in every vessel, what taught it, how a stroke will look, which way is likelier."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click
from rich.table import Table

import inkhorn
from inkhorn.cli.output import Command, console, json_flag, say, say_json, working
from inkhorn.errors import EstimateError
from inkhorn.report import darkening, darkening_chart, knowing, later, learnt_figure, lines, odds, vessels


@click.command(cls=Command)
@click.argument("directory", metavar="DIR")
@click.option("--seed", type=int, default=0, show_default=True, help="The same seed gives the same answer.")
@click.option("--figure", metavar="FILE", help="Also draw what was learnt, before and after, as SVG.")
@click.option("--closely", is_flag=True, help="Tell what each reading taught, however strong; takes longer.")
@click.option("--vessel", help="Say instead how a stroke of this vessel's ink, made now, will look.")
@click.option("--trial", help="Say instead how this trial will look, and whether it has finished darkening.")
@click.option(
    "--in", "after", metavar="TIME", help='How long after the stroke is made: "1 h", "2 days", dry.'
)
@click.option("--at", metavar="WHEN", help="With --trial: what counts as now; the last entry if left out.")
@click.option(
    "--over-time",
    is_flag=True,
    help="With --trial: say how it has darkened, reading by reading; --figure draws it.",
)
@click.option("--against", metavar="DIR", help="Weigh this way of making against that of another workshop.")
@click.option("--exemplar", help="With --against: the page that both ways must explain.")
@click.option(
    "--runs", type=click.IntRange(2, 50), help="With --against: how often each way is sampled; 3 if left out."
)
@json_flag
def estimate(directory: str, as_json: bool, **asked: Any) -> None:
    """Say what is in every vessel, how sure that is, and what taught it."""
    kind = _kind(asked)
    with inkhorn.Workshop.open(directory) as workshop, working("Estimating", quiet=as_json) as progress:
        if asked["over_time"]:
            answer, told = _darkening(workshop, asked, progress)
        elif kind == "against":
            answer, told = _odds(workshop, directory, asked)
        elif kind:
            answer, told = _later(workshop, f"{kind}:{asked[kind]}", asked)
        else:
            how = {"closely": True} if asked["closely"] else {}
            answer = workshop.estimate(seed=asked["seed"], progress=progress, **how).to_dict()
            entries = [lines.told(line) for line in workshop.daybook]
            told = []
    if not kind and asked["figure"]:
        by_number = {int(line["number"]): line for line in entries}
        Path(asked["figure"]).write_text(learnt_figure.draw(answer, by_number), "utf-8")
    if as_json:
        say_json(answer)
        return
    for sentence in told:
        say(sentence)
    if not kind:
        say_estimate(answer, entries)
        if asked["figure"]:
            say(f"What was learnt is drawn in {asked['figure']}.")


def _kind(asked: dict[str, Any]) -> str:
    """Return which of the other questions is asked, "" for the estimate itself; raise where two are, or a part of none."""
    kinds = [name for name in ("vessel", "trial", "against") if asked[name]]
    vessel_too = kinds == ["vessel", "against"]
    if len(kinds) > 1 and not vessel_too:
        raise EstimateError(
            f"--{kinds[0]} and --{kinds[1]} are two questions", mend="Ask one after the other"
        )
    kind = "against" if vessel_too else "".join(kinds)
    fits = {
        "after": ("in", ("vessel", "trial")),
        "at": ("at", ("trial",)),
        "over_time": ("over-time", ("trial",)),
        "exemplar": ("exemplar", ("against",)),
        "runs": ("runs", ("against",)),
        "figure": ("figure", ("trial",) if asked["over_time"] else ("",)),
        "closely": ("closely", ("",)),
    }
    if asked["over_time"] and (asked["after"] or asked["at"]):
        raise EstimateError(
            "--over-time tells every time there is a reading of", mend="Leave --in and --at out"
        )
    for name, (option, kinds_of) in fits.items():
        if asked[name] and kind not in kinds_of:
            needs = " or ".join(f"--{k}" for k in kinds_of if k)
            raise EstimateError(
                f"--{option} does not go with this question",
                mend=f"It belongs to {needs}"
                if needs
                else "It is of the estimate itself: ask for that alone",
            )
    return kind


def _later(workshop: Any, thing: str, asked: dict[str, Any]) -> tuple[dict[str, Any], list[str]]:
    at = later.moment(asked["at"]) if asked["at"] else None
    answer = workshop.predict(thing, asked["after"], at=at, seed=asked["seed"]).to_dict()
    return answer, later.sentences(answer)


def _darkening(workshop: Any, asked: dict[str, Any], progress: Any) -> tuple[dict[str, Any], list[str]]:
    found = workshop.darkening(asked["trial"], seed=asked["seed"], progress=progress)
    told = [found.sentence]
    for point in found.points:
        how = "same strokes" if point.followed else ""
        line = (
            f"  {darkening.span(point.seconds):>12}  {point.density.mean():.2f}  entry {point.entry}  {how}"
        )
        told.append(line.rstrip())
    told += found.notices
    if asked["figure"]:
        Path(asked["figure"]).write_text(darkening_chart.chart(found), "utf-8")
        told.append(f"The curve is drawn in {asked['figure']}.")
    return found.to_dict(), told


def _odds(workshop: Any, directory: str, asked: dict[str, Any]) -> tuple[dict[str, Any], list[str]]:
    with inkhorn.Workshop.open(asked["against"]) as other:
        how = {
            name: asked[name] for name in ("exemplar", "vessel", "seed", "runs") if asked[name] is not None
        }
        found = workshop.odds(other, **how)
    answer = {"first": str(directory), "second": str(asked["against"]), **found.to_dict()}
    return answer, odds.sentences(answer, str(directory), str(asked["against"]))


def say_estimate(answer: dict[str, Any], entries: list[dict[str, Any]]) -> None:
    """Print an estimate: each vessel, what does not fit, what taught most, what is least known, the shelf."""
    if not answer["vessels"]:
        say("No vessel holds anything yet.")
    for name, vessel in answer["vessels"].items():
        _vessel(name, vessel, answer["ess"])
    withheld = {f"{name}: {v['withheld']}." for name, v in answer["vessels"].items() if "withheld" in v}
    for flag in answer["flags"]:
        if flag["text"] in withheld:
            continue
        say(f"Entry {flag['entry']}: {flag['text']}" if flag["entry"] else flag["text"])
    for head, sentences in knowing.story(answer, entries):
        say(head)
        for sentence in sentences:
            say(f"  {sentence}")
        say()
    if answer["vessels"]:
        say(knowing.draws(answer))


def _vessel(name: str, vessel: dict[str, Any], ess: float) -> None:
    say(vessels.paragraph(name, vessel, ess))
    if not vessels.rows(vessel, ess):
        return
    table = Table(box=None, header_style="", padding=(0, 2, 0, 0))
    table.add_column("", no_wrap=True)
    table.add_column("about", no_wrap=True)
    table.add_column("surely between", no_wrap=True)
    for row in vessels.rows(vessel, ess):
        table.add_row(f"  {row[0]}", row[1], row[2])
    console().print(table)
    say()
