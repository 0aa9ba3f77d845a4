"""The trials: every one at a glance, and one with its photographs, measures, curve and comparison."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from inkhorn.daybook import entries as e
from inkhorn.daybook.book import Recorded
from inkhorn.daybook.inventory import Thing
from inkhorn.daybook.names import said
from inkhorn.report import lines
from inkhorn.web import curve
from inkhorn.web.frame import render, room_of
from inkhorn.web.pages.photographed import looked, named, shots_of
from inkhorn.web.room import Question
from inkhorn.web.standing import Standing
from inkhorn.web.view import shares_bar


def made_of(thing: Thing) -> str:
    """Return how a trial was made, in a line."""
    parts = [f"ink from the {said(thing.vessel)}"] if thing.vessel else []
    parts += [f"on {said(thing.support)}"] if thing.support else []
    parts += [f"with {said(thing.pen)}"] if thing.pen else [thing.method] if thing.method else []
    return ", ".join(parts)


def trials(request: Request) -> Response:
    """Show every trial, the newest first."""
    now = room_of(request).now()
    found = []
    for name, thing in reversed(list(now.things.trials.items())):
        taken = shots_of(now.of("trial", name))
        found.append(
            {
                "name": name,
                "how": made_of(thing),
                "when": lines.when({"at": thing.at.isoformat(timespec="minutes")}),
                "small": taken[0].small if taken else "",
                "words": _words(now, name),
            }
        )
    return render(request, "trials.html", "trials", {"trials": found, "bench": now.bench})


def _words(now: Standing, name: str) -> str:
    """Return what was last said of a trial in words."""
    for line in reversed(now.of("trial", name)):
        if isinstance(line.entry, e.Reading) and isinstance(line.entry.value, str):
            if line.entry.what == "photo":
                continue
            return f"{said(line.entry.what.replace('_', ' '))}: {line.entry.value}"
    return ""


def trial(request: Request) -> Response:
    """Show one trial."""
    room, name = room_of(request), request.path_params["name"]
    now = room.now()
    thing, found = named(now, "trial", name)
    mark = next((line for line in found if isinstance(line.entry, e.Mark)), None)
    taken = shots_of(found, mark.entry.at if mark is not None else None)
    pages = now.bench.exemplars
    page = request.query_params.get("beside", "")
    page = page if page in pages else (pages[-1] if pages else "")
    measured = bool(taken) or any(
        isinstance(line.entry, e.Reading) and line.entry.what == "optical_density" for line in found
    )
    dark = room.darkening(now.after, name) if measured else None
    later = room.later(now.after, name) if mark is not None else None
    beside = (
        room.comparison(now.after, Question(vessel=None, exemplar=page, trial=name))
        if page and measured
        else None
    )
    look = looked(room, now, taken)
    answers = (dark, later, beside, look)
    return render(
        request,
        "trial.html",
        "trials",
        {
            "trial": thing,
            "how": made_of(thing),
            "when": lines.when({"at": thing.at.isoformat(timespec="minutes")}),
            "shots": taken,
            "look": look,
            "dark": dark,
            "later": later,
            "curve": curve.curve(dark.value) if dark and dark.value else None,
            "comparison": beside,
            "bar": shares_bar(beside.value.get("shares", {})) if beside and beside.value else None,
            "page": page,
            "pages": pages,
            "noticed": [_noticed(line) for line in reversed(found) if line.kind == "reading"],
            "mark": mark,
            "working": any(one is not None and one.working for one in answers),
        },
    )


def _noticed(line: Recorded) -> dict[str, Any]:
    return {"number": line.number, "text": lines.sentence(line.raw), "when": lines.when(line.raw)}
