"""The recipe: how to make an ink again from other lots, worked out beside the page."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from inkhorn.counsel.again.result import OPENING, told_once
from inkhorn.handbook.cautions import caution
from inkhorn.web.frame import render, room_of
from inkhorn.web.pages.photographed import named


def recipe(request: Request) -> Response:
    """Show how to make the ink of a vessel again."""
    room, name = room_of(request), request.path_params["name"]
    now = room.now()
    thing, _ = named(now, "vessel", name)
    found = room.recipe(now.after, name)
    told = told_once([step["cautions"] for step in found.value["steps"]]) if found.value else []
    names = {
        "vessel": thing,
        "recipe": found,
        "steps": list(zip(found.value["steps"], told, strict=True)) if found.value else [],
        "expected": _expected(str(found.value["why"])) if found.value else ("", ""),
        "opening": OPENING,
        "working": found.working,
        "closing": caution("closing"),
    }
    return render(request, "recipe.html", "", names)


def _expected(why: str) -> tuple[str, str]:
    """Return the first sentence of what is to be expected, and the rest."""
    first, stop, rest = why.partition(". ")
    return f"{first}{stop.strip()}", rest
