"""What has photographs has a page alike: the thing by its name, its photographs, and what was read of the newest."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import attrs
from starlette.exceptions import HTTPException

from inkhorn.daybook import entries as e
from inkhorn.daybook.book import Recorded
from inkhorn.daybook.inventory import Thing
from inkhorn.daybook.names import said
from inkhorn.report import lines, words
from inkhorn.report.darkening import span
from inkhorn.web import shots
from inkhorn.web.desk import Answer
from inkhorn.web.room import Room
from inkhorn.web.standing import Standing

_CALLED = {"trial": "trial", "exemplar": "page", "vessel": "vessel"}
_NAMED = 8  # names told to who asked for one that is not there


@attrs.frozen(kw_only=True)
class Shot:
    """One photograph of a thing: where it is fetched, when it was taken, and what the page calls it."""

    number: int
    small: str
    large: str
    when: str
    after: str


def shots_of(found: Sequence[Recorded], begun: Any = None) -> list[Shot]:
    """Return the photographs among some lines, the newest first; timed from ``begun`` where that is given."""
    out = []
    for line in reversed(found):
        entry = line.entry
        if not (isinstance(entry, e.Reading) and entry.what == "photo" and isinstance(entry.value, str)):
            continue
        after = span(max((entry.at - begun).total_seconds(), 0)) if begun is not None else ""
        out.append(
            Shot(
                number=line.number,
                small=shots.address(entry.value),
                large=shots.address(entry.value, small=False),
                when=lines.when(line.raw),
                after=after,
            )
        )
    return out


def named(now: Standing, sort: str, name: str) -> tuple[Thing, tuple[Recorded, ...]]:
    """Return a thing of the bench and the lines that name it; a name that nothing has is no page."""
    thing = now.things.of(sort).get(name)
    if thing is None:
        known = words.joined([said(one) for one in list(now.things.of(sort))[-_NAMED:]])
        there = f". On the bench: {known}" if known else ""
        raise HTTPException(404, f"There is no {_CALLED[sort]} called {said(name)}{there}")
    return thing, now.of(sort, name)


def looked(room: Room, now: Standing, taken: Sequence[Shot]) -> Answer | None:
    """Return what was read of the newest photograph, where there is one."""
    return room.look(now.recorded, taken[0].number) if taken else None
