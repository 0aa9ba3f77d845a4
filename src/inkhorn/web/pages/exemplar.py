"""The page to be matched: its photographs, what was measured of it, and how near the trials came."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkhorn.daybook import entries as e
from inkhorn.report import lines
from inkhorn.web.frame import render, room_of
from inkhorn.web.pages.photographed import looked, named, shots_of
from inkhorn.web.room import Question, question_of


def pages(request: Request) -> Response:
    """Show the pages to be matched; where there is one, that one."""
    now = room_of(request).now()
    names = list(now.things.exemplars)
    if len(names) == 1:
        return RedirectResponse(f"/page/{names[0]}", 303)
    found = []
    for name in reversed(names):
        taken = shots_of(now.of("exemplar", name))
        found.append({"name": name, "small": taken[0].small if taken else "", "count": len(taken)})
    return render(request, "pages.html", "page", {"pages": found})


def page(request: Request) -> Response:
    """Show one page to be matched."""
    room, name = room_of(request), request.path_params["name"]
    now = room.now()
    thing, found = named(now, "exemplar", name)
    taken = shots_of(found)
    facts = [
        {"number": line.number, "text": lines.sentence(line.raw), "when": lines.when(line.raw)}
        for line in found
        if isinstance(line.entry, e.Reading) and line.entry.what != "photo"
    ]
    look = looked(room, now, taken)
    chosen = question_of(now.bench, {"exemplar": name})
    asked = [
        Question(vessel=chosen.vessel, exemplar=name, trial=chosen.trial, as_=as_) for as_ in ("now", "new")
    ]
    counsel = [(q.as_, room.known_counsel(q)) for q in asked]
    beside = [
        (trial, seen.value)
        for trial in reversed(now.bench.trials)
        if (seen := room.known_comparison(Question(vessel=None, exemplar=name, trial=trial))).value
    ]
    return render(
        request,
        "page.html",
        "page",
        {
            "page": thing,
            "pages": list(now.things.exemplars),
            "shots": taken,
            "facts": facts,
            "look": look,
            "counsel": [(as_, known.value) for as_, known in counsel if known.value],
            "beside": beside,
            "trials": now.bench.trials,
            "working": look is not None and look.working,
        },
    )
