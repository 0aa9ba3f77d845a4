"""The ink of this morning: what brings it back to that of a trial which was right, and one tap for having done it.

Asking records nothing. The question stands in the address, so that it can be gone back to.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from urllib.parse import urlencode

import attrs
from starlette.requests import Request
from starlette.responses import Response

from inkhorn.handbook.cautions import caution
from inkhorn.web import following
from inkhorn.web.fields import Bench, Choice
from inkhorn.web.frame import render, room_of

_NEWEST = 6
_LONGEST = 20
#: An answer is for this part of an hour: asked again within it, it need not be worked out again.
_MINUTES = 15
_BARE = re.compile(r"\d+(?:[.,]\d+)?")


@attrs.frozen(kw_only=True)
class Asked:
    """Which ink is to be like which trial, this morning's strokes, and how warm it is where anybody said."""

    vessel: str
    like: str
    strokes: tuple[str, ...] = ()
    warmth: str = ""

    def how(self, at: datetime) -> Mapping[str, Any]:
        """Return how `Workshop.today` is to be asked."""
        return {
            "like": self.like,
            "strokes": self.strokes,
            # A bare number is said of degrees Celsius: the field asks for them.
            "temperature": f"{self.warmth} degC" if _BARE.fullmatch(self.warmth) else self.warmth or None,
            "at": at,
        }

    @property
    def address(self) -> str:
        """Return where the same is asked."""
        query = [("vessel", self.vessel), ("like", self.like), ("warmth", self.warmth)]
        return f"/morning?{urlencode([*query, *(('stroke', one) for one in self.strokes)])}"


def morning(request: Request) -> Response:
    """Ask which ink should be like which trial, and say what to stir in."""
    room = room_of(request)
    now, given = room.now(), request.query_params
    bench, trials = now.bench, now.bench.trials[-_NEWEST:][::-1]
    vessels = _vessels(bench)
    like = given.get("like", "")
    asked = Asked(
        vessel=_one_of(given.get("vessel", ""), vessels),
        like=_one_of(like, bench.trials) if like else "",
        strokes=tuple(s for s in dict.fromkeys(given.getlist("stroke")) if s in trials and s != like),
        warmth=given.get("warmth", "").strip()[:_LONGEST],
    )
    found = room.today(now.after, asked.vessel, asked.how(_quarter())) if asked.like and vessels else None
    told = found.value if found else None
    done = told and told["adjustment"]
    names = {
        "asked": asked,
        "vessels": [Choice(value=name, label=name) for name in vessels],
        "trials": [Choice(value=name, label=name) for name in trials],
        "answer": found,
        "headline": _headline(told["sentence"]) if told else ("", ""),
        "did": following.did({**done, "cup": ()}) if done else None,
        "cautions": list(done["cautions"]) if done else [],
        "hints": [hint["sentence"] for hint in told["hints"]] if told else [],
        "closing": caution("closing"),
        "working": found is not None and found.working,
        "here": asked.address if asked.like else "/morning",
    }
    return render(request, "morning.html", "", names)


def _headline(sentence: str) -> tuple[str, str]:
    """Return what to do, and what comes of it, as two texts."""
    do, comes, rest = sentence.partition(": that should ")
    if not comes:
        do, _, rest = sentence.partition(". ")
    return f"{do.rstrip('.')}.", f"That should {rest}" if comes else rest


def _vessels(bench: Bench) -> tuple[str, ...]:
    """Return what can be written from, the one in hand first, then what was written from before."""
    return tuple(sorted(bench.vessels, key=lambda name: (name != bench.vessel, name not in bench.marked)))


def _one_of(name: str, names: tuple[str, ...]) -> str:
    return name if name in names else next(iter(names), "")


def _quarter() -> datetime:
    now = datetime.now().astimezone().replace(tzinfo=None, second=0, microsecond=0)
    return now.replace(minute=now.minute - now.minute % _MINUTES)
