"""The command ``inkhorn``: one word a command, plain answers, ``--json`` for programs."""

from __future__ import annotations

import sys

import click

from inkhorn import __version__
from inkhorn.cli.ask import compare, counsel, estimate, photo
from inkhorn.cli.handbook import handbook
from inkhorn.cli.make import exemplar, new
from inkhorn.cli.record import daybook, record
from inkhorn.cli.serve import bench, demo


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="inkhorn")
def cli() -> None:
    """Match the ink of a surviving page from materials of unknown strength.

    Begin with `inkhorn demo`, or with `inkhorn new DIR`.
    """


for _command in (new, record, daybook, estimate, photo, exemplar, compare, counsel, bench, demo, handbook):
    cli.add_command(_command)


def main() -> None:
    """Run the command line; the entry point of the installed script."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show a character gets a stand-in, not a crash.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    cli()
