"""How a command answers: plain words or JSON on stdout, faults and progress on stderr."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from inkhorn.errors import InkhornError, StoreError

FAULT = 2
"""Exit code of a command that could not do what was asked."""

BROKEN = 1
"""Exit code where inkhorn itself is at fault."""

TRACE = "INKHORN_TRACE"
"""Environment variable that lets a fault of inkhorn's own through with its traceback."""

Report = Callable[[float], None]


class Command(click.Command):
    """A command whose user's mistakes become one sentence (or one JSON object), never a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; turn inkhorn's own errors and the system's into an answer."""
        try:
            return super().invoke(ctx)
        except InkhornError as error:
            fault(error, as_json=bool(ctx.params.get("as_json")))
        except BrokenPipeError:
            raise
        except OSError as error:
            where = str(error.filename or "")
            what = (error.strerror or str(error)).rstrip(".")
            fault(StoreError(what, where=where), as_json=bool(ctx.params.get("as_json")))
        except (click.exceptions.Exit, click.ClickException, click.Abort):
            raise
        except Exception as error:
            if os.environ.get(TRACE):
                raise
            what = f"this did not work, and the fault is inkhorn's own ({type(error).__name__}: {error})"
            own = InkhornError(what, mend=f"Set {TRACE}=1 and run it again to see where, and report it")
            fault(own, as_json=bool(ctx.params.get("as_json")))
            return ctx.exit(BROKEN)
        return ctx.exit(FAULT)


json_flag = click.option("--json", "as_json", is_flag=True, help="Answer in JSON, for another program.")


def fault(error: InkhornError, *, as_json: bool, **more: Any) -> None:
    """Print an error: its parts on stdout as JSON, or its sentence on stderr."""
    if as_json:
        say_json(error.to_dict() | more)
    else:
        click.echo(error.sentence(), err=True)


def say_json(answer: Any) -> None:
    """Print one JSON answer."""
    click.echo(json.dumps(answer, indent=2, ensure_ascii=False, allow_nan=False))


def console() -> Console:
    """Return a console on stdout that wraps sentences at words and colours nothing."""
    return Console(highlight=False, markup=False, emoji=False)


def say(text: str = "") -> None:
    """Print a paragraph, wrapped to the terminal; whole when the output is a file or a pipe."""
    out = console()
    out.print(text, soft_wrap=not out.is_terminal)


@contextmanager
def working(what: str, *, quiet: bool = False) -> Iterator[Report]:
    """Show on stderr how far long work has come; silent where nobody watches.

    Yields
    ------
    callable
        ``report(fraction)``, to be handed to whatever does the work.
    """
    err = Console(stderr=True, highlight=False, markup=False, emoji=False)
    columns = (SpinnerColumn("line"), TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=err, transient=True, disable=quiet or not err.is_terminal) as bar:
        task = bar.add_task(what, total=1)

        def report(fraction: float) -> None:
            bar.update(task, completed=min(max(fraction, 0), 1))

        yield report
