"""The command that makes the card which lies in the photograph."""

from __future__ import annotations

from pathlib import Path

import click

import inkhorn
from inkhorn.cli.output import Command, say
from inkhorn.errors import PictureError
from inkhorn.imaging.card.layout import card as layout
from inkhorn.report.card import PAPERS, form, pdf
from inkhorn.report.photo_told import card_readings


@click.command(cls=Command)
@click.option("--size", type=click.Choice(["a6", "a5"]), default="a6", show_default=True, help="Of the card.")
@click.option(
    "--paper",
    type=click.Choice([*PAPERS]),
    default="a4",
    show_default=True,
    help="Of the sheet it is printed on.",
)
@click.option("--out", type=click.Path(dir_okay=False), default="card.pdf", show_default=True, metavar="FILE")
@click.option(
    "--values",
    type=click.Path(dir_okay=False),
    metavar="FILE",
    help="Also write a form (CSV) for measured values of its steps.",
)
@click.option(
    "--black-only", is_flag=True, help="For a printer with black only, or one whose greys are poor."
)
@click.option(
    "--into",
    type=click.Path(file_okay=False),
    metavar="DIR",
    help="Make none, but keep in this workshop what you measured of the one you use: --bar, --chart.",
)
@click.option("--bar", metavar="LENGTH", help='Length of its bar as you measured it: "98.4 mm".')
@click.option("--chart", metavar="FILE", help="Measured colours of its paper and steps; CGATS text or CSV.")
def card(
    size: str,
    paper: str,
    out: str,
    values: str | None,
    black_only: bool,
    into: str | None,
    bar: str | None,
    chart: str | None,
) -> None:
    """Make the card that lies beside the strip in a photograph, as a PDF to print; or keep what you measured of it."""
    if into is not None:
        with inkhorn.Workshop.open(into) as workshop:
            for entry in card_readings(size, bar=bar, chart=chart):
                say(workshop.receive(entry).sentence)
        say("It is used for every picture recorded in this workshop that shows the card.")
        return
    if bar is not None or chart is not None:
        raise PictureError(
            "what was measured of a card is kept in a workshop",
            where="--bar, --chart",
            mend="Name it: --into DIR",
        )
    kind = layout(size, black_only=black_only)
    Path(out).write_bytes(pdf(kind, paper=paper))
    if values:
        Path(values).write_text(form(kind), encoding="utf-8")
    say(
        f"{out} is made. Print it at actual size on plain matt paper, then measure its bar with a good ruler: it "
        'should be 100 mm. If it is not, say so with each photograph: --bar "98.4 mm"; or once, with --into and your workshop.'
    )
