"""``inkhorn handbook``: look a row up, or go through all of them."""

from __future__ import annotations

import click

from inkhorn.cli.output import Command, json_flag, say, say_json
from inkhorn.handbook.check import Report, check
from inkhorn.handbook.load import row, rows
from inkhorn.handbook.rows import Row


@click.command(cls=Command)
@click.argument("name", required=False)
@click.option(
    "--check", "checking", is_flag=True, help="Go through every row; exit 1 where one is not whole."
)
@json_flag
@click.pass_context
def handbook(ctx: click.Context, name: str | None, checking: bool, as_json: bool) -> None:
    """Show one row of the handbook by NAME, all of them, or check them.

    A NAME that is the beginning of several rows shows them all.
    """
    if checking:
        report = check()
        if as_json:
            say_json(report.to_dict())
        else:
            _say_report(report)
        ctx.exit(0 if report.passed else 1)
    found = [r for r in rows().values() if name is None or r.name == name or r.name.startswith(f"{name}.")]
    found = found or [row(name or "")]
    if as_json:
        say_json([_row(r) for r in found])
        return
    for r in found:
        source = f" ({r.source})" if r.source else ""
        unit = "" if r.unit == "1" else f" {r.unit}"
        say(
            f"{r.name}: {r.what}. {r.value:g}{unit}, give or take {r.spread:g}. {r.mark.capitalize()}{source}."
        )


def _row(r: Row) -> dict[str, object]:
    return {
        "name": r.name,
        "what": r.what,
        "value": r.value,
        "unit": r.unit,
        "spread": r.spread,
        "shape": r.shape,
        "mark": r.mark,
        "source": r.source,
    }


def _say_report(report: Report) -> None:
    counts = ", ".join(f"{count} {mark}" for mark, count in report.marks.items() if count)
    say(f"{report.rows} rows ({counts}), {report.grids} grids, {report.sources} references.")
    for fault in report.faults:
        say(f"To mend: {fault.where}: {fault.what}.")
    if report.unused:
        say(f"References that nothing cites: {', '.join(report.unused)}.")
    if report.memory:
        say(f"Given from memory, and waiting for a source ({len(report.memory)}):")
        for name in report.memory:
            say(f"  {name}")
    say(
        "Every row has unit, spread, mark and a known source."
        if report.passed
        else "The handbook is not whole."
    )
