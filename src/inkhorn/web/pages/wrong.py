"""What is wrong: a complaint in the maker's words, its likely causes, and the one check that tells them apart.

Nothing is recorded here. A question and what was found stand in the address, so that it can be gone back to.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import urlencode

import attrs
from starlette.requests import Request
from starlette.responses import Response

from inkhorn.counsel.wrong.complaints import complaints
from inkhorn.handbook.cautions import caution
from inkhorn.report import words
from inkhorn.web.fields import Bench, Choice
from inkhorn.web.frame import render, room_of

_LONGEST = 400
_MOST_FOUND = 8
_LISTED, _MOST = 0.03, 6  # how likely a cause must be to be listed, and how many are at the most
_ONE_IN_TEN = 0.05  # below it a chance rounds to none in ten, which would say too much
_NEWEST = 4


@attrs.frozen(kw_only=True)
class Asked:
    """A complaint: what was said, of which vessel or trial, and what checks have found.

    Parameters
    ----------
    said : str
        In the maker's words, or the key of a known complaint.
    of : str
        ``vessel:pot`` or ``trial:t3``; "" where nothing is on the bench.
    found : tuple of str
        Each ``check: outcome``.
    """

    said: str
    of: str
    found: tuple[str, ...] = ()

    @property
    def how(self) -> Mapping[str, Any]:
        """How `Workshop.why` is to be asked."""
        sort, _, name = self.of.partition(":")
        return {**({sort: name} if name else {}), "found": self.found}

    def address(self, *found: str) -> str:
        """Return where the same is asked with these findings."""
        query = [("say", self.said), ("of", self.of), *(("found", one) for one in found)]
        return f"/wrong?{urlencode(query)}"


def wrong(request: Request) -> Response:
    """Ask what the maker complains of, and answer it."""
    room = room_of(request)
    now, given = room.now(), request.query_params
    things = _things(now.bench)
    of = given.get("of", "")
    of = of if of in {choice.value for choice in things} else next((c.value for c in things), "")
    said = (given.get("say_other", "").strip() or given.get("say", "").strip())[:_LONGEST]
    asked = Asked(said=said, of=of, found=tuple(given.getlist("found")[:_MOST_FOUND]))
    found = room.wrong(now.after, asked.said, asked.how) if said else None
    names = {
        "asked": asked,
        "things": things,
        "known": [Choice(value=one.key, label=one.words) for one in complaints().values()],
        "answer": found,
        "causes": _causes(found.value) if found and found.value else (),
        "ways": _ways(asked, found.value) if found and found.value else (),
        "cautions": _cautions(found.value) if found and found.value else (),
        "closing": caution("closing"),
        "working": found is not None and found.working,
        "here": asked.address(*asked.found) if said else "/wrong",
    }
    return render(request, "wrong.html", "", names)


def _things(bench: Bench) -> tuple[Choice, ...]:
    """Return what can be complained of: the newest trials, then the vessels, the one in hand first."""
    vessels = sorted(bench.vessels, key=lambda name: name != bench.vessel)
    trials = tuple(Choice(value=f"trial:{name}", label=name) for name in bench.trials[-_NEWEST:][::-1])
    return trials + tuple(Choice(value=f"vessel:{name}", label=name) for name in vessels)


def _causes(answer: Mapping[str, Any]) -> list[dict[str, Any]]:
    listed = [cause for cause in answer["causes"] if cause["chance"] >= _LISTED][:_MOST]
    return [
        {
            "words": cause["words"],
            "chance": words.chance(cause["chance"])
            if cause["chance"] >= _ONE_IN_TEN
            else "less than 1 in 10",
            "share": float(cause["chance"]),
            "because": cause["because"] or "",
        }
        for cause in listed
    ]


def _ways(asked: Asked, answer: Mapping[str, Any]) -> Sequence[tuple[str, str]]:
    """Return for each outcome of the check what it looks like, and where the odds are made anew with it."""
    check = answer["check"]
    if check is None:
        return ()
    return [
        (one["means"], asked.address(*asked.found, f"{check['check']}: {one['outcome']}"))
        for one in check["outcomes"]
    ]


def _cautions(answer: Mapping[str, Any]) -> list[str]:
    return list(dict.fromkeys((*((answer["check"] or {}).get("cautions", ())), *answer["cautions"])))
