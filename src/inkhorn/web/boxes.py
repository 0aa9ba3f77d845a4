"""Every form at once, by its address: what a page keeps at hand for when the bench does not answer."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from urllib.parse import urlencode

from inkhorn.web import again, forms, soaking, view
from inkhorn.web.fields import Bench
from inkhorn.web.room import Room
from inkhorn.web.view import Said


def all_boxes(room: Room) -> list[tuple[str, dict[str, Any]]]:
    """Return (query, the names its template needs) for each form."""
    now = room.now()
    common = {
        "bench": now.bench,
        "others": soaking.others(),
        "again": again.tiles(now.standing, now.bench),
        "undoable": 0,
        "together": (),
        "together_are": "",
        "unplaced": [],
        "look": None,
        "closing": "",
        "next": None,
    }
    out = []
    for query in _queries(now.bench):
        said = Said(do=query.get("do", ""), data=query)
        out.append((urlencode(query), common | {"said": said, "box": view.box(now.bench, said)}))
    return out


def _queries(bench: Bench) -> Iterator[dict[str, str]]:
    yield {}
    for do in (*forms.FORMS, *dict(soaking.others()), "photo", "exemplar", "more", "reading"):
        yield {"do": do}
    at_hand = [("vessel", name) for name in bench.vessels[-4:]]
    at_hand += [("trial", name) for name in bench.trials[-3:]]
    at_hand += [("support", name) for name in bench.supports[-1:]]
    for kind, name in at_hand:
        of = f"{kind}:{name}"
        yield {"do": "reading", "of": of}
        for what, _, _ in forms.NOTICED[kind]:
            yield {"do": "reading", "of": of, "what": what}
    for page in bench.exemplars[-2:]:
        yield {"do": "exemplar", "name": page}
    for trial in bench.trials[-3:]:
        yield {"do": "photo", "trial": trial}
