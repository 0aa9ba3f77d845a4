"""The bench as a web application: one page, its forms, and a JSON twin of each answer."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from http import HTTPStatus
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

import inkhorn
from inkhorn.daybook.names import said
from inkhorn.errors import InkhornError
from inkhorn.web import acts, api, asked, forms, saying, views
from inkhorn.web.frame import frame
from inkhorn.web.guard import LIMIT, Guard
from inkhorn.web.network import Open
from inkhorn.web.packing import Packed
from inkhorn.web.pages import daybook, exemplar, materials, morning, pair, recipe, trials, wrong
from inkhorn.web.pairing import Door
from inkhorn.web.room import Room

if TYPE_CHECKING:
    from inkhorn.workshop import Workshop


def create_app(
    path: Path,
    *,
    opener: Callable[[], Workshop] | None = None,
    limit: int = LIMIT,
    network: Open | None = None,
    door: Door | None = None,
) -> Starlette:
    """Return the bench of one workshop as an ASGI application.

    Parameters
    ----------
    path : Path
        The workshop's folder.
    opener : callable, optional
        Opens the workshop; called once for each piece of work, from any thread.
    limit : int
        Largest body of a request, in bytes.
    network : Open, optional
        Where other devices find it; left out, it answers this machine alone.
    door : Door, optional
        Who was let in from there.
    """
    if network is not None and door is None:
        door = Door(path)

    def open_here() -> Workshop:
        return inkhorn.Workshop.open(path)

    room = Room(name=path.resolve().name, open=opener or open_here)

    @asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        yield
        room.close()

    app = Starlette(
        routes=[
            Route("/", views.bench),
            Route("/boxes", views.ready),
            Route("/record", views.record, methods=["POST"]),
            Route("/say", saying.say, methods=["POST"]),
            Route("/evening", saying.evening),
            Route("/evening", saying.told, methods=["POST"]),
            Route("/undo", views.undo, methods=["POST"]),
            Route("/photo", views.photo, methods=["POST"]),
            Route("/exemplar", views.exemplar, methods=["POST"]),
            Route("/picture/{token}", views.picture),
            Route("/thumb/{digest}", acts.thumb),
            Route("/shot/{digest}", acts.shot),
            Route("/card.pdf", acts.card),
            Route("/again", acts.repeat, methods=["POST"]),
            Route("/did", acts.did, methods=["POST"]),
            Route("/light", acts.light, methods=["POST"]),
            Route("/daybook", daybook.daybook),
            Route("/entry/{number:int}", daybook.entry),
            Route("/entry/{number:int}/mend", acts.mend, methods=["POST"]),
            Route("/trials", trials.trials),
            Route("/trial/{name}", trials.trial),
            Route("/pages", exemplar.pages),
            Route("/page/{name}", exemplar.page),
            Route("/materials", materials.materials),
            Route("/recipe/{name}", recipe.recipe),
            Route("/wrong", wrong.wrong),
            Route("/morning", morning.morning),
            Route("/api/openapi.json", api.described),
            Route("/api/estimate", api.estimate),
            Route("/api/counsel", api.counsel),
            Route("/api/compare", api.compare),
            Route("/api/daybook", api.daybook),
            Route("/api/status", api.status),
            Route("/api/record", api.record, methods=["POST"]),
            Route("/pair", pair.pair),
            Route("/pair", pair.enter, methods=["POST"]),
            Route("/network", pair.network),
            Route("/network/forget", pair.forget, methods=["POST"]),
            Route("/manifest.webmanifest", pair.manifest),
            Route("/worker.js", pair.worker),
            Route("/api/say", api.said, methods=["POST"]),
            Mount("/static", StaticFiles(packages=[("inkhorn.web", "static")])),
        ],
        middleware=[
            Middleware(
                Guard,
                limit=limit,
                names=frozenset(network.names) if network else frozenset(),
                door=door if network else None,
            ),
            Middleware(Packed),
        ],
        exception_handlers={HTTPException: _refused, InkhornError: _fault, 500: _broken},
        lifespan=lifespan,
    )
    app.state.room = room
    app.state.network = network
    app.state.door = door
    app.state.templates = environment()
    return app


def environment() -> Environment:
    """Return the templates; a name that a view forgot is an error, not a blank."""
    out = Environment(
        loader=PackageLoader("inkhorn.web", "templates"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    out.filters["said"] = said
    out.filters["upfirst"] = lambda text: text[:1].upper() + text[1:]
    out.filters["helped"] = asked.helped
    out.globals["by_form"] = forms.by_form
    out.globals["offered"] = asked.offered
    out.globals["explained"] = asked.explained
    out.filters["lowfirst"] = lambda text: text[:1].lower() + text[1:]
    return out


def _wants_json(request: Request) -> bool:
    return request.url.path.startswith("/api/")


def _say(request: Request, status: int, sentence: str, more: dict[str, Any]) -> Response:
    if _wants_json(request):
        return api.answer(more, status)
    html = request.app.state.templates.get_template("refused.html").render(
        {**frame(request, "", after=0), "sentence": sentence}
    )
    return HTMLResponse(html, status)


async def _refused(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    said_ = error.detail if isinstance(error, HTTPException) else "This did not work"
    if said_ == HTTPStatus(status).phrase:
        said_ = {404: "There is no such page here", 405: "This cannot be done here"}.get(status, said_)
    what = said_
    what = what.rstrip(".")
    return _say(
        request, status, f"{what}.", {"error": "Refused", "what": what, "where": request.url.path, "mend": ""}
    )


async def _fault(request: Request, error: Exception) -> Response:
    if not isinstance(error, InkhornError):
        raise error
    return _say(request, 422, error.sentence(), error.to_dict())


async def _broken(request: Request, _error: Exception) -> Response:
    what = "This did not work, and the fault is inkhorn's own"
    mend = "Nothing you wrote before is lost. The terminal that serves this page says more"
    more = {"error": "Broken", "what": what, "where": request.url.path, "mend": mend}
    return _say(request, 500, f"{what}. {mend}.", more)
