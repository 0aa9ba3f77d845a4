"""The recipe: how to make an ink again from other lots, worked out beside the page."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from inkhorn.handbook.cautions import caution
from inkhorn.web.frame import render, room_of
from inkhorn.web.pages.photographed import named


def recipe(request: Request) -> Response:
    """Show how to make the ink of a vessel again."""
    room, name = room_of(request), request.path_params["name"]
    now = room.now()
    thing, _ = named(now, "vessel", name)
    found = room.recipe(now.after, name)
    names = {"vessel": thing, "recipe": found, "working": found.working, "closing": caution("closing")}
    return render(request, "recipe.html", "", names)
