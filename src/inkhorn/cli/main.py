"""The command ``inkhorn``: one word a command, plain answers, ``--json`` for programs."""

from __future__ import annotations

import gc
import importlib
import os
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

import click

from inkhorn import __version__

#: Where each command lives, in the order in which help lists them.
COMMANDS: Mapping[str, str] = MappingProxyType(
    {
        "new": "make",
        "record": "record",
        "daybook": "record",
        "estimate": "estimate",
        "photo": "ask",
        "card": "card",
        "exemplar": "make",
        "compare": "ask",
        "counsel": "ask",
        "again": "again",
        "today": "today",
        "why": "why",
        "bench": "serve",
        "demo": "demo",
        "handbook": "handbook",
    }
)


FIRST = "The first time on this machine, parts of inkhorn are made ready for its processor: some ten seconds more, once."


def made_ready(folder: Path | None = None) -> bool:
    """Return whether the compiled parts are already kept on disk beside the package.

    Where the package's folder cannot be written, the compiler keeps them in a
    place of its own choice: then nothing is said.
    """
    home = folder or Path(__file__).parents[1] / "chemistry"
    if os.environ.get("NUMBA_CACHE_DIR") or not os.access(home, os.W_OK):
        return True
    return any((home / "__pycache__").glob("*.nbi"))


class Group(click.Group):
    """The commands by name; a command's module is loaded when it is asked for.

    Serving a page and playing the invented roll need libraries that a question
    about a pot does not: an answer that is already known should come at once.
    """

    def list_commands(self, _ctx: click.Context) -> list[str]:
        """Return the names of all commands."""
        return [*COMMANDS]

    def get_command(self, _ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command by its name, or None."""
        return command_of(cmd_name) if cmd_name in COMMANDS else None

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Return the command that was asked for; before one that must wait once, say so.

        Not in `get_command`, which the list of all commands asks for each of them.
        """
        found = super().resolve_command(ctx, args)
        if waits(*found[::2]) and not ctx.resilient_parsing and not made_ready():
            click.echo(FIRST, err=True)
        return found


def waits(name: str | None, args: Sequence[str]) -> bool:
    """Return whether a command with these arguments has to wait for the compiled parts.

    Help, a row of the handbook and a card to print need none. A photograph needs two small ones, kept
    elsewhere: said before it, the wait would be told again with every picture.
    """
    if {"-h", "--help"} & {*args}:
        return False
    if name == "card":
        return any(arg.startswith("--into") for arg in args)
    return name not in ("handbook", "photo")


def command_of(name: str) -> click.Command:
    """Return the command of a name in `COMMANDS`."""
    found: click.Command = getattr(importlib.import_module(f"inkhorn.cli.{COMMANDS[name]}"), name)
    return found


@click.group(cls=Group, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="inkhorn")
def cli() -> None:
    """Match the ink of a surviving page from materials of unknown strength.

    Begin with `inkhorn demo`, or with `inkhorn new DIR`.
    """


def main() -> None:
    """Run the command line; the entry point of the installed script."""
    # Loading makes some hundred thousand objects that all stay: looking for garbage among them at every
    # seven hundredth costs a tenth of a short command's time.
    gc.set_threshold(100_000, 50, 50)
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show a character gets a stand-in, not a crash.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    cli()
