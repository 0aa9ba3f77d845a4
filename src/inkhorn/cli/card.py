"""The command that makes the card which lies in the photograph."""

from __future__ import annotations

from pathlib import Path

import click

from inkhorn.cli.output import Command, say
from inkhorn.imaging.card.layout import card as layout
from inkhorn.report.card import PAPERS, form, pdf


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
def card(size: str, paper: str, out: str, values: str | None, black_only: bool) -> None:
    """Make the card that lies beside the strip in a photograph, as a PDF to print."""
    kind = layout(size, black_only=black_only)
    Path(out).write_bytes(pdf(kind, paper=paper))
    if values:
        Path(values).write_text(form(kind), encoding="utf-8")
    say(
        f"{out} is made. Print it at actual size on plain matt paper, then measure its bar with a good ruler: it "
        'should be 100 mm. If it is not, say so with each photograph: --bar "98.4 mm".'
    )
