"""``inkhorn new`` and ``inkhorn exemplar``: a workshop, and the page it is to match."""

from __future__ import annotations

from typing import Any

import click

import inkhorn
from inkhorn.cli.output import Command, json_flag, say, say_json, working
from inkhorn.errors import EntryError

_CHANNELS = ("R", "G", "B")


@click.command(cls=Command)
@click.argument("directory", metavar="DIR")
@json_flag
def new(directory: str, as_json: bool) -> None:
    """Begin a workshop: a folder with an empty daybook and a place for pictures."""
    inkhorn.Workshop.create(directory).close()
    if as_json:
        say_json({"directory": directory})
    else:
        say(f"The workshop {directory} is ready and its daybook empty.")
        say(f"Say what you did with: inkhorn record {directory}")


def _three(value: str | None, option: str) -> list[float] | None:
    """Read ``0.8,0.9,0.7`` as three numbers."""
    if value is None:
        return None
    try:
        numbers = [float(part) for part in value.replace(";", ",").split(",")]
    except ValueError:
        numbers = []
    if len(numbers) != len(_CHANNELS):
        raise EntryError(
            f"{value!r} is not three numbers",
            where=option,
            mend="Write three numbers with commas, as 0.82,0.88,0.86",
        )
    return numbers


@click.command(cls=Command)
@click.argument("directory", metavar="DIR")
@click.argument("name")
@click.argument("pictures", nargs=-1)
@click.option("--density", metavar="R,G,B", help="Channel densities of the intact ink, if you have them.")
@click.option("--sd", type=float, help="How sure the densities are: one standard deviation.")
@click.option("--skin", metavar="L,A,B", help="CIE L*a*b* of the bare skin near the ink (D65).")
@json_flag
def exemplar(
    directory: str,
    name: str,
    pictures: tuple[str, ...],
    density: str | None,
    sd: float | None,
    skin: str | None,
    as_json: bool,
) -> None:
    """Name the page to be matched, with PICTURES of it or with densities measured elsewhere."""
    densities, lab = _three(density, "--density"), _three(skin, "--skin")
    if not pictures and densities is None and lab is None:
        raise EntryError(
            "nothing is said of it yet",
            where=f"exemplar {name}",
            mend="Give one picture or more, or --density R,G,B",
        )
    facts: dict[str, Any] = {}
    if pictures:
        facts["pictures"] = list(pictures)
    if densities is not None:
        facts["optical_density"] = dict(zip(_CHANNELS, densities, strict=True))
    if sd is not None:
        facts["sd"] = sd
    if lab is not None:
        facts["support_lab"] = dict(zip(("L", "a", "b"), lab, strict=True))
    with inkhorn.Workshop.open(directory) as workshop, working("Reading the page", quiet=as_json):
        numbers = workshop.add_exemplar(name, **facts)
    if as_json:
        say_json({"exemplar": name, "entries": list(numbers)})
    else:
        count = {0: "densities", 1: "one picture"}.get(len(pictures), f"{len(pictures)} pictures")
        say(f"{name} is a page to be matched, known from {count}.")
