"""Counsel made ready to be followed: what stands in large type, the tap that says it was done, the way to a check."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode

import attrs

from inkhorn.daybook.names import said
from inkhorn.daybook.times import length
from inkhorn.daybook.wire import decode
from inkhorn.errors import EntryError
from inkhorn.report import lines, words
from inkhorn.web import forms
from inkhorn.web.fields import Bench
from inkhorn.web.first import Steps

MOST = 24
"""How many actions one tap may record; no course has as many, nor have the cups of a series together."""
_ON_A_CUP = "Better first on a cup"
_TOLD = 0.2  # of a chance: a smaller step may come of how the two were weighed
_SENTENCE_END = re.compile(r"(?<=[.!?]) (?=[A-Z])")
# Checks that are readings of the pot itself.
_OF_THE_POT = frozenset({"ph", "volume", "discharge", "specific_gravity", "dry_residue", "total_iron"})


@attrs.frozen(kw_only=True)
class Did:
    """How a course is told as done.

    Parameters
    ----------
    actions : tuple of str
        Its entries as JSON, for the one tap that records them as they were advised.
    cup : tuple of str
        The same on a cup of the pot first, drawing it included; empty where the course can be taken back.
    otherwise : tuple of (str, str)
        For each, what it is and the address of its form, for who took another amount.
    """

    actions: tuple[str, ...]
    cup: tuple[str, ...]
    otherwise: tuple[tuple[str, str], ...]


def did(course: Mapping[str, Any]) -> Did:
    """Return how a course of counsel is told as done."""
    actions, cup = (
        tuple(json.dumps(action, ensure_ascii=False) for action in course[key]) for key in ("actions", "cup")
    )
    filled = [(lines.sentence(action), forms.told(action)) for action in course["actions"]]
    return Did(
        actions=actions,
        cup=cup,
        otherwise=tuple((text, f"/?{urlencode(data)}#do") for text, data in filled if data is not None),
    )


def headline(course: Mapping[str, Any]) -> tuple[str, str]:
    """Return what a course says in large type, and how it is tried on a cup first; "" where it is not."""
    sentence = str(course["sentence"])
    if not course["cup"] or _ON_A_CUP not in sentence:
        return sentence, ""
    first, _, rest = sentence.partition(_ON_A_CUP)
    return first.strip(), f"{_ON_A_CUP}{rest}"


def split(series: Mapping[str, Any] | None, bench: Bench) -> tuple[str, ...]:
    """Return the entries of a series of cups as JSON, one cup after the other; none where such cups stand on the bench already."""
    steps = [action for cup in (series or {}).get("cups", ()) for action in cup]
    if any(step.get("into") in bench.vessels for step in steps if step.get("kind") == "pour"):
        return ()
    return tuple(json.dumps(step, ensure_ascii=False) for step in steps)


def tried(check: Mapping[str, Any]) -> tuple[str, ...]:
    """Return what a check does to a saucer of the pot as JSON entries; none where it is only looked at."""
    return tuple(json.dumps(step, ensure_ascii=False) for step in check.get("does", ()))


def purpose(course: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    """Return what a course is for where that is not to come nearer: how the ink runs, how it lasts, or what it teaches."""
    if float(course["distance"]["median"]) < float(now["distance"]["median"]):
        return ""
    gains = [
        f"{what}: {words.chance(float(now[key]))} now, {words.chance(float(course[key]))} then"
        for key, what in (("flow_ok", "that it runs well from the pen"), ("permanence_ok", "that it lasts"))
        if float(course[key]) - float(now[key]) >= _TOLD
    ]
    if gains:
        return f"It is for something else ({'; '.join(gains)})."
    # The chances of a match are not set side by side: counsel weighs a course knowing that the maker went on, the pot as it is without.
    return "By itself it is not expected to bring you nearer: it is worth trying for what the next line then tells."


def dated(actions: Sequence[str], now: str) -> list[dict[str, Any]]:
    """Return the entries of a course that was just done, one after the other, the last of them ending now.

    Parameters
    ----------
    actions : sequence of str
        Entries as JSON, without ``at``.
    now : str
        The present minute, as entries write it.

    Raises
    ------
    EntryError
        Where one of them is no entry.
    """
    if len(actions) > MOST:
        raise EntryError("no course has so many steps", mend="Open the bench anew and tap again")
    out: list[dict[str, Any]] = []
    until = datetime.fromisoformat(now)
    for text in reversed(actions):
        try:
            action = json.loads(text)
        except ValueError:
            action = None
        if not isinstance(action, dict):
            raise EntryError("what was advised came back damaged", mend="Open the bench anew and tap again")
        entry = {"at": until.isoformat(timespec="minutes"), **action}
        takes = timedelta(seconds=length(decode(entry)))
        # A minute has to hold the whole of it: what follows is dated when it is over.
        begun = (until - takes).replace(second=0, microsecond=0)
        out.append({**entry, "at": begun.isoformat(timespec="minutes")})
        until = begun
    return out[::-1]


def check_address(check: Mapping[str, Any], vessel: str, bench: Bench, page: str = "") -> tuple[str, str]:
    """Return what is pressed to record a check, and where its form is; nothing where the page has none."""
    reading = str(check.get("reading", ""))
    if reading in _OF_THE_POT:
        query = {"do": "reading", "of": f"vessel:{vessel}", "what": reading}
        return "Write down what you found", f"/?{urlencode(query)}#do"
    if reading in {"depth", "hue"} and bench.trials:
        query = {"do": "reading", "of": f"trial:{bench.trials[-1]}", "what": reading}
        return f"Say how {said(bench.trials[-1])} looks beside the page", f"/?{urlencode(query)}#do"
    if reading == "flow" and bench.trials:
        query = {"do": "reading", "of": f"trial:{bench.trials[-1]}", "what": reading}
        return "Say how the pen ran", f"/?{urlencode(query)}#do"
    if reading in {"more_iron", "more_tannin"}:
        drawn: Mapping[str, Any] = next(iter(check.get("does", ())), {})
        more = {k: drawn[k] for k in ("into", "amount") if k in drawn}
        return "Write down the saucer", f"/?{urlencode({'do': 'pour', 'from': vessel, **more})}#do"
    if reading == "page":
        named = {"name": page} if page else {}
        return "Photograph the page again", f"/?{urlencode({'do': 'exemplar', **named})}#do"
    if reading in {"photo", "drop"}:
        more = {"method": "drop", "thinned": "1 in 8"} if reading == "drop" else {"method": "line"}
        return "Write down the mark", f"/?{urlencode({'do': 'mark', 'vessel': vessel, **more})}#do"
    return "", ""


def lead(told: Mapping[str, Any], begun: Steps) -> tuple[str, str]:
    """Return what stands in large type where counsel has no course, and what it says besides."""
    if not begun.seen:
        return (
            "Make a mark and photograph it.",
            "The counsel then has something to go by. Till then it knows the pot only by what went in.",
        )
    note = str(told.get("note") or "Leave it as it is. Nothing on the bench would bring it nearer.")
    first, *rest = _SENTENCE_END.split(note)
    # A word of two by itself ("Write.") belongs to what was said before it.
    if rest and len(rest[0].split()) <= 2:
        first = f"{first} {rest.pop(0)}"
    return first, " ".join(rest)
