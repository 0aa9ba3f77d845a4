"""The commands that answer from the estimate: counsel, compare; and photo."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Any

import click

import inkhorn
from inkhorn.cli import many
from inkhorn.cli.output import FAULT, Command, json_flag, say, say_json, working
from inkhorn.daybook.measures import measures
from inkhorn.errors import CounselError, PictureError
from inkhorn.quantities import read_quantity
from inkhorn.report import photo_told, photos, shared_out, words


def only(things: Any, given: str | None, what: str, option: str) -> str:
    """Return the name given, or the only thing of that kind there is."""
    if given:
        return given
    names = list(things)
    if len(names) == 1:
        return str(names[0])
    if not names:
        raise CounselError(f"there is no {what} yet", mend=f"Record the {what} first")
    mend = f"Name one of {words.joined(names)}, for example: {_example(option, str(names[-1]))}"
    raise CounselError(f"there is more than one {what}", where=option, mend=mend)


def _example(option: str, name: str) -> str:
    """Return the command that was given, with an option more."""
    context = click.get_current_context()
    directory = str(context.params.get("directory", "DIR"))
    return " ".join(shlex.quote(word) for word in (*context.command_path.split(), directory, option, name))


@click.command(cls=Command)
@click.argument("directory", metavar="DIR")
@click.option("--vessel", help="The pot you ask about; may be left out where there is only one.")
@click.option("--exemplar", help="The page to be matched; may be left out where there is only one.")
@click.option(
    "--as",
    "as_",
    type=click.Choice(["now", "new"]),
    default="now",
    show_default=True,
    help="Match the page as it looks now, or as it was when new.",
)
@click.option("--keep", metavar="AMOUNT", help="How much ink must be left to write with: 300 ml.")
@click.option("--reasons", is_flag=True, help="Say what it rests on, and what would change it.")
@json_flag
def counsel(
    directory: str,
    vessel: str | None,
    exemplar: str | None,
    as_: str,
    keep: str | None,
    reasons: bool,
    as_json: bool,
) -> None:
    """Say what to add or boil off next, and which one check is worth doing first."""
    ml = 0.0
    if keep:
        ml = read_quantity(keep, expect=("volume",), measures=measures(), where="--keep").value
    with inkhorn.Workshop.open(directory) as workshop:
        things = workshop.inventory()
        pot = only(things.vessels, vessel, "vessel", "--vessel")
        page = only(things.exemplars, exemplar, "exemplar", "--exemplar")
        with working("Weighing what can be done", quiet=as_json) as progress:
            answer = workshop.counsel(pot, page, as_=as_, keep=ml, progress=progress).to_dict()
    if as_json:
        say_json(answer)
    else:
        say_counsel(answer, fully=reasons)


def say_counsel(answer: dict[str, Any], *, fully: bool = False) -> None:
    """Print counsel: each course with its cautions beneath it, then the first check; ``fully`` with its reasons."""
    if not answer["courses"]:
        say(answer.get("note") or "Nothing on the bench would bring it nearer. Leave it as it is.")
    warned: set[str] = set()
    for n, course in enumerate(answer["courses"], 1):
        say(f"{n}. {course['sentence']}" if len(answer["courses"]) > 1 else course["sentence"])
        say(f"   {course['why']}")
        for caution in course.get("cautions", ()):
            if caution not in warned:
                say(f"   Take care: {caution}")
        warned.update(course.get("cautions", ()))
    if answer["courses"] and answer.get("note"):
        say(answer["note"])
    first, *more = answer.get("check_first") or (None,)
    if first:
        say(f"First: {first['sentence']}")
        if first.get("turns"):
            say(f"   {first['turns']}")
    for check in more:
        if not check["gain"]:
            say(f"For the iron: {check['sentence'][0].lower()}{check['sentence'][1:]}")
    if answer.get("series"):
        say(f"Or split the pot: {answer['series']['sentence']}")
    reachable = answer.get("reachable")
    if reachable is not None:
        say(f"Chance that this page can be reached with what is on the bench: {words.chance(reachable)}.")
    if fully:
        say("What this rests on:")
        for line in (*answer["believes"], *answer["because"], answer["would_change"]):
            say(f"   {line}")


@click.command(cls=Command)
@click.argument("directory", metavar="DIR")
@click.option("--trial", help="The trial; the latest if left out.")
@click.option("--exemplar", help="The page; may be left out where there is only one.")
@click.option("--pen", help="What the page was written with, where you know: quill, reed.")
@json_flag
def compare(directory: str, trial: str | None, exemplar: str | None, pen: str | None, as_json: bool) -> None:
    """Share out the visible difference between your line and the page."""
    with inkhorn.Workshop.open(directory) as workshop:
        things = workshop.inventory()
        page = only(things.exemplars, exemplar, "exemplar", "--exemplar")
        mark = trial or next(reversed(list(things.trials)), None)
        if mark is None:
            raise CounselError("no trial is recorded yet", mend="Make a mark with the ink and record it")
        with working("Comparing", quiet=as_json):
            answer = workshop.compare(mark, page, pen=pen).to_dict()
    if as_json:
        say_json(answer)
    else:
        say_comparison(answer, bars=True)


def say_comparison(answer: dict[str, Any], *, bars: bool = False) -> None:
    """Print the sentence of a comparison, perhaps its shares as bars, and where its picture is."""
    say(answer["sentence"])
    if bars:
        say("\n".join(f"  {line}" for line in shared_out.bars(answer)))
        if told := shared_out.note(answer):
            say(f"  {told}")
    for notice in answer.get("notices", ()):
        say(notice)
    if answer.get("picture"):
        say(f"Picture: {answer['picture']}")


@click.command(cls=Command)
@click.argument("pictures", metavar="PICTURE...", nargs=-1, required=True)
@click.option(
    "--overlay",
    "out",
    metavar="FILE",
    help="Save a picture that shows what was measured; of several pictures, a folder for them.",
)
@click.option("--bar", metavar="LENGTH", help='Length of the card\'s bar as you measured it: "98.4 mm".')
@click.option(
    "--chart", metavar="FILE", help="Measured colours of the card, or of a chart; CGATS text or CSV."
)
@click.option(
    "--chart-corners",
    "corners",
    metavar="X,Y X,Y X,Y X,Y",
    help="Middles of the chart's corner patches, px.",
)
@click.option(
    "--chart-picture", "chart_picture", metavar="PICTURE", help="The chart by itself, under the same light."
)
@click.option(
    "--infrared", metavar="PICTURE", help="The same strokes in the infrared: says what kind of ink they are."
)
@click.option(
    "--band", type=float, default=940, show_default=True, help="Centre of the infrared picture's band, nm."
)
@json_flag
def photo(
    pictures: tuple[str, ...],
    out: str | None,
    bar: str | None,
    chart: str | None,
    corners: str | None,
    chart_picture: str | None,
    infrared: str | None,
    band: float,
    as_json: bool,
) -> None:
    """Measure the strokes in a photograph, with the card if it lies in it; or in many, or in folders of them."""
    if len(pictures) > 1 or Path(pictures[0]).is_dir():
        if infrared:
            raise PictureError(
                "an infrared picture goes with one photograph",
                where="--infrared",
                mend="Give them pair by pair",
            )
        told = photo_told.told(bar=bar, chart=chart, corners=corners, chart_picture=chart_picture)
        _photos(pictures, out, told, as_json=as_json)
        return
    picture = pictures[0]
    with working("Looking", quiet=as_json):
        told = photo_told.told(bar=bar, chart=chart, corners=corners, chart_picture=chart_picture)
        if infrared:
            both = inkhorn.Workshop.infrared(picture, infrared, band_nm=band, told=told)
            reading, answer = both.reading, both.to_dict()
        else:
            reading = inkhorn.Workshop.photo(picture, told=told)
            answer = reading.to_dict()
        if out:
            inkhorn.Workshop.overlay(picture, reading, out)
    if as_json:
        say_json(answer)
        return
    say("\n".join(photos.sentences(answer)))
    if out:
        say(f"What was measured is drawn in {out}.")


def _photos(given: tuple[str, ...], out: str | None, told: Any, *, as_json: bool) -> None:
    """Read many pictures and say each; exit as at fault only if none could be read."""
    paths = many.pictures_in(given)
    folder = Path(out) if out else None
    if folder is not None:
        folder.mkdir(parents=True, exist_ok=True)
    with working(f"Looking at {len(paths)} pictures", quiet=as_json) as report:
        answers = many.read_many(paths, told=told, overlays=folder, report=report)
    failed = [answer for answer in answers if "error" in answer]
    if as_json:
        say_json({"pictures": answers})
    else:
        for answer in answers:
            _say_one(answer)
        say(f"{len(paths) - len(failed)} of {len(paths)} pictures were read.")
    if len(failed) == len(paths):
        click.get_current_context().exit(FAULT)


def _say_one(answer: dict[str, Any]) -> None:
    say(answer["picture"])
    if "error" in answer:
        mend = f" {answer['mend']}." if answer["mend"] else ""
        say(f"  Not read: {answer['what']}.{mend}")
        return
    say("\n".join(f"  {sentence}" for sentence in photos.sentences(answer["reading"])))
    if "overlay" in answer:
        say(f"  What was measured is drawn in {answer['overlay']}.")
